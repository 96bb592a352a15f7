"""What to do next so that the whole call to a proven fix costs least, and what may lawfully be done now."""
