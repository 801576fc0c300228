"""What growers type about batches: their names, a whole look at the cold in one sentence, temperatures."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli.catalogue_files import common_name
from chillplan.errors import InputError, quoted
from chillplan.journal.find import find_batch, list_batches

if TYPE_CHECKING:
    from chillplan.journal.logger_read import LoggerRecord
    from chillplan.journal.records import Look
    from chillplan.journal.store import Journal

__all__ = ["Measured", "entered_readings", "looks_of", "named_batch", "on_every_day", "place_of", "shown"]

FINDING_WORDS = {"ok": "fine", "good": "fine", "mold": "mould", "moldy": "mould", "mouldy": "mould"}
FINDINGS = {"fine", "dry", "mould", "sprouted", *FINDING_WORDS}


def shown(species: str) -> str:
    """``pawpaw (Asimina triloba)``; the scientific name alone where it has no other."""
    common = common_name(species)
    return f"{common} ({species})" if common else species


def named_batch(journal: Journal, text: str) -> str:
    """What a grower types for a batch as its code: number, label, or a name that fits one open batch only.

    Raises
    ------
    InputError
        If the name fits several open batches. What fits none is left for `find_batch` to refuse.
    """
    try:
        return find_batch(journal, text).code
    except InputError:
        wanted = text.strip().lower()
        fitting = [
            batch
            for batch in list_batches(journal)
            if wanted and wanted in f"{batch.species} {common_name(batch.species)} {batch.label}".lower()
        ]
    if len(fitting) > 1:
        known = ", ".join(f"{batch.code} {shown(batch.species)}" for batch in fitting)
        raise InputError(f"{quoted(text)} fits several batches: say which of {known}")
    return fitting[0].code if fitting else text


def looks_of(journal: Journal, words: Sequence[str], stage: str) -> list[Look]:
    """The looks of ``all fine except plum mould, B4 sprouted 7``.

    Parameters
    ----------
    words : sequence of str
        As typed; a name of several words may be one of them.
    stage : str
        Of the sprouts.

    Raises
    ------
    InputError
        If a part names no batch or no finding.
    """
    from chillplan.journal.records import Look

    if len(words) == 1:
        words = words[0].split()
    tokens = [token for word in words for token in re.findall(r",|[^,]+", word) if token.strip()]
    looks: dict[str, Look] = {}
    for clause in _clauses([token.strip() for token in tokens]):
        finding, number, names = _parted(clause)
        for code in _codes(journal, names):
            looks.pop(code, None)
            looks[code] = Look(code, finding, number, stage if finding == "sprouted" else "")
    return list(looks.values())


def _clauses(tokens: Sequence[str]) -> list[list[str]]:
    clauses: list[list[str]] = [[]]
    for token in tokens:
        if token == "," or token.lower() in {"except", "but", "and"}:
            clauses.append([])
        else:
            clauses[-1].append(token)
    return [clause for clause in clauses if clause]


def _parted(clause: list[str]) -> tuple[str, int | None, list[str]]:
    """Finding, number and names of one part."""
    *rest, last = clause
    number = None
    if re.fullmatch(r"-?\d+", last) and len(rest) > 1 and rest[-1].lower() in FINDINGS:
        number, (*rest, last) = int(last), rest
    finding = FINDING_WORDS.get(last.lower(), last.lower())
    if not rest:
        raise InputError(
            f"{quoted(' '.join(clause))} does not say both which batch and what was found: write for example "
            "`chillplan batch check all fine except plum mould, B4 sprouted 7`"
        )
    return finding, number, rest


def _codes(journal: Journal, names: list[str]) -> list[str]:
    if [name.lower() for name in names] == ["all"]:
        batches = list_batches(journal)
        if not batches:
            raise InputError("no batch is open: begin one with `chillplan batch start`")
        return [batch.code for batch in batches]
    whole = named_batch(journal, " ".join(names))
    if len(names) == 1 or whole != " ".join(names):
        return [whole]
    return [named_batch(journal, name) for name in names]


LONGEST_SPAN = 400  # days of one reading; a longer one is a slip of the pen


@dataclass(frozen=True)
class Measured:
    """When and how a temperature was measured, as a grower says it."""

    at: Annotated[str | None, typer.Option("--at", help="When: YYYY-MM-DD HH:MM; else now.")] = None
    first: Annotated[str | None, typer.Option("--from", help="First day on which it was so.")] = None
    last: Annotated[str | None, typer.Option("--to", help="Last day on which it was so; else today.")] = None
    logger: Annotated[Path | None, typer.Option("--logger", help="CSV file of a temperature logger.")] = None
    unit: Annotated[str | None, typer.Option("--unit", help="C, F or K; else °C, or as the file says.")] = None
    column: Annotated[str | None, typer.Option("--column", help="Temperature column of the file.")] = None
    date_order: Annotated[
        str | None, typer.Option("--date-order", help="'day first', 'month first' or 'year first'.")
    ] = None


def entered_readings(temperature: float | None, said: Measured, now: datetime) -> LoggerRecord:
    """The readings of one command: a single one, or a file.

    Raises
    ------
    InputError
        If both or neither are given, or a value cannot be understood.
    """
    from chillplan.journal.logger_columns import split_moment
    from chillplan.journal.logger_read import UNITS, LoggerRecord, celsius_of, read_logger
    from chillplan.journal.records import Reading

    if (temperature is None) == (said.logger is None):
        raise InputError("give one temperature, or --logger FILE: one of the two")
    unit = said.unit.upper() if said.unit is not None else None
    if said.logger is not None:
        return read_logger(said.logger, unit, said.column, said.date_order)
    if unit is not None and unit not in UNITS:
        raise InputError(f"--unit {quoted(unit)} is not known: use C, F or K")
    moment = now if said.at is None else split_moment(said.at, "day first")
    if moment is None:
        raise InputError(f"--at {quoted(said.at)} is not a time: write YYYY-MM-DD HH:MM")
    assert temperature is not None
    return LoggerRecord((Reading(moment.replace(microsecond=0), celsius_of(temperature, unit or "C")),), 0, ())


def on_every_day(entered: LoggerRecord, first: date, last: date, now: datetime) -> LoggerRecord:
    """One temperature as the reading of every day of a span, at noon; not after now.

    Raises
    ------
    InputError
        If it is not one temperature, or the span runs backwards.
    """
    from chillplan.journal.records import Reading

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
