"""``chillplan weather``: find a station, fetch it, check a record, tie a station to the hillside."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli import options as opt
from chillplan.cli.place import PlaceOptions
from chillplan.cli.streams import print_json

if TYPE_CHECKING:
    from chillplan.site import Site
    from chillplan.weather.history import History
    from chillplan.weather.tie import Tie

__all__ = ["register"]

LimitOption = Annotated[str, typer.Option("--limit", help="Stations shown at most, 1 to 100.")]
ReadingsOption = Annotated[
    list[Path] | None,
    typer.Option(
        "--readings", help="Your own readings on the hillside: daily minimum and maximum, or a logger's file."
    ),
]
WriteOption = Annotated[bool, typer.Option("--write", help="Write the tie into the site file.")]
FirstYearOption = Annotated[str | None, typer.Option("--first-year", help="Fetch from this year on; else 60 years.")]
MapOption = Annotated[Path | None, typer.Option("--out", help="Folder to write the map picture to (stations.svg).")]


WHERE = ("site", "latitude", "longitude", "elevation")


def register(app: typer.Typer) -> None:
    """Add the commands."""
    weather = typer.Typer(no_args_is_help=True, rich_markup_mode=None)
    for name, command, words in (
        ("find", find, "The nearest stations, best first."),
        ("fetch", fetch, "Fetch a station into the local store."),
        ("check", check, "Look a record through day by day."),
        ("tie", tie, "Fit a station to your own thermometer."),
    ):
        weather.command(name, short_help=words)(command)
    app.add_typer(
        weather,
        name="weather",
        short_help="Find, fetch, check and tie weather records.",
        help="Find, fetch and check weather records; tie a station to the hillside.",
    )


@opt.grouped
def find(
    *,
    place: Annotated[PlaceOptions, opt.Only(*WHERE, "offline", "refresh")],
    limit: LimitOption = "10",
    output: opt.FormatOption = "table",
    out: MapOption = None,
) -> None:
    """Show the nearest stations, ranked by the error to be expected.

    Example: chillplan weather find --latitude 44.1 --longitude -72.3 --elevation 420
    """
    from chillplan.cli import values
    from chillplan.cli.streams import progress_bar
    from chillplan.cli.weather_place import asked_place, fetching
    from chillplan.errors import Problems
    from chillplan.weather.get import station_list
    from chillplan.weather.nearness import nearest_stations
    from chillplan.weather.store import Store

    problems = Problems()
    count = values.whole_number(problems, "--limit", limit, 1, 100) or 10
    values.choice(problems, "--format", output, ("table", "json", "csv"))
    site = asked_place(place, problems)
    with progress_bar("Stations") as progress:
        stations, notes = station_list(Store(), fetching(progress, place))
    year = datetime.now(UTC).year
    near = nearest_stations(stations, site.latitude, site.longitude, site.elevation, count, this_year=year)
    if site.elevation is None:
        notes = [*notes, "Heights were left out of the ranking: give --elevation."]
    rows = [_station_row(row) for row in near.to_dict("records")]
    if out is not None and rows:
        notes = [*notes, _drawn(out, site, rows)]
    if output == "json":
        print_json({"stations": rows, "notes": notes})
    elif output == "csv":
        from chillplan.report.rows import csv_text

        print(csv_text(list(rows[0]) if rows else ["station"], [list(row.values()) for row in rows]), end="")
    else:
        from chillplan.report.tables_stations import print_stations

        print_stations(rows, notes)


@opt.grouped
def fetch(
    *,
    place: Annotated[PlaceOptions, opt.Only(*WHERE, "station", "offline", "refresh")],
    first_year: FirstYearOption = None,
    with_model: Annotated[
        bool,
        typer.Option("--with-model", help="Keep days that the source filled by a weather model; they are counted."),
    ] = False,
    output: opt.PageFormatOption = "table",
) -> None:
    """Fetch a station into the local store; afterwards `plan` works without a network.

    The best station of a place, or the one named by --station as `find` shows it.

    Example: chillplan weather fetch --latitude 44.1 --longitude -72.3 --elevation 420
    """
    from chillplan.cli import values
    from chillplan.cli.streams import progress_bar
    from chillplan.cli.weather_place import asked_place, fetching
    from chillplan.errors import Problems
    from chillplan.site import Site
    from chillplan.weather.get import history_at
    from chillplan.weather.store import Store

    problems = Problems()
    year = values.whole_number(problems, "--first-year", first_year, 1700, 2200)
    values.choice(problems, "--format", output, ("table", "json"))
    named = place.station is not None and place.says_nothing
    if named:
        problems.raise_if_any()
    site = Site(0.0, 0.0) if named else asked_place(place, problems)
    store = Store()
    with progress_bar("Fetching") as progress:
        how = fetching(progress, place, with_model, must_store=True, first_year=year)
        history = history_at(site.latitude, site.longitude, site.elevation, how, store, place.station)
    record = {**_record(history), "stored": str(store.path_of(history.provenance.station.split(" ")[0]))}
    if output == "json":
        print_json(record)
    else:
        from chillplan.report.tables_stations import print_record

        print_record(record)


@opt.grouped
def check(
    *,
    place: Annotated[PlaceOptions, opt.Only("weather", "station", "weather_units")],
    output: opt.PageFormatOption = "table",
) -> None:
    """Check a record day by day and report; nothing in it is changed.

    With several stations, the others are also tried as neighbours that fill gaps, and the error is told.

    Example: chillplan weather check --weather record.csv
    """
    from chillplan.cli import values
    from chillplan.cli.streams import ProgressLine
    from chillplan.errors import Problems
    from chillplan.weather.read import read_weather

    problems = Problems()
    values.choice(problems, "--format", output, ("table", "json"))
    if not place.weather:
        problems.add("no weather was given: pass --weather FILE with daily temperatures")
    problems.raise_if_any()
    records = []
    with ProgressLine() as progress:
        every = read_weather(place.weather, units=place.weather_units, repair=False)
        wanted = every
        if place.station is not None:
            wanted = read_weather(place.weather, units=place.weather_units, station=place.station, repair=False)
        for number, history in enumerate(wanted, start=1):
            progress(f"{number} of {len(wanted)}: {history.provenance.station}")
            records.append(_checked(history, every))
    if output == "json":
        print_json({"records": records})
        return
    from chillplan.report.tables_stations import print_check

    for record in records:
        print_check(record)


@opt.grouped
def tie(
    *,
    place: Annotated[PlaceOptions, opt.Only("site", "weather", "station", "weather_units")],
    readings: ReadingsOption = None,
    write: WriteOption = False,
    output: opt.PageFormatOption = "table",
) -> None:
    """Fit the offset between a station and your own thermometer on the hillside.

    Give at least two weeks of daily minimum and maximum, or a logger's file; months in different seasons are better.

    Example: chillplan weather tie --site hillside.toml --weather station.csv --readings thermometer.csv --write
    """
    from dataclasses import replace

    from chillplan.cli import values
    from chillplan.cli.weather_place import own_readings, write_tie
    from chillplan.errors import Problems
    from chillplan.site import read_site
    from chillplan.weather.move import move_to_site
    from chillplan.weather.read import load_history
    from chillplan.weather.tie import fit_tie

    problems = Problems()
    values.choice(problems, "--format", output, ("table", "json"))
    for option, given in (("--site", place.site), ("--weather", place.weather), ("--readings", readings)):
        if not given:
            problems.add(f"{option} is missing: give the site file, the station's record and your own readings")
    problems.raise_if_any()
    assert place.site is not None
    site = read_site(place.site)
    history = load_history(
        place.weather,
        units=place.weather_units,
        station=place.station,
        latitude=site.latitude,
        longitude=site.longitude,
    )
    own = own_readings(readings or (), place.weather_units)
    fitted = fit_tie(move_to_site(history, replace(site, tie={})), own)
    answer = _tie_answer(fitted)
    answer["written"] = str(write_tie(place.site, fitted.coefficients)) if write else None
    if output == "json":
        print_json(answer)
    else:
        from chillplan.report.tables_stations import print_tie

        print_tie(answer)


def _tie_answer(tie: Tie) -> dict[str, Any]:
    def rounded(errors: Mapping[str, float]) -> dict[str, float]:
        return {name: round(value, 2) for name, value in errors.items()}

    terms = tie.coefficients
    swing = {name: (terms[f"{name}_cosine"] ** 2 + terms[f"{name}_sine"] ** 2) ** 0.5 for name in ("tmin", "tmax")}
    return {
        "days": tie.days,
        "tie": terms,
        "swing": rounded(swing),
        "error_before": rounded(tie.error_before),
        "error_after": rounded(tie.error_after),
        "helps": tie.helps,
    }


def _drawn(folder: Path, place: Site, rows: list[dict[str, Any]]) -> str:
    """Write the map picture; says where."""
    from chillplan.cli.weather_place import written
    from chillplan.report.tables_stations import MapStation, station_map

    marks = [
        MapStation(
            str(row["name"] or row["station"]),
            row["latitude"],
            row["longitude"],
            row["distance_km"],
            row["height_difference_m"],
            row["expected_error_c"],
        )
        for row in rows
    ]
    return written(folder, "stations.svg", station_map(place.latitude, place.longitude, place.name, marks))


def _station_row(row: Mapping[Any, Any]) -> dict[str, Any]:
    def known(value: Any, digits: int = 1) -> Any:
        return None if value is None or value != value else round(float(value), digits)  # noqa: PLR0124

    years = {name: None if row[name] != row[name] else int(row[name]) for name in ("first", "last")}
    return {
        "station": row["station"],
        "name": row["name"] if isinstance(row["name"], str) else "",
        "country": row["country"] if isinstance(row["country"], str) else "",
        "latitude": known(row["latitude"], 4),
        "longitude": known(row["longitude"], 4),
        "elevation_m": known(row["elevation"]),
        "distance_km": known(row["distance_km"]),
        "height_difference_m": known(row["height_difference_m"]),
        **years,
        "coverage": known(row["coverage"], 3),
        "expected_error_c": known(row["expected_error"], 2),
    }


def _record(history: History) -> dict[str, Any]:
    origin = history.provenance
    return {
        "station": origin.station,
        "source": origin.source,
        "licence": origin.licence,
        "latitude": origin.latitude,
        "longitude": origin.longitude,
        "elevation_m": origin.elevation,
        "first": f"{history.daily.index[0]:%Y-%m-%d}",
        "last": f"{history.daily.index[-1]:%Y-%m-%d}",
        "days": len(history.daily),
        "coverage": round(history.coverage, 4),
        "notes": list(origin.notes),
    }


def _checked(history: History, every: list[History]) -> dict[str, Any]:
    from chillplan.weather.fill import gap_lengths, held_out_error, neighbours_of
    from chillplan.weather.quality import CHECKS, quality_findings

    near = neighbours_of(history, every)
    errors = held_out_error(history, near)
    findings = [
        {
            "check": finding.check,
            "says": CHECKS[finding.check],
            "variable": finding.variable,
            "count": len(finding.dates),
            "days": [
                [f"{day:%Y-%m-%d}", round(float(value), 2)]
                for day, value in zip(finding.dates, finding.values, strict=True)
            ],
        }
        for finding in quality_findings(history.daily)
    ]
    return {
        **_record(history),
        "missing": {name: int(history.daily[name].isna().sum()) for name in ("tmin", "tmax")},
        "longest_gap": max(
            int(gap_lengths(history.daily[name].to_numpy(dtype=float)).max()) for name in ("tmin", "tmax")
        ),
        "findings": findings,
        "filled_by": "filled from neighbours" if near else "of at most 5 days bridged by a straight line",
        "held_out": {
            name: {"days": error.days, "error_c": _number(error.error), "bias_c": _number(error.bias)}
            for name, error in errors.items()
        },
    }


def _number(value: float) -> float | None:
    return None if value != value else round(value, 2)  # noqa: PLR0124
