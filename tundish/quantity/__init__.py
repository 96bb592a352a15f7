"""Numbers with units at the edges; SI inside. Import the modules, not this package."""
