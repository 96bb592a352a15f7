"""From readings to honest odds, and why."""
