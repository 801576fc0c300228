"""One journal file: opened, checked, converted, backed up; every entry is one transaction with its history.

An entry taken back stays in the history, with the word that it was taken back.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from types import TracebackType
from typing import Any

from chillplan.errors import InputError, quoted
from chillplan.journal.safety import LONGEST_PATH, back_up, damaged, explained
from chillplan.journal.schema import APPLICATION_ID, CONTENT_TABLES, MIGRATIONS

__all__ = ["Journal", "Writer", "open_journal", "read_journal", "undo_entry", "undo_last"]

BUSY_TIMEOUT = 10.0
"""How long a second writer waits for the first. [s]"""

Value = str | int | float | date | None
"""What is written into a row; a day becomes text."""


class Writer:
    """Writes rows of one entry and keeps what each row was before and after."""

    def __init__(self, connection: sqlite3.Connection, entry: int) -> None:
        self.connection = connection
        self.number = entry

    def insert(self, table: str, values: Mapping[str, Value]) -> int:
        """Add a row and return its number."""
        names = ", ".join(values)
        marks = ", ".join("?" for _ in values)
        cursor = self.connection.execute(f"INSERT INTO {_known(table)} ({names}) VALUES ({marks})", _stored(values))
        row = int(cursor.lastrowid or 0)
        self._note(table, row, None, self._image(table, row))
        return row

    def update(self, table: str, row: int, values: Mapping[str, Value]) -> None:
        """Change columns of one row."""
        before = self._image(table, row)
        names = ", ".join(f"{name} = ?" for name in values)
        self.connection.execute(f"UPDATE {_known(table)} SET {names} WHERE id = ?", (*_stored(values), row))
        self._note(table, row, before, self._image(table, row))

    def restore(self, table: str, row: int, image: str | None) -> None:
        """Put a row back to an earlier image; None removes it."""
        before = self._image(table, row)
        values: dict[str, Value] = json.loads(image) if image is not None else {}
        if image is None:
            self.connection.execute(f"DELETE FROM {_known(table)} WHERE id = ?", (row,))
        elif before is None:
            marks = ", ".join("?" for _ in values)
            self.connection.execute(
                f"INSERT INTO {_known(table)} ({', '.join(values)}) VALUES ({marks})", tuple(values.values())
            )
        else:
            names = ", ".join(f"{name} = ?" for name in values)
            self.connection.execute(f"UPDATE {_known(table)} SET {names} WHERE id = ?", (*values.values(), row))
        self._note(table, row, before, image)

    def _image(self, table: str, row: int) -> str | None:
        found = self.connection.execute(f"SELECT * FROM {_known(table)} WHERE id = ?", (row,)).fetchone()
        return None if found is None else json.dumps(dict(found), ensure_ascii=False)

    def _note(self, table: str, row: int, before: str | None, after: str | None) -> None:
        self.connection.execute(
            "INSERT INTO changes (entry, subject, row, before, after) VALUES (?, ?, ?, ?, ?)",
            (self.number, table, row, before, after),
        )


def _stored(values: Mapping[str, Value]) -> tuple[str | int | float | None, ...]:
    return tuple(value.isoformat() if isinstance(value, date) else value for value in values.values())


def _known(table: str) -> str:
    if table not in CONTENT_TABLES:
        raise ValueError(f"no table {table}")
    return table


class Journal:
    """An open journal.

    Attributes
    ----------
    path : pathlib.Path
    connection : sqlite3.Connection
    notes : list of str
        What the user should know, for example that a backup could not be written.
    brought : tuple of (str, str)
        Identifier and text of what a page sent; the next entries are recorded as made of it.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self.connection = connection
        self.notes: list[str] = []
        self.brought: tuple[tuple[str, str], ...] = ()

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.connection.close()

    @contextmanager
    def entry(self, text: str, now: datetime, undoes: int | None = None) -> Iterator[Writer]:
        """One entry: everything in the block is recorded, or nothing.

        Parameters
        ----------
        text : str
            What was entered, for the history.
        now : datetime.datetime
            Local clock of the caller.
        undoes : int or None
            Number of the entry that this one takes back.

        Raises
        ------
        InputError
            If the journal cannot be written; nothing of the entry is recorded then.
        """
        with explained(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                cursor = self.connection.execute(
                    "INSERT INTO entries (at, text, undoes) VALUES (?, ?, ?)",
                    (now.isoformat(timespec="seconds"), text, undoes),
                )
                number = int(cursor.lastrowid or 0)
                self.connection.executemany(
                    "INSERT INTO brought (id, entry, body) VALUES (?, ?, ?)",
                    [(one, number, body) for one, body in self.brought],
                )
                yield Writer(self.connection, number)
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise

    def rows(self, query: str, values: tuple[Any, ...] = ()) -> list[sqlite3.Row]:
        """All rows of a question.

        Raises
        ------
        InputError
            If the file is damaged or locked.
        """
        with explained(self.path):
            return self.connection.execute(query, values).fetchall()


def open_journal(path: Path, today: date, create: bool = False) -> Journal:
    """Open a journal for writing: check it, convert it to the present format, back it up once a day.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    today : datetime.date
        Names the backup.
    create : bool
        Begin a new journal where there is none.

    Raises
    ------
    InputError
        If it is missing, damaged, of another program, written by a newer version or cannot be written.
    """
    present = _found(path)
    if not present and not create:
        raise _missing(path)
    with explained(path):
        if not present:
            _make_folder(path)
        connection = _connect(path, "rwc" if create else "rw")
        try:
            version = _checked_version(path, connection, fresh=not present)
            journal = Journal(path, connection)
            if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
                connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")
            if version:
                _check_whole(path, connection)
                before = f"-before-format-{len(MIGRATIONS)}" if version < len(MIGRATIONS) else ""
                _back_up(journal, today, before)
            if version < len(MIGRATIONS):
                _convert(connection)
        except BaseException:
            connection.close()
            raise
    return journal


def read_journal(path: Path) -> Journal:
    """Open a journal for reading only; works on a read-only disk.

    Raises
    ------
    InputError
        If it is missing, damaged, of another program, of a newer version, or older and must be converted first.
    """
    if not _found(path):
        raise _missing(path)
    with explained(path):
        connection = _connect_to_read(path)
        try:
            version = _checked_version(path, connection, fresh=False)
            if version < len(MIGRATIONS):
                raise InputError(
                    f"journal {quoted(path, LONGEST_PATH)} has the older format {version}: make any entry "
                    "on a disk that can be written to convert it"
                )
        except BaseException:
            connection.close()
            raise
    return Journal(path, connection)


def _found(path: Path) -> bool:
    if path.is_dir():
        raise InputError(f"journal {quoted(path, LONGEST_PATH)} is a folder: give the name of a file with --journal")
    return path.exists() and path.stat().st_size > 0


def _missing(path: Path) -> InputError:
    return InputError(
        f"journal {quoted(path, LONGEST_PATH)} is not there: check --journal, or begin one with `chillplan batch start`"
    )


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"folder {quoted(path.parent, LONGEST_PATH)} cannot be made: {error.strerror}; pass another --journal"
        ) from error


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    address = f"{path.resolve().as_uri()}?mode={mode}"
    connection = sqlite3.connect(address, uri=True, timeout=BUSY_TIMEOUT, isolation_level=None)
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def _connect_to_read(path: Path) -> sqlite3.Connection:
    """Open without changing anything; on a read-only disk, without the files that SQLite would put beside it."""
    unwritten = path.with_name(f"{path.name}-wal")
    modes = ["rw", "ro"] if unwritten.exists() and unwritten.stat().st_size else ["rw", "ro", "ro&immutable=1"]
    for mode in modes:
        connection = _connect(path, mode)
        try:
            connection.execute("PRAGMA query_only = ON")
            connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        except sqlite3.OperationalError as error:
            connection.close()
            in_the_way = (error.sqlite_errorcode & 0xFF) in {sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY}
            if not in_the_way or mode == modes[-1]:
                raise
        else:
            return connection
    raise AssertionError("one of the modes returned or raised")


def _checked_version(path: Path, connection: sqlite3.Connection, fresh: bool) -> int:
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    version = int(connection.execute("PRAGMA user_version").fetchone()[0])
    mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
    if (fresh or not tables) and not version and not mark:
        return 0
    if mark != APPLICATION_ID:
        raise InputError(
            f"{quoted(path, LONGEST_PATH)} is a database of another program, not a journal: pass another --journal"
        )
    if version > len(MIGRATIONS):
        raise InputError(
            f"journal {quoted(path, LONGEST_PATH)} has format {version}, written by a newer chillplan "
            f"(this one reads up to {len(MIGRATIONS)}): upgrade chillplan; the file was left as it is"
        )
    return version


def _check_whole(path: Path, connection: sqlite3.Connection) -> None:
    found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise damaged(path, str(found).splitlines()[-1])


def _back_up(journal: Journal, today: date, reason: str) -> None:
    try:
        back_up(journal.path, journal.connection, today, reason)
    except (OSError, sqlite3.Error) as error:
        journal.notes.append(
            f"the backup of {quoted(journal.path, LONGEST_PATH)} could not be written ({error}): free some space"
        )


def _convert(connection: sqlite3.Connection) -> None:
    """Run the missing migrations in one transaction; another process may have done it meanwhile."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        version = int(connection.execute("PRAGMA user_version").fetchone()[0])
        for script in MIGRATIONS[version:]:
            for statement in script.split(";\n"):
                if statement.strip():
                    connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


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
