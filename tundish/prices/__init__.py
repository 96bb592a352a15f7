"""Exact money: lines, tax, totals, and what a machine is still worth."""
