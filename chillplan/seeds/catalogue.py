"""The species catalogue: each row of a table becomes a species or a fault in words; a user's rows go over ours."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import cast

from chillplan.errors import InputError, Problems, quoted
from chillplan.seeds.columns import (
    COLUMN,
    FIGURE_COLUMNS,
    GERMINATION_DEFAULT,
    LIGHT,
    STORAGE,
    TRIAL_COLUMNS,
    Column,
    is_deep,
    number_or_none,
    parse_ripening,
    parse_trials,
    sourced,
)
from chillplan.seeds.recipe import (
    LOTS_FROM_MEMORY,
    LOTS_KNOWN,
    LOTS_READ,
    REVERSAL_TEMPERATURE,
    ColdTrials,
    Germination,
    Light,
    Phase,
    Recipe,
    Response,
    Species,
    Stated,
    Storage,
)
from chillplan.seeds.recipe_text import parse_recipes, parse_response

__all__ = ["find_species", "merge_rows", "near_names", "parse_catalogue", "parse_row", "repeated_names"]

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


LONGEST_NAME = 120
LONGEST_CELL = 4000
"""Longest text a cell may hold; the rest of a table is not worth reading where one is longer. [characters]"""

BUILT_IN = "built in"

_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def parse_row(row: Mapping[str, str]) -> Species:
    """Species of one row; `InputError` with every fault of the row, without its number."""
    problems = Problems()
    cells = {name: _clean(row.get(name) or "", name, problems) for name in COLUMN}
    problems.raise_if_any()
    _check_name(cells["name"], problems)
    trials = parse_trials(cells, problems)
    light = _word(cells, "light", LIGHT, problems)
    species = Species(
        name=cells["name"],
        common_name=cells["common_name"] or cells["name"],
        other_names=_listed(cells["other_names"]),
        family=cells["family"],
        dormancy=cells["dormancy"],
        hard_coat=_yes(cells, "hard_coat", problems),
        recipes=_recipes(cells, trials, _variation(cells, trials, row.get("origin") or BUILT_IN), problems),
        germination=_germination(cells, problems),
        light=cast(Light, light),
        storage=cast(Storage, _word(cells, "storage", STORAGE, problems)),
        depth_cm=_depth(cells, light, problems),
        seedling_limit=_number(cells, "seedling_limit_c", problems),
        shoot_waits=_yes(cells, "shoot_waits", problems),
        uses=tuple(word.lower() for word in _listed(cells["uses"])),
        sow_season=cells["sow_season"],
        cautions=_listed(cells["cautions"]),
        note=cells["note"],
        source=cells["source"],
        source_url=cells["source_url"],
        read=_listed(cells["read"]),
        origin=row.get("origin") or BUILT_IN,
        trickle_share=_number(cells, "trickle_share", problems),
        seeds_per_gram=number_or_none(cells, "seeds_per_gram", problems),
        trials=trials,
        ripening=parse_ripening(cells, problems),
        hardiness=sourced(cells, "hardiness_c", "hardiness_source", problems),
        hardiness_source=cells["hardiness_source"],
        ceiling_share=sourced(cells, "ceiling_share", "ceiling_source", problems),
        ceiling_source=cells["ceiling_source"],
    )
    problems.raise_if_any()
    return species


def _depth(cells: dict[str, str], light: str, problems: Problems) -> tuple[float, float]:
    """Sowing depth: on the surface where light is needed and nothing else is said. [cm]"""
    if light == "needed" and not cells["depth_low_cm"] and not cells["depth_high_cm"]:
        return 0.0, 0.0
    return _span(cells, "depth_low_cm", "depth_high_cm", problems)


def _clean(value: str, name: str, problems: Problems) -> str:
    if len(value) > LONGEST_CELL:
        problems.add(f"{name} holds {len(value)} characters, more than {LONGEST_CELL}: shorten it")
    return " ".join("".join(letter if letter.isprintable() else " " for letter in value[:LONGEST_CELL]).split())


def _check_name(name: str, problems: Problems) -> None:
    if not name:
        problems.add("the name is missing: give the scientific name")
    elif len(name) > LONGEST_NAME:
        problems.add(f"name {quoted(name)} is longer than {LONGEST_NAME} characters")
    elif not re.match(r"[^\W\d_]", name.lstrip("×x ")):
        problems.add(f"name {quoted(name)} does not begin with a letter: give the scientific name")


def _variation(cells: Mapping[str, str], trials: ColdTrials, origin: str) -> float:
    """How much lots of the species differ, by what is known of their cold."""
    own = origin != BUILT_IN
    if own and trials.lot_days is not None:
        return LOTS_KNOWN
    read = set(_listed(cells["read"])) >= {"cold_days_min", "cold_days_max"} or "days" in _listed(cells["read"])
    tried = bool(trials.worked or trials.failed or trials.lot_days)
    return LOTS_READ if own or read or tried else LOTS_FROM_MEMORY


def _recipes(cells: Mapping[str, str], trials: ColdTrials, variation: float, problems: Problems) -> tuple[Recipe, ...]:
    reversal = number_or_none(cells, "reversal_c", problems)
    responses: dict[str, Response | None] = {"cold_response": None, "warm_response": None}
    for name in responses:
        try:
            responses[name] = parse_response(cells[name])
        except InputError as error:
            _take_over(error, name, problems)
    if not cells["phases"]:
        problems.add("phases is missing: write for example 'cold moist, 60 to 90 days, 1 to 5 °C', or 'none'")
        return ()
    try:
        recipes = parse_recipes(
            cells["coat"] or "none",
            cells["phases"],
            responses["cold_response"],
            responses["warm_response"],
            _reversal(responses["cold_response"]) if reversal is None else reversal,
            Stated(is_deep(cells["dormancy"]), trials),
        )
    except InputError as error:
        _take_over(error, "", problems)
        return ()
    return tuple(replace(one, phases=tuple(_varied(phase, variation) for phase in one.phases)) for one in recipes)


def _reversal(own: Response | None) -> float:
    """Default of the reversal temperature: where a species' own response still counts a day, the day undoes nothing."""
    return REVERSAL_TEMPERATURE if own is None else max(REVERSAL_TEMPERATURE, own.zero_high)


def _varied(phase: Phase, variation: float) -> Phase:
    return replace(phase, variation=variation) if phase.kind == "cold" else phase


def _germination(cells: Mapping[str, str], problems: Problems) -> Germination:
    """Thermal time of the row; where the base or the thermal time is blank the class default fills in, assumed."""
    base = _number(cells, "base_temperature_c", problems)
    given = bool(cells["base_temperature_c"] and cells["thermal_time_low"] and cells["thermal_time_high"])
    evidence = _word(cells, "germination_evidence", ("published", "assumed"), problems)
    if evidence == "published" and not given:
        problems.add(
            "germination_evidence says published, but base_temperature_c or a thermal time is blank: fill both in"
        )
    around = {name: cells[name] for name in GERMINATION_DEFAULT}
    least, most = _limits(COLUMN["base_temperature_c"])
    for name, shift in (("base_low_c", -3.0), ("base_high_c", 3.0)):
        around[name] = cells[name] or str(min(max(base + shift, least), most))
    before = len(problems.found)
    base_range = _span(around, "base_low_c", "base_high_c", problems)
    if len(problems.found) == before and not base_range[0] <= base <= base_range[1]:
        problems.add(f"base_temperature_c {base:g} is outside its own range {base_range[0]:g} to {base_range[1]:g} °C")
    thermal = _span(cells, "thermal_time_low", "thermal_time_high", problems)
    return Germination(
        base, thermal, _temperatures(cells["germination_c"], problems), base_range, evidence == "assumed"
    )


def _temperatures(text: str, problems: Problems) -> tuple[float, float] | None:
    if not text:
        return None
    figures = [
        float(figure)
        for figure in re.findall(r"(?<![\d.])-?\d+(?:\.\d+)?", text.replace("−", "-").replace("–", " to "))
    ]
    if len(figures) not in {1, 2} or not -5.0 <= figures[0] <= figures[-1] <= 45.0:
        problems.add(
            f"germination_c {quoted(text)} is not a rising range between -5 and 45 °C: write for example '15 to 20'"
        )
        return None
    return (figures[0], figures[-1])


def _number(cells: Mapping[str, str], name: str, problems: Problems) -> float:
    column = COLUMN[name]
    text = cells[name] or column.default
    low, high = _limits(column)
    try:
        value = float(text.replace("−", "-"))
    except ValueError:
        problems.add(f"{name} {quoted(text)} is not a number")
        return low
    if not low <= value <= high:
        problems.add(f"{name} {quoted(text)} is outside {low:g} to {high:g}: check the figure and its unit")
        return low
    return value


def _span(cells: Mapping[str, str], low_name: str, high_name: str, problems: Problems) -> tuple[float, float]:
    filled = dict(cells)
    low = _number(filled, low_name, problems)
    if not filled[high_name] and filled[low_name]:
        filled[high_name] = str(max(low, float(COLUMN[high_name].default)))
    if not filled[low_name] and filled[high_name]:
        low = min(low, _number(filled, high_name, problems))
    before = len(problems.found)
    high = _number(filled, high_name, problems)
    if low > high and len(problems.found) == before:
        problems.add(f"{low_name} {low:g} is above {high_name} {high:g}: swap them")
    return (low, high)


def _word(cells: Mapping[str, str], name: str, allowed: tuple[str, ...], problems: Problems) -> str:
    word = (cells[name] or COLUMN[name].default).lower()
    if word not in allowed:
        problems.add(f"{name} {quoted(cells[name])} is not understood: write one of {', '.join(allowed)}")
    return word


def _yes(cells: Mapping[str, str], name: str, problems: Problems) -> bool:
    word = (cells[name] or COLUMN[name].default).lower()
    if word not in _YES:
        problems.add(f"{name} {quoted(cells[name])} is not understood: write yes or no")
    return _YES.get(word, False)


def _listed(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(";") if part.strip())


def _limits(column: Column) -> tuple[float, float]:
    assert column.limits is not None, column.name
    return column.limits


def _take_over(error: InputError, column: str, problems: Problems) -> None:
    for problem in error.problems:
        problems.add(f"{column}: {problem}" if column else problem)
