"""Measured quantities: read, keep and write (ground floor)."""
