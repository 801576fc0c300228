"""What keeps a journal whole: one backup a day, the newest few kept; and what SQLite's errors mean to the grower."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date
from pathlib import Path

from chillplan.errors import ChillplanError, InputError, quoted

__all__ = ["KEPT", "LONGEST_PATH", "back_up", "backups_of", "damaged", "explained"]

LONGEST_PATH = 300
"""Longest path shown whole in a message: it must be found again. [characters]"""

_MEANINGS = {
    sqlite3.SQLITE_BUSY: "is being written by another chillplan: wait a moment and enter it again",
    sqlite3.SQLITE_LOCKED: "is being written by another chillplan: wait a moment and enter it again",
    sqlite3.SQLITE_READONLY: (
        "is read-only, nothing was recorded: change the permission of the file and its folder, "
        "or pass another with --journal"
    ),
    sqlite3.SQLITE_IOERR: (
        "could not be written or read (disk error, or the disk is full), nothing of this entry was recorded: "
        "check the disk and enter it again"
    ),
    sqlite3.SQLITE_FULL: (
        "could not be written, the disk is full, nothing of this entry was recorded: free some space and enter it "
        "again; earlier entries are safe"
    ),
    sqlite3.SQLITE_CANTOPEN: "cannot be opened: check that the folder exists and that you may write in it",
    sqlite3.SQLITE_PERM: "cannot be opened: you have no permission for it",
    sqlite3.SQLITE_AUTH: "cannot be opened: you have no permission for it",
}
_DAMAGE = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB}


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn SQLite errors into one sentence with the way out.

    Raises
    ------
    InputError
        For every `sqlite3.Error` of the block. Errors raised on purpose pass through.
    """
    try:
        yield
    except ChillplanError:
        raise
    except sqlite3.Error as error:
        code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
        if code in _DAMAGE:
            raise damaged(path, str(error)) from error
        meaning = _MEANINGS.get(code, f"refused the entry ({error}): nothing was recorded; check the values")
        raise InputError(f"journal {quoted(path, LONGEST_PATH)} {meaning}") from error


def damaged(path: Path, finding: str) -> InputError:
    """The refusal of a damaged journal, naming the newest backup if there is one.

    Parameters
    ----------
    path : pathlib.Path
        The journal.
    finding : str
        What the check found.
    """
    backups = backups_of(path)
    way_out = (
        f"to recover, move it away together with the files ending in -wal and -shm, then copy "
        f"{quoted(backups[-1].name)} from the same folder to its name"
        if backups
        else "there is no backup beside it: restore it from a copy, or import an earlier export into a new journal"
    )
    return InputError(
        f"journal {quoted(path, LONGEST_PATH)} is damaged or is not a journal ({finding}); "
        f"it was left as it is; {way_out}"
    )


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
