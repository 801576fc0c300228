"""What SQLite's errors mean to the grower, and what to do about each."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from chillplan.errors import ChillplanError, InputError, quoted
from chillplan.journal.backups import backups_of

__all__ = ["LONGEST_PATH", "damaged", "explained"]

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
