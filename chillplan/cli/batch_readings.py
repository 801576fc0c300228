"""Temperatures that the grower types or brings in a logger's file."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from pathlib import Path

from chillplan.cli.batch_names import named_batch
from chillplan.errors import InputError, quoted
from chillplan.journal.find import find_batch
from chillplan.journal.logger_columns import split_moment
from chillplan.journal.logger_read import UNITS, LoggerRecord, celsius_of, read_logger
from chillplan.journal.records import Reading
from chillplan.journal.store import Journal

__all__ = ["entered_readings", "on_every_day", "place_of"]

LONGEST_SPAN = 400  # days of one reading; a longer one is a slip of the pen


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


def on_every_day(entered: LoggerRecord, first: date, last: date, now: datetime) -> LoggerRecord:
    """One temperature as the reading of every day of a span, at noon; not after now.

    Raises
    ------
    InputError
        If it is not one temperature, or the span runs backwards.
    """
    if len(entered.readings) != 1:
        raise InputError("--from goes with one temperature: a logger's file has its own times")
    if not 0 <= (last - first).days <= LONGEST_SPAN:
        raise InputError(f"--from {first} --to {last} does not run from an earlier to a later day: check both")
    temperature = entered.readings[0].temperature
    days = [datetime.combine(first + timedelta(days=day), time(12)) for day in range((last - first).days + 1)]
    return replace(entered, readings=tuple(Reading(min(day, now), temperature) for day in days))


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
        return find_batch(journal, named_batch(journal, subject)).place
    except InputError as error:
        places = [row["place"] for row in journal.rows("SELECT DISTINCT place FROM batches ORDER BY place")]
        known = ", ".join(quoted(place) for place in places) or "none yet"
        raise InputError(f"{quoted(subject)} is neither a batch nor a place of one (places: {known})") from error
