"""The species catalogue: rows of a table become species, a user's rows go over ours, and names are looked up."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence

from chillplan.errors import InputError, Problems, quoted
from chillplan.seeds.columns import FIGURE_COLUMNS, TRIAL_COLUMNS
from chillplan.seeds.recipe import Species
from chillplan.seeds.species_row import parse_row

__all__ = ["find_species", "merge_rows", "near_names", "parse_catalogue", "repeated_names"]

HEADER_ROWS = 1
NEAR_ENOUGH = 0.6
"""Similarity from which a name is offered as what the user may have meant. [-]"""

BELONG_TOGETHER = (
    ("base_temperature_c", "base_low_c", "base_high_c", "germination_evidence"),
    ("thermal_time_low", "thermal_time_high"),
    ("depth_low_cm", "depth_high_cm"),
    TRIAL_COLUMNS,
    ("ripe_from", "ripe_to", "ripe_latitude", "ripe_source"),
    ("hardiness_c", "hardiness_source"),
    ("ceiling_share", "ceiling_source"),
)
"""Columns of which a user's row replaces all where it fills one."""


def parse_catalogue(rows: Sequence[Mapping[str, str]], origin: str = "built in") -> tuple[Species, ...]:
    """Species of a table.

    Parameters
    ----------
    rows : sequence of mapping
        One row a species, keyed by the names of :data:`chillplan.seeds.columns.COLUMNS`; only ``name`` and ``phases``
        are needed. A row may carry its number in its file as ``row`` and its file as ``origin``; without it rows are
        counted from 2, as a spreadsheet does under one header row.
    origin : str
        Where rows that do not say otherwise come from.

    Raises
    ------
    InputError
        With every fault of every row, each naming its row.
    """
    problems = Problems()
    species = []
    for position, row in enumerate(rows, start=1 + HEADER_ROWS):
        try:
            species.append(parse_row({**row, "origin": row.get("origin") or origin}))
        except InputError as error:
            where = f"row {row.get('row') or position} ({quoted(row.get('name') or 'no name')})"
            for problem in error.problems:
                problems.add(f"{where}: {problem}")
    for problem in repeated_names(rows):
        problems.add(problem)
    problems.raise_if_any()
    return tuple(species)


def merge_rows(ours: Iterable[Mapping[str, str]], theirs: Iterable[Mapping[str, str]]) -> list[dict[str, str]]:
    """A user's rows over ours: a row of the same scientific name overrides, cell by cell, where its cell is filled.

    A blank cell keeps ours. A name that the user gives twice stays twice, for :func:`parse_catalogue` to refuse. Where
    the user's row gives a recipe or a germination figure, the source, its address and what was read are the user's too,
    blank or not, so that no figure is shown under a source that does not give it; where it gives phases, what trials
    found of ours no longer counts.
    """
    merged = {_key(row.get("name") or ""): dict(row) for row in ours}
    ours_only = dict(merged)
    taken: set[str] = set()
    for position, row in enumerate(theirs):
        name = _key(row.get("name") or "")
        key = f"{name} {position}" if not name or name in taken else name
        taken.add(name)
        own = {column: value for column, value in row.items() if (value or "").strip()}
        if any(column in own for column in FIGURE_COLUMNS):
            own = {"source": f"your table {row.get('origin') or ''}".strip(), "source_url": "", "read": "", **own}
        if "phases" in own:
            own = {**dict.fromkeys(TRIAL_COLUMNS, ""), **own}
        for together in BELONG_TOGETHER:
            if any(column in own for column in together):
                own = {**dict.fromkeys(together, ""), **own}
        merged[key] = {**ours_only.get(name, {}), **own}
    return list(merged.values())


def find_species(catalogue: Sequence[Species], name: str) -> Species:
    """The species of a name: scientific, common or other, in any case; a lot's name after a comma is left aside.

    Raises
    ------
    InputError
        If no species has the name, with near matches; or if several do, with their scientific names.
    """
    wanted = _key(name)
    if not wanted:
        raise InputError("the species name is empty: give a scientific or common name")
    exact = [species for species in catalogue if _key(species.name) == wanted]
    found = exact or [species for species in catalogue if wanted in map(_key, species.names())]
    if not found and ", " in name:
        return find_species(catalogue, name.partition(", ")[0])
    if len(found) == 1:
        return found[0]
    if found:
        choices = ", ".join(species.name for species in found)
        raise InputError(f"{quoted(name)} is the name of several species: say which of {choices}")
    near = near_names(catalogue, name)
    hint = f"did you mean {', '.join(near)}?" if near else "see 'chillplan species list', or add it with --species-file"
    raise InputError(f"species {quoted(name)} is not in the catalogue: {hint}")


def near_names(catalogue: Sequence[Species], name: str, most: int = 4) -> list[str]:
    """Names of the catalogue that look like a name, nearest first; names that contain it, or its words, come first."""
    wanted = _key(name)[:80]
    known = {_key(each): each for species in catalogue for each in species.names() if each}
    holding = [each for key, each in known.items() if len(wanted) >= 4 and (wanted in key or key in wanted)]
    similar = [known[key] for key in difflib.get_close_matches(wanted, known, n=most, cutoff=NEAR_ENOUGH)]
    return list(dict.fromkeys([*holding, *similar]))[:most]


def repeated_names(rows: Sequence[Mapping[str, str]]) -> list[str]:
    """One problem for each row whose scientific name stood in a row before it."""
    seen: dict[str, str] = {}
    problems = []
    for position, row in enumerate(rows, start=1 + HEADER_ROWS):
        name = row.get("name") or ""
        number = str(row.get("row") or position)
        if _key(name) and _key(name) in seen:
            problems.append(
                f"row {number} ({quoted(name)}): the same name stands in row {seen[_key(name)]}; keep one of them"
            )
        seen.setdefault(_key(name), number)
    return problems


def _key(name: str) -> str:
    return " ".join(name.casefold().replace("×", "x").replace("’", "'").split())
