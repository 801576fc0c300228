"""Verdicts, dates, tasks and visits: plain data in, plain data out."""
