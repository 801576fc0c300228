"""Batches, checks, readings and outcomes in one SQLite file."""
