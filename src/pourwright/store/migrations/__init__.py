"""Migrations of the store's tables, one file a step, run in order."""
