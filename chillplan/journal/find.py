"""Finds batches and sowings by what the grower types, and lists them."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass, fields
from datetime import date
from typing import Any, TypeVar

from chillplan.errors import InputError, quoted
from chillplan.journal.store import Journal

__all__ = ["Batch", "Sowing", "entries_of", "find_batch", "find_sowing", "list_batches", "list_sowings", "setting_of"]


_Kind = TypeVar("_Kind", "Batch", "Sowing")


@dataclass(frozen=True)
class Batch:
    """A batch as recorded."""

    number: int
    species: str
    label: str
    place: str
    set_temperature: float  # [°C]
    seeds: int | None
    started_on: date
    plant_out: date | None
    frost_free: date | None
    closed_on: date | None
    check_every: int  # [day]
    outcome: str
    note: str
    source: str
    lot: int

    @property
    def code(self) -> str:
        """How the batch is shown and typed."""
        return f"B{self.number}"


@dataclass(frozen=True)
class Sowing:
    """A sowing as recorded, with its last count."""

    number: int
    species: str
    site: str
    sown_on: date
    seeds: int
    batch: int | None
    viability: float | None
    expected: tuple[float, float, float] | None  # share up expected: low, middle, high [0 to 1]
    expected_on: date | None
    emerged: int | None  # last count
    counted_on: date | None
    note: str
    lot: str = ""  # name of the lot, where the species has several

    @property
    def code(self) -> str:
        """How the sowing is shown and typed."""
        return f"S{self.number}"


_BATCHES = "SELECT b.*, l.species AS species, l.source AS source FROM batches b JOIN lots l ON l.id = b.lot"
_SOWINGS = (
    "SELECT s.*, l.species AS species, l.note AS lot_name, c.emerged AS emerged, c.date AS counted_on FROM sowings s "
    "JOIN lots l ON l.id = s.lot LEFT JOIN counts c ON c.id = "
    "(SELECT id FROM counts WHERE sowing = s.id ORDER BY date DESC, id DESC LIMIT 1)"
)


def find_batch(journal: Journal, reference: str, open_only: bool = False) -> Batch:
    """The batch that a reference means: ``B12``, ``12`` or its label.

    Raises
    ------
    InputError
        If there is none, or it is closed and `open_only` is set.
    """
    text = reference.strip()
    number = _number(text, "B")
    rows = journal.rows(f"{_BATCHES} WHERE b.id = ?", (number,)) if number is not None else []
    rows = rows or journal.rows(f"{_BATCHES} WHERE b.label = ?", (text,))
    if not rows:
        raise InputError(f"batch {quoted(text)} is not in the journal: see `chillplan batch list`")
    batch = _batch(rows[0])
    if open_only and batch.closed_on is not None:
        raise InputError(
            f"{batch.code} ({batch.species}) was closed on {batch.closed_on}: nothing was recorded; undo that first"
        )
    return batch


def find_sowing(journal: Journal, reference: str) -> Sowing:
    """The sowing that a reference means: ``S3`` or ``3``.

    Raises
    ------
    InputError
        If there is none.
    """
    text = reference.strip()
    rows = journal.rows(f"{_SOWINGS} WHERE s.id = ?", (_number(text, "S"),))
    if not rows:
        raise InputError(f"sowing {quoted(text)} is not in the journal: see `chillplan batch list`")
    return _sowing(rows[0])


def setting_of(journal: Journal, place: str) -> float | None:
    """What a place was last said to be set to; None for a place that no batch lay in. [°C]"""
    rows = journal.rows(
        "SELECT set_temperature FROM batches WHERE place = ? ORDER BY id DESC LIMIT 1", (place.strip(),)
    )
    return float(rows[0]["set_temperature"]) if rows else None


def list_batches(journal: Journal, closed: bool = False) -> list[Batch]:
    """Open batches, or all of them, oldest first."""
    condition = "" if closed else " WHERE b.closed_on IS NULL"
    return [_batch(row) for row in journal.rows(f"{_BATCHES}{condition} ORDER BY b.id")]


def list_sowings(journal: Journal) -> list[Sowing]:
    """All sowings with their last count, oldest first."""
    return [_sowing(row) for row in journal.rows(f"{_SOWINGS} ORDER BY s.id")]


def entries_of(journal: Journal, last: int = 20) -> list[sqlite3.Row]:
    """The last entries with ``id``, ``at``, ``text``, ``undoes`` and ``undone_by``, newest first."""
    return journal.rows("SELECT id, at, text, undoes, undone_by FROM entries ORDER BY id DESC LIMIT ?", (last,))


def _number(text: str, letter: str) -> int | None:
    digits = text[1:] if text[:1].upper() == letter else text
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 16 else None


def _batch(row: sqlite3.Row) -> Batch:
    days = {name: _day(row[name]) for name in ("plant_out", "frost_free", "closed_on")}
    return _recorded(Batch, row, number=row["id"], started_on=date.fromisoformat(row["started_on"]), **days)


def _sowing(row: sqlite3.Row) -> Sowing:
    middle = row["expected_middle"]
    return _recorded(
        Sowing,
        row,
        number=row["id"],
        sown_on=date.fromisoformat(row["date"]),
        expected=None if middle is None else (row["expected_low"], middle, row["expected_high"]),
        expected_on=_day(row["expected_on"]),
        counted_on=_day(row["counted_on"]),
        lot=row["lot_name"],
    )


def _recorded(kind: type[_Kind], row: sqlite3.Row, **known: Any) -> _Kind:
    """A record from the columns of a row that bear the names of its fields, but for those that are known."""
    return kind(**{one.name: row[one.name] for one in fields(kind) if one.name not in known}, **known)


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)
