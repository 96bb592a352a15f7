"""What to ask on the phone, what may be said, and what the call may cost."""
