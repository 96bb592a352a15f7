"""Draws machines under every hypothesis and simulates every check on them."""
