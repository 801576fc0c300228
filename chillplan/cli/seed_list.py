"""Which species the user asks about."""

from __future__ import annotations

import csv
import sys
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

from chillplan.cli.catalogue_files import catalogue_with
from chillplan.cli.journal_options import usual_order
from chillplan.errors import InputError, Problems, quoted
from chillplan.lot import DRIED, FRESH, Lot, parse_lots
from chillplan.seeds.catalogue import find_species, near_names
from chillplan.seeds.recipe import Species

__all__ = ["chosen_seed", "chosen_species"]


def chosen_species(
    names: Sequence[str],
    list_file: Path | None,
    species_file: Path | None,
    problems: Problems,
    default: Path | None = None,
) -> tuple[Species, ...]:
    """Species by option and list, each once, in the order given; the whole catalogue where neither is given."""
    return chosen_seed(names, list_file, species_file, problems, default)[0]


def chosen_seed(
    names: Sequence[str],
    list_file: Path | None,
    species_file: Path | None,
    problems: Problems,
    default: Path | None = None,
    today: date | None = None,
) -> tuple[tuple[Species, ...], tuple[Lot, ...]]:
    """Species by option and list, each once, in the order given, and the lots of them.

    Parameters
    ----------
    names : sequence of str
    list_file, species_file, default : pathlib.Path or None
        Lots file or seed list, the user's own species table, list used where nothing else is given.
    problems : Problems
        Unknown names and faults of the files are added here. Of a list the rest is taken where some names are known,
        and the others are told on standard error.

    Returns
    -------
    tuple of Species
        The whole catalogue where neither names nor lists are given.
    tuple of Lot
        By scientific names.
    """
    listed: tuple[Lot, ...] = ()
    try:
        catalogue = catalogue_with(species_file)
        path = list_file if list_file is not None else None if names else default
        if path is not None:
            listed = _listed(path, today or date.today())
    except InputError as error:
        problems.extend(error)
        return (), ()
    if not names and not listed:
        return catalogue, ()
    found: dict[str, Species] = {}
    lots: list[Lot] = []
    unknown = Problems()
    for lot in (*(Lot(name) for name in names), *listed):
        try:
            species = _meant(catalogue, lot.species)
            found.setdefault(species.name, species)
            undried = species.storage == "never dry" and lot.state == DRIED
            lots.append(replace(lot, species=species.name, state=FRESH if undried else lot.state))
        except InputError as error:
            (unknown if lot in listed else problems).extend(error)
    for problem in unknown.found:
        if found:
            print(f"chillplan: left out: {problem}", file=sys.stderr)
        else:
            problems.add(problem)
    return tuple(found.values()), tuple(lots)


def _meant(catalogue: Sequence[Species], name: str) -> Species:
    """The species of a name; on a terminal a doubtful one is asked about.

    Raises
    ------
    InputError
        If it is not known, or nobody is there to ask.
    """
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
    try:
        return parse_lots(path.read_text(encoding="utf-8-sig"), today, usual_order(), f"seed list {quoted(path)}")
    except OSError as error:
        raise InputError(f"seed list {quoted(path)} cannot be read: {error.strerror}; check the path") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"seed list {quoted(path)} is not a CSV file: save it as CSV, UTF-8") from error
