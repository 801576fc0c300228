"""A whole journal out to JSON or CSV and back, without loss.

JSON is one file; CSV is a folder with one file a table (UTF-8 with byte-order mark, so that spreadsheets show every
script). Both hold the full history of entries as well. A journal is imported into a new file only, never mixed into
one that already holds records. A cell of a CSV file is written so that a spreadsheet cannot take it for a formula.
"""

from __future__ import annotations

import csv
import json
import sqlite3
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from chillplan.errors import InputError, Problems, quoted
from chillplan.journal.safety import LONGEST_PATH, explained
from chillplan.journal.schema import CONTENT_TABLES, HISTORY_TABLES, MIGRATIONS
from chillplan.journal.store import Journal, open_journal

__all__ = ["TABLES", "Value", "cell_of", "content_of", "export_csv", "export_json", "import_journal", "value_of"]

COUNTERS = "counters"
TABLES = (*CONTENT_TABLES, *HISTORY_TABLES, COUNTERS)
MARK = "chillplan journal"

Value = str | int | float | None
Content = dict[str, list[dict[str, Value]]]


def content_of(journal: Journal) -> Content:
    """Every row of every table, in order of its number.

    ``counters`` holds the highest number ever given in each table, so that numbers taken back are not given twice.
    """
    content: Content = {
        table: [dict(row) for row in journal.rows(f"SELECT * FROM {table} ORDER BY id")] for table in TABLES[:-1]
    }
    content[COUNTERS] = [dict(row) for row in journal.rows("SELECT name, seq FROM sqlite_sequence ORDER BY name")]
    return content


def export_json(journal: Journal) -> str:
    """A journal as JSON text."""
    return json.dumps({"kind": MARK, "format": len(MIGRATIONS), **content_of(journal)}, ensure_ascii=False, indent=1)


def export_csv(journal: Journal, folder: Path) -> list[Path]:
    """A journal as CSV files, one a table; returns the files written.

    Raises
    ------
    InputError
        If the folder cannot be written or already holds an export.
    """
    if any((folder / f"{table}.csv").exists() for table in TABLES):
        raise InputError(f"folder {quoted(folder, LONGEST_PATH)} already holds an export: give a new folder with --out")
    written = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for table, rows in content_of(journal).items():
            target = folder / f"{table}.csv"
            with target.open("w", encoding="utf-8-sig", newline="") as file:
                writer = csv.writer(file)
                names = list(_columns(journal.connection, table))
                writer.writerow(names)
                writer.writerows([cell_of(row[name]) for name in names] for row in rows)
            written.append(target)
    except OSError as error:
        raise InputError(
            f"folder {quoted(folder, LONGEST_PATH)} cannot be written: {error.strerror}; pass another --out"
        ) from error
    return written


def import_journal(path: Path, source: Path, today: date) -> dict[str, int]:
    """Make a journal from an export.

    Parameters
    ----------
    path : pathlib.Path
        The new journal; refused where it already holds entries.
    source : pathlib.Path
        A JSON file, or a folder of CSV files.
    today : datetime.date

    Returns
    -------
    dict of str to int
        Rows taken over, by table.

    Raises
    ------
    InputError
        If the source cannot be read or does not fit, or the journal already holds entries. Nothing is written then.
    """
    existed = path.exists()
    with open_journal(path, today, create=True) as journal:
        if journal.rows("SELECT 1 FROM entries LIMIT 1"):
            raise InputError(
                f"journal {quoted(path, LONGEST_PATH)} already holds entries: import into a new file with --journal"
            )
        try:
            content = _read_folder(source, journal) if source.is_dir() else _read_json(source)
            with explained(path):
                _fill(journal.connection, content, source)
        except BaseException:
            if not existed:
                journal.connection.close()
                path.unlink(missing_ok=True)
            raise
    return {table: len(rows) for table, rows in content.items()}


def _fill(connection: sqlite3.Connection, content: Mapping[str, list[dict[str, Value]]], source: Path) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute("PRAGMA defer_foreign_keys = ON")
        for table in TABLES[:-1]:
            names = _columns(connection, table)
            insert = f"INSERT INTO {table} ({', '.join(names)}) VALUES ({', '.join('?' for _ in names)})"
            connection.executemany(insert, [tuple(row[name] for name in names) for row in content[table]])
        connection.execute("DELETE FROM sqlite_sequence")
        counters = [(row["name"], row["seq"]) for row in content[COUNTERS]]
        connection.executemany("INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)", counters)
        connection.execute("COMMIT")
    except (sqlite3.IntegrityError, KeyError, OverflowError) as error:
        connection.execute("ROLLBACK")
        raise InputError(
            f"export {quoted(source, LONGEST_PATH)} does not fit together ({error}): export it again"
        ) from error
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _read_json(source: Path) -> Content:
    try:
        content: Any = json.loads(source.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise InputError(
            f"export {quoted(source, LONGEST_PATH)} cannot be read: {error.strerror}; check the path"
        ) from error
    except (UnicodeDecodeError, json.JSONDecodeError) as error:
        raise InputError(f"export {quoted(source, LONGEST_PATH)} is not JSON: give a file made by export") from error
    if not isinstance(content, dict) or content.pop("kind", None) != MARK:
        raise InputError(
            f"{quoted(source, LONGEST_PATH)} is not an exported journal: give a file made by `chillplan batch export`"
        )
    version = content.pop("format", None)
    if version != len(MIGRATIONS):
        raise InputError(
            f"export {quoted(source, LONGEST_PATH)} has format {quoted(version)}, this chillplan reads "
            f"{len(MIGRATIONS)}: import it with the version that wrote it, or upgrade"
        )
    problems = Problems()
    for table in TABLES:
        rows = content.get(table)
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            problems.add(f"table {table} in {quoted(source, LONGEST_PATH)} is missing or not a list: export it again")
    for table in set(content) - set(TABLES):
        problems.add(f"table {quoted(table)} in {quoted(source, LONGEST_PATH)} is not known: export it again")
    problems.raise_if_any()
    return {table: content[table] for table in TABLES}


def _read_folder(source: Path, journal: Journal) -> Content:
    problems = Problems()
    content: Content = {}
    for table in TABLES:
        columns = _columns(journal.connection, table)
        content[table] = _read_table(source / f"{table}.csv", columns, problems)
    problems.raise_if_any()
    return content


def _read_table(path: Path, columns: Mapping[str, tuple[str, bool]], problems: Problems) -> list[dict[str, Value]]:
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.reader(file))
    except OSError as error:
        problems.add(f"{quoted(path, LONGEST_PATH)} cannot be read: {error.strerror}; export again")
        return []
    except (UnicodeDecodeError, csv.Error) as error:
        problems.add(
            f"{quoted(path, LONGEST_PATH)} is not CSV in UTF-8 ({error}): save it as UTF-8 CSV, comma separated"
        )
        return []
    if not rows or set(rows[0]) != set(columns):
        problems.add(
            f"{quoted(path, LONGEST_PATH)} has columns {quoted(', '.join(rows[0] if rows else []))}, "
            f"not {', '.join(columns)}"
        )
        return []
    taken = []
    for number, row in enumerate(rows[1:], start=2):
        if len(row) != len(rows[0]):
            problems.add(
                f"{quoted(path, LONGEST_PATH)} row {number} has {len(row)} cells, not {len(rows[0])}: mend the row"
            )
            continue
        values: dict[str, Value] = {}
        for name, cell in zip(rows[0], row, strict=True):
            try:
                values[name] = value_of(cell, *columns[name])
            except ValueError:
                problems.add(
                    f"{name} {quoted(cell)} in {quoted(path, LONGEST_PATH)} row {number} is not a number: correct it"
                )
        taken.append(values)
    return taken


def _columns(connection: sqlite3.Connection, table: str) -> dict[str, tuple[str, bool]]:
    """Type and nullability of each column, in order."""
    if table == COUNTERS:
        return {"name": ("TEXT", False), "seq": ("INTEGER", False)}
    described = connection.execute(f"PRAGMA table_info({table})").fetchall()
    return {row["name"]: (row["type"], not row["notnull"] and not row["pk"]) for row in described}


_DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
"""First letters that make a spreadsheet calculate, and the quote that marks a neutralised cell."""


def cell_of(value: Value) -> str:
    """A value as the text of a CSV cell.

    Text that begins like a formula gets a single quote in front, which spreadsheets show as plain text; so does
    text that begins with a single quote, so that reading back is exact. Numbers are written in full precision.
    Null is an empty cell.
    """
    if value is None:
        return ""
    if isinstance(value, str):
        risky = value.startswith(_DANGEROUS) or value.lstrip().startswith(_DANGEROUS)
        return f"'{value}" if risky else value
    return repr(value)


def value_of(cell: str, kind: str, nullable: bool) -> Value:
    """The value of a CSV cell.

    Parameters
    ----------
    cell : str
    kind : {'INTEGER', 'REAL', 'TEXT'}
        Type of the column.
    nullable : bool
        Whether an empty cell means null.

    Raises
    ------
    ValueError
        If a number is expected and the cell holds none.
    """
    if not cell and nullable:
        return None
    if kind == "INTEGER":
        return int(cell)
    if kind == "REAL":
        return float(cell)
    return cell[1:] if cell.startswith("'") else cell
