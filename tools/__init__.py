"""What the project's own tests measure with; not part of the installed package."""
