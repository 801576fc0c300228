"""Backups of a journal: one a day at most, the newest few kept."""

from __future__ import annotations

import os
import re
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

__all__ = ["KEPT", "back_up", "backups_of"]

_WHOLE = re.compile(r"\d{4}-\d{2}-\d{2}(?:-before-format-\d+)?")
_PART = re.compile(rf"{_WHOLE.pattern}\.\d+\.part(?:-journal|-wal|-shm)?")

KEPT = 7
"""Backups kept beside the journal; older ones are removed. Common practice."""


def backups_of(path: Path) -> list[Path]:
    """Whole backups beside a journal, oldest first; half-written ones are not among them."""
    return [entry for entry, day in _beside(path) if _WHOLE.fullmatch(day)]


def _beside(path: Path) -> list[tuple[Path, str]]:
    """Files beside a journal that are named like its backups, with what follows the common part of the name."""
    prefix = f"{path.name}.backup-"
    return sorted(
        (entry, entry.name.removeprefix(prefix)) for entry in path.parent.iterdir() if entry.name.startswith(prefix)
    )


def back_up(path: Path, connection: sqlite3.Connection, day: date, reason: str = "") -> Path | None:
    """Copy a journal through SQLite's backup interface, once a day, and remove the oldest copies.

    What a killed process left half-written on an earlier day is removed as well.

    Parameters
    ----------
    path : pathlib.Path
        The journal.
    connection : sqlite3.Connection
        Open on it.
    day : datetime.date
        Today.
    reason : str
        Ends the name, so that a backup before a conversion is not mixed up with the day's.

    Returns
    -------
    pathlib.Path or None
        The new backup; None where the day already has one.

    Raises
    ------
    OSError, sqlite3.Error
        If the copy cannot be written; no half-written backup is left behind.
    """
    target = path.with_name(f"{path.name}.backup-{day.isoformat()}{reason}")
    if target.exists():
        return None
    part = target.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with closing(sqlite3.connect(part)) as copy:
            connection.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        with part.open("rb") as written:
            os.fsync(written.fileno())
        part.replace(target)
    finally:
        part.unlink(missing_ok=True)
    for old in backups_of(path)[:-KEPT]:
        old.unlink(missing_ok=True)
    for entry, name in _beside(path):
        if _PART.fullmatch(name) and not name.startswith(day.isoformat()):
            entry.unlink(missing_ok=True)
    return target
