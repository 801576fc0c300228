"""Backups of a journal: one a day at most, the newest few kept."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

__all__ = ["KEPT", "back_up", "backups_of"]

KEPT = 7
"""Backups kept beside the journal; older ones are removed. Common practice."""


def backups_of(path: Path) -> list[Path]:
    """Backups beside a journal, oldest first."""
    prefix = f"{path.name}.backup-"
    return sorted(entry for entry in path.parent.iterdir() if entry.name.startswith(prefix) and entry.suffix != ".part")


def back_up(path: Path, connection: sqlite3.Connection, day: date, reason: str = "") -> Path | None:
    """Copy a journal through SQLite's backup interface, once a day, and remove the oldest copies.

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
    return target
