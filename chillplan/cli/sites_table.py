"""``chillplan plan --sites``: many places at once, one table out."""

from __future__ import annotations

import csv
import sys
from dataclasses import fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import Asked, planned
from chillplan.cli.streams import print_json
from chillplan.errors import ChillplanError, InputError, Problems, quoted

if TYPE_CHECKING:
    from chillplan.advice.result import Plan

__all__ = ["COLUMNS", "answer_sites", "read_sites"]

COLUMNS = ("name", "latitude", "longitude", "elevation", "slope", "aspect", "cover", "terrain", "depth", "weather")
SHORT_NAMES = {"lat": "latitude", "lon": "longitude", "long": "longitude", "lng": "longitude", "elev": "elevation"}
MOST_SITES = 5000
HEADER = ("site", "latitude", "longitude", "species", "verdict", "good_winters", "winters", "chance", "sow_from",
          "sow_to", "prepare", "plant_out", "reason")  # fmt: skip


def read_sites(path: Path, common: PlaceOptions) -> list[tuple[str, PlaceOptions]]:
    """Places of a table, each with what was said on the command line for all of them.

    Parameters
    ----------
    path : pathlib.Path
        CSV with a column ``latitude`` and any other of `COLUMNS`; ``weather`` is a file relative to the table.
    common : PlaceOptions
        Options that hold where a cell is empty.

    Raises
    ------
    InputError
        If the table cannot be read, or has unknown columns or no rows.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            head = file.readline()
            file.seek(0)
            # Spreadsheets of many countries part the cells by semicolons.
            mark = ";" if ";" in head and "," not in head else ","
            rows = [row for row in csv.DictReader(file, strict=True, delimiter=mark) if _filled(row)]
    except OSError as error:
        raise InputError(f"table of sites {quoted(path)} cannot be read: {error.strerror}; check the path") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"table of sites {quoted(path)} is not a CSV file: {error}; save it as CSV, UTF-8") from error
    problems = Problems()
    known = [_column(name) for name in (rows[0] if rows else {}) if name is not None]
    for name in known:
        if name not in COLUMNS:
            problems.add(f"column {quoted(name)} of {quoted(path)} is not known: use {', '.join(COLUMNS)}")
    if not rows:
        problems.add(f"table of sites {quoted(path)} has no rows: write a header with latitude, and one place a row")
    elif "latitude" not in known and common.latitude is None:
        problems.add(f"table of sites {quoted(path)} has no column latitude: add one, in degrees")
    if len(rows) > MOST_SITES:
        problems.add(f"{quoted(path)} has {len(rows)} places, at most {MOST_SITES} are taken: use 'chillplan map'")
    problems.raise_if_any()
    places = [_place(number, row, path, common) for number, row in enumerate(rows, start=2)]
    for row, (name, options) in zip(rows, places, strict=True):
        if options.latitude is None:
            problems.add(f"{name}: no latitude is given: write it in degrees, south negative")
        if None in row:
            problems.add(f"{name}: the row has more cells than the header: put text with commas into quotes")
    problems.raise_if_any()
    return places


def _column(name: object) -> str:
    """A column's name as it is known here."""
    said = str(name).strip().lower()
    return SHORT_NAMES.get(said, said)


def _filled(row: dict[str, str | None]) -> bool:
    """Whether anything stands in a row; the last ones of a spreadsheet are often empty."""
    return any((text or "").strip() for text in row.values() if not isinstance(text, list))


def _place(number: int, row: dict[str, str | None], path: Path, common: PlaceOptions) -> tuple[str, PlaceOptions]:
    cells = {_column(name): (text or "").strip() for name, text in row.items() if isinstance(text, str)}
    said: dict[str, Any] = {one.name: cells[one.name] for one in fields(PlaceOptions) if cells.get(one.name)}
    if "weather" in said:
        said["weather"] = (path.parent / said["weather"],)
    return cells.get("name") or f"row {number}", replace(common, **said)


def answer_sites(path: Path, place: PlaceOptions, asked: Asked) -> None:
    """Plan every place of a table, and print one table.

    Raises
    ------
    ChillplanError
        With the faults of every place at once, each with its name.
    """
    if asked.out is not None:
        raise InputError("--out writes the report of one site: leave it away with --sites, or plan that site alone")
    if place.site is not None:
        raise InputError("--site and --sites were both given: name one of them")
    sites = read_sites(path, place)
    plans: list[tuple[str, Plan]] = []
    faults: dict[type[ChillplanError], list[str]] = {}
    for number, (name, options) in enumerate(sites, start=1):
        _show(number, len(sites), name)
        try:
            plans.append((name, planned(options, asked, Problems())[0]))
        except ChillplanError as error:
            faults.setdefault(type(error), []).extend(f"{name}: {problem}" for problem in error.problems)
    for kind, sentences in faults.items():
        raise kind([sentence for each in faults.values() for sentence in each] if len(faults) > 1 else sentences)
    _print(plans, asked)


def _show(number: int, count: int, name: str) -> None:
    if sys.stderr.isatty():
        end = "\n" if number == count else ""
        print(f"\r{number} of {count}: {name[:50]:<50}", end=end, file=sys.stderr, flush=True)


def _rows(plans: list[tuple[str, Plan]]) -> list[tuple[object, ...]]:
    rows: list[tuple[object, ...]] = []
    for name, plan in plans:
        for advice in plan.species:
            out, (prepare, _, plant_out) = advice.outdoors, advice.indoor_dates
            rows.append(
                (
                    name,
                    plan.site.latitude,
                    plan.site.longitude,
                    advice.species.name,
                    advice.verdict,
                    advice.good,
                    advice.winters,
                    round(advice.chance, 3),
                    out.sow_from.isoformat() if out else "",
                    out.sow_to.isoformat() if out else "",
                    prepare.isoformat() if prepare else "",
                    plant_out.isoformat() if plant_out else "",
                    advice.reason,
                )
            )
    return rows


def _print(plans: list[tuple[str, Plan]], asked: Asked) -> None:
    rows = _rows(plans)
    if asked.format == "json":
        said = [dict(zip(HEADER, row, strict=True)) for row in rows]
        print_json({"schema": 1, "sites": said})
    elif asked.format == "csv":
        from chillplan.report.rows import csv_text

        print(csv_text(HEADER, rows), end="")
    else:
        from chillplan.report.tables_lists import print_sites

        print_sites([dict(zip(HEADER, row, strict=True)) for row in rows])
