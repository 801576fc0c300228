"""Which species the user asks about."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

from chillplan.cli.catalogue_files import catalogue_with
from chillplan.errors import InputError, Problems, quoted
from chillplan.seeds.catalogue import find_species
from chillplan.seeds.recipe import Species

__all__ = ["LONGEST_LIST", "chosen_species"]

LONGEST_LIST = 1000  # rows; a longer one is a mistake or wants splitting
NAME_COLUMNS = ("name", "species", "scientific_name", "scientific name", "common_name", "common name")


def chosen_species(
    names: Sequence[str],
    list_file: Path | None,
    species_file: Path | None,
    problems: Problems,
    default: Path | None = None,
) -> tuple[Species, ...]:
    """Species by option and list, each once, in the order given.

    Parameters
    ----------
    names : sequence of str
    list_file, species_file, default : pathlib.Path or None
        Seed list, the user's own species table, list used where nothing else is given.
    problems : Problems
        Unknown names and faults of the files are added here.

    Returns
    -------
    tuple of Species
        The whole catalogue where neither names nor lists are given.
    """
    try:
        catalogue = catalogue_with(species_file)
        wanted = [*names]
        if list_file is not None:
            wanted += _listed(list_file)
        elif not names and default is not None:
            wanted += _listed(default)
    except InputError as error:
        problems.extend(error)
        return ()
    if not wanted:
        return catalogue
    found: dict[str, Species] = {}
    for name in wanted:
        try:
            species = find_species(catalogue, name)
            found.setdefault(species.name, species)
        except InputError as error:
            problems.extend(error)
    return tuple(found.values())


def _listed(path: Path) -> list[str]:
    try:
        text = path.read_text(encoding="utf-8-sig")
        between = next((sign for sign in ";\t" if sign in text and "," not in text), ",")
        rows = [row for row in csv.reader(text.splitlines(), delimiter=between) if any(cell.strip() for cell in row)]
    except OSError as error:
        raise InputError(f"seed list {quoted(path)} cannot be read: {error.strerror}; check the path") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"seed list {quoted(path)} is not a CSV file: save it as CSV, UTF-8") from error
    if not rows:
        raise InputError(f"seed list {quoted(path)} is empty: write one species a row")
    if len(rows) > LONGEST_LIST:
        raise InputError(f"seed list {quoted(path)} has {len(rows)} rows, at most {LONGEST_LIST} are taken: split it")
    header = [cell.strip().lower() for cell in rows[0]]
    column = next((header.index(name) for name in NAME_COLUMNS if name in header), None)
    body = rows if column is None else rows[1:]
    names = [row[column or 0].strip() for row in body if len(row) > (column or 0) and row[column or 0].strip()]
    if not names:
        raise InputError(f"seed list {quoted(path)} names no species: write one a row")
    return names
