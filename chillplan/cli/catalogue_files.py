"""Species tables, ours and a user's own over it, and which species a user asks about."""

from __future__ import annotations

import csv
import difflib
import io
import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from chillplan.cli import options as opt
from chillplan.cli.journal_options import usual_order
from chillplan.errors import InputError, Problems, quoted

if TYPE_CHECKING:
    from chillplan.lot import Lot
    from chillplan.seeds.recipe import Species

__all__ = [
    "Wanted",
    "built_in_catalogue",
    "catalogue_with",
    "chosen_seed",
    "chosen_species",
    "common_name",
    "read_catalogue",
    "read_rows",
    "unknown_columns",
]

LARGEST_FILE = 2_000_000
"""A species table larger than this is taken for another kind of file. [bytes]"""

MOST_ROWS = 5000


@cache
def built_in_catalogue() -> tuple[Species, ...]:
    """The species shipped with the program."""
    from chillplan.seeds.catalogue import parse_catalogue

    return parse_catalogue(_built_in_rows())


def catalogue_with(path: Path | None) -> tuple[Species, ...]:
    """The species shipped with the program, with a user's table over them where one is given.

    Raises
    ------
    InputError
        With every fault of the user's table.
    """
    if path is None:
        return built_in_catalogue()
    from chillplan.seeds.catalogue import merge_rows, parse_catalogue

    return parse_catalogue(merge_rows(_built_in_rows(), read_rows(path)))


@cache
def _common_names() -> dict[str, str]:
    return {row["name"]: row.get("common_name", "") for row in _built_in_rows()}


def common_name(species: str) -> str:
    """Common name of a species shipped with the program, without reading its figures; empty where there is none."""
    return _common_names().get(species, "")


def read_catalogue(path: Path) -> tuple[Species, ...]:
    """A species table by itself; `InputError` with every fault of every row."""
    from chillplan.seeds.catalogue import parse_catalogue

    return parse_catalogue(read_rows(path))


def read_rows(path: Path) -> list[dict[str, str]]:
    """Rows of a species table, each with its number in the file as ``row`` and its file as ``origin``.

    Comma, semicolon or tab between cells, with or without a byte order mark. Rows without any text are left out.

    Raises
    ------
    InputError
        If the file is missing, too large, not text, or has no column ``name``.
    """
    reader = csv.reader(io.StringIO(_text(path), newline=""), delimiter=_delimiter(_text(path)))
    try:
        table = list(reader)
    except csv.Error as error:
        raise InputError(
            f"{path} cannot be read as a table near line {reader.line_num} ({error}): save it as CSV again"
        ) from error
    header = [cell.strip().lower().replace(" ", "_") for cell in table[0]] if table else []
    _check_header(path, header, len(table))
    rows = []
    for number, cells in enumerate(table[1:], start=2):
        if any(cell.strip() for cell in cells):
            named = dict(zip(header, cells, strict=False))
            rows.append({**{"name": ""}, **named, "row": str(number), "origin": path.name})
    if not rows:
        raise InputError(f"{path} holds a header but no species: add one row a species")
    return rows


def unknown_columns(rows: list[dict[str, str]]) -> list[str]:
    """Columns of a table that chillplan does not use, in their order."""
    from chillplan.seeds.columns import COLUMN_NAMES

    return [name for name in rows[0] if name and name not in {*COLUMN_NAMES, "row", "origin"}]


@cache
def _built_in_rows() -> tuple[dict[str, str], ...]:
    from chillplan.data_files import data_path

    path = data_path("species.csv")
    return tuple({**row, "origin": "built in"} for row in read_rows(path))


def _text(path: Path) -> str:
    if not path.is_file():
        raise InputError(f"species table {quoted(path)} is not a file: check the path")
    size = path.stat().st_size
    if size > LARGEST_FILE:
        raise InputError(
            f"species table {path} is {size / 1e6:.1f} MB, more than {LARGEST_FILE / 1e6:.0f} MB: "
            "give a table with one row a species and nothing else"
        )
    content = path.read_bytes()
    if content[:2] == b"PK":
        raise InputError(f"{path} is a spreadsheet workbook: save the sheet as CSV and give that file")
    if b"\0" in content:
        raise InputError(f"{path} is not a text file: save the table as CSV (UTF-8)")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{path} is not UTF-8 text (byte {error.start}): save the table as CSV (UTF-8)") from error


def _delimiter(text: str) -> str:
    """The mark that stands most often in the header; the header's cells are plain names, so it is safe to count."""
    header = text.split("\n", 1)[0]
    return max(",;\t", key=header.count)


def _check_header(path: Path, header: list[str], lines: int) -> None:
    from chillplan.seeds.columns import COLUMN_NAMES

    problems = Problems()
    if "name" not in header:
        problems.add(
            f"{path} has no column 'name' in its first row: begin with a header row such as 'name,phases,source'"
        )
    if lines - 1 > MOST_ROWS:
        problems.add(f"{path} has {lines - 1} rows, more than {MOST_ROWS}: split the table")
    for name in {name for name in header if name and header.count(name) > 1}:
        problems.add(f"{path} has the column {quoted(name)} more than once: keep one of them")
    for name in header:
        near = difflib.get_close_matches(name, COLUMN_NAMES, n=1, cutoff=0.85)
        if name and name not in COLUMN_NAMES and near:
            problems.add(f"{path}: column {quoted(name)} is not known; did you mean '{near[0]}'?")
    problems.raise_if_any()


@dataclass(frozen=True)
class Wanted:
    """Which species are asked about, as text."""

    species: opt.SpeciesOption = ()
    list_file: opt.ListOption = None
    species_file: opt.SpeciesFileOption = None


def chosen_species(wanted: Wanted, problems: Problems) -> tuple[Species, ...]:
    """Species by option and list, each once, in the order given; the whole catalogue where neither is given."""
    return chosen_seed(wanted, problems)[0]


def chosen_seed(
    wanted: Wanted, problems: Problems, default: Path | None = None, today: date | None = None
) -> tuple[tuple[Species, ...], tuple[Lot, ...]]:
    """Species by option and list, each once, in the order given, and the lots of them.

    Parameters
    ----------
    problems : Problems
        Unknown names and faults of the files are added here. Of a list the rest is taken where some names are known,
        and the others are told on standard error, as are species whose seed dies when it dries and whose lot is not
        said to be moist: it is taken for fresh.
    default : pathlib.Path or None
        List used where nothing else is given.

    Returns
    -------
    tuple of Species
        The whole catalogue where neither names nor lists are given.
    tuple of Lot
        By scientific names.
    """
    from chillplan.lot import DRIED, FRESH, Lot

    listed: tuple[Lot, ...] = ()
    try:
        catalogue = catalogue_with(wanted.species_file)
        path = wanted.list_file if wanted.list_file is not None else None if wanted.species else default
        if path is not None:
            listed = _listed(path, today or date.today())
    except InputError as error:
        problems.extend(error)
        return (), ()
    if not wanted.species and not listed:
        return catalogue, ()
    found: dict[str, Species] = {}
    lots: list[Lot] = []
    undried: list[str] = []
    unknown = Problems()
    for lot in (*(Lot(name) for name in wanted.species), *listed):
        try:
            species = _meant(catalogue, lot.species)
            found.setdefault(species.name, species)
            dead = species.storage == "never dry" and lot.state == DRIED
            lots.append(replace(lot, species=species.name, state=FRESH if dead else lot.state))
            if dead and lot in listed:
                undried.append(species.common_name or species.name)
        except InputError as error:
            (unknown if lot in listed else problems).extend(error)
    for problem in unknown.found:
        if found:
            print(f"chillplan: left out: {problem}", file=sys.stderr)
        else:
            problems.add(problem)
    if undried:
        named = ", ".join(dict.fromkeys(undried))
        print(
            f"chillplan: taken for moist seed, since it dies when it dries: {named}; if yours has been dried, do not "
            "sow it",
            file=sys.stderr,
        )
    return tuple(found.values()), tuple(lots)


def _meant(catalogue: Sequence[Species], name: str) -> Species:
    """The species of a name; on a terminal a doubtful one is asked about.

    Raises
    ------
    InputError
        If it is not known, or nobody is there to ask.
    """
    from chillplan.seeds.catalogue import find_species, near_names

    try:
        return find_species(catalogue, name)
    except InputError:
        near = near_names(catalogue, name)
        if not near or not (sys.stdin.isatty() and sys.stderr.isatty()):
            raise
        print(f"{quoted(name)} is doubtful. Which is it?", file=sys.stderr)
        for number, each in enumerate(near, start=1):
            print(f"  {number} {find_species(catalogue, each).name} ({each})", file=sys.stderr)
        print("Number, or Enter to leave it out: ", end="", file=sys.stderr, flush=True)
        answer = sys.stdin.readline().strip()
        if not (answer.isdigit() and 1 <= int(answer) <= len(near)):
            raise
        return find_species(catalogue, near[int(answer) - 1])


def _listed(path: Path, today: date) -> tuple[Lot, ...]:
    from chillplan.lot import parse_lots

    try:
        return parse_lots(path.read_text(encoding="utf-8-sig"), today, usual_order(), f"seed list {quoted(path)}")
    except OSError as error:
        raise InputError(f"seed list {quoted(path)} cannot be read: {error.strerror}; check the path") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"seed list {quoted(path)} is not a CSV file: save it as CSV, UTF-8") from error
