"""The site file of the folder one stands in: what a grower says once, so that commands need no options."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chillplan.cli.options import typed
from chillplan.cli.place import PlaceOptions
from chillplan.errors import InputError, Problems, quoted
from chillplan.lot import lots_beside, write_lots
from chillplan.site import Site, read_toml

if TYPE_CHECKING:
    from collections.abc import Sequence

    import typer

    from chillplan.cli.planning import Asked
    from chillplan.lot import Lot

__all__ = [
    "SITE_FILE",
    "Grower",
    "at_home",
    "looking_day_at_home",
    "looking_day_of",
    "lots_at_home",
    "place_at_home",
    "read_grower",
    "reading_at_home",
    "write_home",
]

SITE_FILE = "site.toml"
"""Looked for in the folder one stands in where neither a site nor weather is named."""
OF_THE_RECORD = ("station", "weather_units", "station_elevation", "between_cells")
"""What a record needs to be read as it was when the plan was kept; the names of the options."""
TEXTS = ("units", "dates", "weekdays", "lots", "looking_day", "station", "weather_units")
DAYS_OF_WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
NUMBERS = ("station_elevation", "people", "hours", "travel")


@dataclass(frozen=True)
class Grower:
    """The table ``[grower]`` of a site file, as texts for the options that it stands in for.

    Attributes
    ----------
    records : tuple of pathlib.Path
        Beside the site file unless absolute.
    lots : pathlib.Path or None
        The lots file; None where there is none.
    said : dict of str to str
        The other values, by name.
    """

    records: tuple[Path, ...]
    lots: Path | None
    said: dict[str, str]


def read_grower(path: Path) -> Grower:
    """What a grower says in a site file besides the site.

    Raises
    ------
    InputError
        With every unknown or impossible value.
    """
    table: dict[str, Any] = read_toml(path).get("grower", {})
    problems = Problems()
    for name in sorted(set(table) - {"records", *TEXTS, *NUMBERS, "between_cells"}):
        known = ", ".join(("records", *TEXTS, *NUMBERS, "between_cells"))
        problems.add(f"{quoted(name)} under [grower] in {quoted(path)} is not known: use {known}")
    for name in TEXTS:
        if not isinstance(table.get(name, ""), str):
            problems.add(f"{name} under [grower] in {quoted(path)} is not text: put it in quotes")
    for name in NUMBERS:
        if isinstance(table.get(name, 0), bool) or not isinstance(table.get(name, 0), int | float):
            problems.add(f"{name} under [grower] in {quoted(path)} is not a number: write {name} = 2")
    if not isinstance(table.get("between_cells", False), bool):
        problems.add(f"between_cells under [grower] in {quoted(path)} is neither true nor false: write one of the two")
    looking = table.get("looking_day", "sunday")
    if isinstance(looking, str) and _short(looking) not in DAYS_OF_WEEK:
        problems.add(f"looking_day {quoted(looking)} in {quoted(path)} is not a day of the week: write Sunday")
    records = table.get("records", [])
    if not isinstance(records, list) or not all(isinstance(record, str) for record in records):
        problems.add(f'records under [grower] in {quoted(path)} is not a list of files: write records = ["record.csv"]')
    problems.raise_if_any()
    lots = path.parent / table["lots"] if "lots" in table else lots_beside(path)
    said = {name: str(table[name]) for name in (*TEXTS, *NUMBERS) if name in table and name != "lots"}
    if table.get("between_cells"):
        said["between_cells"] = "yes"
    named = "lots" in table or lots.is_file()
    return Grower(tuple(path.parent / record for record in records), lots if named else None, said)


def looking_day_of(path: Path) -> int | None:
    """Day of the week on which all in the cold is looked at, 0 for Monday; None where the site file does not say."""
    said = read_grower(path).said.get("looking_day")
    return None if said is None else DAYS_OF_WEEK.index(_short(said))


def _short(day: str) -> str:
    return day.strip().lower()[:3]


def looking_day_at_home() -> int | None:
    """The same of the site file in the folder one stands in."""
    return looking_day_of(Path(SITE_FILE)) if Path(SITE_FILE).is_file() else None


def place_at_home(place: PlaceOptions) -> PlaceOptions:
    """The place that is meant: the site file at hand where none is named, and its records where none are."""
    if place.says_nothing and Path(SITE_FILE).is_file():
        place = replace(place, site=Path(SITE_FILE))
    if place.site is None or not place.site.is_file():
        return place
    grower = read_grower(place.site)
    if not place.weather:
        said: dict[str, Any] = {name: getattr(place, name) or grower.said.get(name) for name in OF_THE_RECORD[:-1]}
        said["between_cells"] = place.between_cells or "between_cells" in grower.said
        place = replace(place, weather=grower.records, **said)
    return place


def lots_at_home(place: PlaceOptions) -> Path | None:
    """The lots file of a site file; None where there is none."""
    return read_grower(place.site).lots if place.site is not None and place.site.is_file() else None


def at_home(place: PlaceOptions, asked: Asked, context: typer.Context) -> tuple[PlaceOptions, Asked]:
    """Place and wishes, with the site file standing in for every option that was not typed."""
    place = place_at_home(place)
    if place.site is None or not place.site.is_file():
        return place, asked
    grower, said = read_grower(place.site), read_grower(place.site).said
    if asked.list_file is None and not asked.species:
        asked = replace(asked, list_file=grower.lots)
    units, dates = reading_at_home(place, asked.units, asked.dates, context)
    asked = replace(asked, looking_day=looking_day_of(place.site), units=units, dates=dates)
    crew: dict[str, Any] = {
        name: said[name]
        for name in ("people", "hours", "travel", "weekdays")
        if name in said and not typed(context, name)
    }
    return place, replace(asked, crew=replace(asked.crew, **crew))


def reading_at_home(
    place: PlaceOptions, units: str, dates: str | None, context: typer.Context
) -> tuple[str, str | None]:
    """Units and order of dates: as typed, else as the site file says."""
    if place.site is None or not place.site.is_file():
        return units, dates
    said = read_grower(place.site).said
    return units if typed(context, "units") else said.get("units", units), dates or said.get("dates")


def write_home(site: Site, place: PlaceOptions, asked: Asked, lots: Sequence[Lot]) -> list[Path]:
    """Write a site file and the lots beside it from what was asked; files that are there are left alone.

    Returns
    -------
    list of pathlib.Path
        The files written.
    """
    import tomlkit

    path = Path(SITE_FILE)
    written: list[Path] = []
    if place.site is None and not path.exists():
        document = tomlkit.document()
        for name in ("name", "latitude", "longitude", "elevation", "slope", "aspect", "cover", "terrain", "depth_cm"):
            if getattr(site, name) is not None:
                document[name] = getattr(site, name)
        grower = tomlkit.table()
        if place.weather:
            grower["records"] = [os.path.relpath(record) for record in place.weather]
        for name in OF_THE_RECORD:
            value = getattr(place, name)
            if value not in (None, False):
                grower[name] = float(value) if name in NUMBERS else value
        if asked.units != "metric":
            grower["units"] = asked.units
        for name, value in (("dates", asked.dates), ("weekdays", asked.crew.weekdays)):
            if value is not None:
                grower[name] = value
        grower["looking_day"] = "Sunday"
        document["grower"] = grower
        _write(path, tomlkit.dumps(document), written)
    beside = lots_beside(place.site or path)
    if not beside.exists():
        _write(beside, write_lots(lots), written)
    return written


def _write(path: Path, text: str, written: list[Path]) -> None:
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        temporary.write_text(text, encoding="utf-8")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise InputError(f"{quoted(path)} cannot be written: {error.strerror}; check its folder") from error
    written.append(path)
