"""Tundish: from the phone call to the proven fix of a household appliance."""

__version__ = "0.1.0"
