"""Physics of what flows: laws, one solver, closed forms. Import the modules, not this package."""
