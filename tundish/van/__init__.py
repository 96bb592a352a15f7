"""What to carry for the day, and when to order."""
