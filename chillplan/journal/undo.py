"""Takes entries back; the history keeps what was entered and that it was taken back."""

from __future__ import annotations

import sqlite3
from datetime import datetime

from chillplan.errors import InputError, quoted
from chillplan.journal.store import Journal

__all__ = ["undo_entry", "undo_last"]


def undo_last(journal: Journal, now: datetime) -> str:
    """Take back the last entry that stands. Returns what was taken back.

    Raises
    ------
    InputError
        If nothing is left to take back.
    """
    standing = journal.rows(
        "SELECT id FROM entries WHERE undone_by IS NULL AND undoes IS NULL ORDER BY id DESC LIMIT 1"
    )
    if not standing:
        raise InputError("there is no entry to take back: the journal is empty, or everything was taken back already")
    return undo_entry(journal, int(standing[0]["id"]), now)


def undo_entry(journal: Journal, number: int, now: datetime) -> str:
    """Take back one entry that stands, also an earlier one that no later entry builds on. Returns what it was.

    Raises
    ------
    InputError
        If a later entry changed the same thing or belongs to it.
    """
    text = str(journal.rows("SELECT text FROM entries WHERE id = ?", (number,))[0]["text"])
    later = journal.rows(
        "SELECT e.text FROM changes c JOIN changes l ON l.subject = c.subject AND l.row = c.row AND l.entry > c.entry "
        "JOIN entries e ON e.id = l.entry WHERE c.entry = ? AND e.undone_by IS NULL AND e.undoes IS NULL LIMIT 1",
        (number,),
    )
    if later:
        raise InputError(
            f"{quoted(text)} is built on by the later entry {quoted(later[0]['text'])}: take that back first"
        )
    with journal.entry(f"undo: {text}", now, undoes=number) as writer:
        changes = journal.connection.execute(
            "SELECT subject, row, before, after FROM changes WHERE entry = ? ORDER BY id DESC", (number,)
        ).fetchall()
        try:
            for change in changes:
                writer.restore(change["subject"], change["row"], change["before"])
        except sqlite3.IntegrityError as error:
            raise InputError(f"later entries belong to {quoted(text)}: take those back first") from error
        journal.connection.execute("UPDATE entries SET undone_by = ? WHERE id = ?", (writer.number, number))
    return text
