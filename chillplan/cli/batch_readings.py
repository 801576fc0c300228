"""Temperatures that the grower types or brings in a logger's file."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from chillplan.errors import InputError, quoted
from chillplan.journal.clock_text import split_moment
from chillplan.journal.find import find_batch
from chillplan.journal.logger_read import UNITS, LoggerRecord, celsius_of, read_logger
from chillplan.journal.records import Reading
from chillplan.journal.store import Journal

__all__ = ["entered_readings", "place_of"]


def entered_readings(
    temperature: float | None,
    at: str | None,
    logger: Path | None,
    unit: str | None,
    column: str | None,
    date_order: str | None,
    now: datetime,
) -> LoggerRecord:
    """The readings of one command: a single one, or a file.

    Raises
    ------
    InputError
        If both or neither are given, or a value cannot be understood.
    """
    if (temperature is None) == (logger is None):
        raise InputError("give one temperature, or --logger FILE: one of the two")
    unit = unit.upper() if unit is not None else None
    if logger is not None:
        return read_logger(logger, unit, column, date_order)
    if unit is not None and unit not in UNITS:
        raise InputError(f"--unit {quoted(unit)} is not known: use C, F or K")
    moment = now if at is None else split_moment(at, "day first")
    if moment is None:
        raise InputError(f"--at {quoted(at)} is not a time: write YYYY-MM-DD HH:MM")
    assert temperature is not None
    return LoggerRecord((Reading(moment.replace(microsecond=0), celsius_of(temperature, unit or "C")),), 0, ())


def place_of(journal: Journal, subject: str) -> str:
    """The place that is meant: named itself, or where the batch lies.

    Raises
    ------
    InputError
        If it is neither a batch nor a place of one.
    """
    if journal.rows("SELECT 1 FROM batches WHERE place = ? LIMIT 1", (subject.strip(),)):
        return subject.strip()
    try:
        return find_batch(journal, subject).place
    except InputError as error:
        places = [row["place"] for row in journal.rows("SELECT DISTINCT place FROM batches ORDER BY place")]
        known = ", ".join(quoted(place) for place in places) or "none yet"
        raise InputError(f"{quoted(subject)} is neither a batch nor a place of one (places: {known})") from error
