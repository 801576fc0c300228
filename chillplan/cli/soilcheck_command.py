"""``chillplan soilcheck``: the seed-zone model against a soil thermometer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli import options as opt
from chillplan.cli.place import PlaceOptions
from chillplan.cli.streams import print_json
from chillplan.errors import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chillplan.errors import Problems
    from chillplan.report.soilcheck import Found
    from chillplan.seasons.soil_stations import Calibrated, Checked, Station
    from chillplan.site import Site
    from chillplan.weather.history import History

__all__ = ["register"]

IgnoreOption = Annotated[
    bool, typer.Option("--ignore-precipitation", help="Do as if the record had temperatures only.")
]
CalibrateOption = Annotated[
    bool,
    typer.Option(
        "--calibrate",
        help="Fit the site to one year of its soil record, judge it on the other days; with --site, write it there.",
    ),
]
WORSE = 1.0  # days of chill by which a calibration may be worse before it is said; our choice [day]
FEWEST_WATER = 0.5  # share of days with precipitation below which a record counts as having none


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("soilcheck", short_help="Hold the seed-zone model against a soil thermometer.")(soilcheck)


MEASURED = opt.Only(but=("terrain", "station_elevation", "between_cells", "offline", "refresh"))


@opt.grouped
def soilcheck(
    *,
    place: Annotated[PlaceOptions, MEASURED],
    season: opt.SeasonOption = None,
    ignore_precipitation: IgnoreOption = False,
    calibrate: CalibrateOption = False,
    output: opt.FormatOption = "table",
    out: Annotated[
        Path | None, typer.Option("--out", help="Folder for a picture of a winter of each station (SVG).")
    ] = None,
) -> None:
    """Compare the seed-zone model with a thermometer record, and fit the site to it.

    The record needs daily air minimum and maximum and a soil temperature at a stated depth. A record of several
    stations gives one row a station. Where the soil record holds most of a year, every ground cover is tried, and the
    one that fits best is suggested if it is clearly better than the one stated.

    Example: chillplan soilcheck --weather logger.csv --latitude 44.1 --longitude -72.3 --depth 5 --calibrate
    """
    from chillplan.cli import values
    from chillplan.cli.loading import tell
    from chillplan.cli.streams import ProgressLine, say_when_compiling
    from chillplan.errors import InputError, Problems
    from chillplan.report.soilcheck import Found
    from chillplan.seasons.soil_covers import try_covers
    from chillplan.seasons.soil_stations import check_stations

    say_when_compiling()
    problems = Problems()
    values.choice(problems, "--format", output, ("table", "json", "csv"))
    winter = values.whole_number(problems, "--season", season, 1800, 2200)
    with ProgressLine() as progress:
        stations, depth_cm = _stations(place, ignore_precipitation, problems)
        progress(f"running the model for {counted(len(stations), 'station')}")
        checked = check_stations(stations, depth_cm)
    if all(one.faults.unit for one in checked):
        raise InputError([f"{one.station.name}: {note}" for one in checked for note in one.faults.notes])
    with ProgressLine() as progress:
        progress("trying the ground covers")
        covers = try_covers(checked, depth_cm)
    tuned: list[Calibrated | None] = [None] * len(checked)
    if calibrate:
        tuned = _calibrated(place.site, checked, depth_cm)
    if out is not None:
        _draw(out, checked, tuned, winter, tell)
    _print([Found(*each) for each in zip(checked, covers, tuned, strict=True)], depth_cm, output)


def _print(stations: list[Found], depth_cm: float, output: str) -> None:
    if output == "json":
        from chillplan.report.soilcheck import json_of

        print_json(json_of(stations, depth_cm))
    elif output == "csv":
        from chillplan.report.soilcheck import csv_of

        print(csv_of(stations), end="")
    else:
        from chillplan.report.soilcheck import print_soilcheck

        print_soilcheck(stations, depth_cm)


def _stations(place: PlaceOptions, dry: bool, problems: Problems) -> tuple[list[Station], float]:
    """Every station of the record that has a soil thermometer, and the depth."""
    from chillplan.cli.loading import _named_site, _numbers
    from chillplan.errors import InputError
    from chillplan.weather.read import read_weather

    numbers = _numbers(place, problems)
    named = _named_site(place, problems)
    histories: list[History] = []
    if not place.weather:
        problems.add("no record was given: pass --weather FILE with daily air and soil temperatures")
    else:
        try:
            histories = read_weather(place.weather, units=place.weather_units, station=place.station)
        except InputError as error:
            problems.extend(error)
    problems.raise_if_any()
    depth_cm = _depth(histories, numbers["depth_cm"], problems)
    problems.raise_if_any()
    column = {history.provenance.station: _soil_column(history, depth_cm) for history in histories}
    kept = [history for history in histories if column[history.provenance.station]]
    if not kept:
        raise InputError(
            f"the record has no soil temperature at {depth_cm:g} cm: give one with a column such as soil_temp_5cm_c"
        )
    stations = []
    for history in kept:
        where = _where(history, numbers, named, place, problems)
        if where is not None:
            stations.append(_station(history, str(column[history.provenance.station]), where, dry))
    problems.raise_if_any()
    return stations, depth_cm


def _depth(histories: Sequence[History], asked: float | None, problems: Problems) -> float:
    if asked is not None:
        return asked
    stated = sorted({history.soil_depth_cm for history in histories if history.soil_depth_cm is not None})
    if len(stated) == 1:
        return stated[0]
    if any("soil_temperature" in history.daily for history in histories):
        why = "does not say its depth" if not stated else f"has several depths ({', '.join(map(str, stated))} cm)"
        problems.add(f"the soil thermometer {why}: pass --depth in cm")
    else:
        problems.add("the record has no soil temperature: give one with a column such as soil_temp_5cm_c")
    return 5.0


def _soil_column(history: History, depth_cm: float) -> str | None:
    named = f"soil_temperature_{depth_cm:g}cm"
    if named in history.daily:
        return named
    if "soil_temperature" in history.daily and history.soil_depth_cm in {None, depth_cm}:
        return "soil_temperature"
    return None


def _where(
    history: History, numbers: dict[str, float | None], named: Site | None, place: PlaceOptions, problems: Problems
) -> Site | None:
    from dataclasses import replace

    from chillplan.cli.loading import _site
    from chillplan.errors import InputError

    try:
        found = _site(place, numbers, named, history)
    except InputError as error:
        problems.extend(error)
        return None
    origin = history.provenance
    if named is None and origin.latitude is not None and origin.longitude is not None:
        found = replace(found, latitude=origin.latitude, longitude=origin.longitude)
    return found


def _station(history: History, column: str, where: Site, dry: bool) -> Station:
    import numpy as np

    from chillplan.seasons.soil_stations import Station

    daily = history.daily
    water = None if dry or "precipitation" not in daily else daily["precipitation"].to_numpy(dtype=float)
    if water is not None and np.isfinite(water).mean() < FEWEST_WATER:
        water = None
    site: dict[str, Any] = {"slope": where.slope, "aspect": where.aspect, "cover": where.cover}
    if where.calibration:
        site["calibration"] = dict(where.calibration)
    return Station(
        name=history.provenance.station,
        latitude=where.latitude,
        elevation=where.elevation or 0.0,
        dates=daily.index.to_numpy(dtype="datetime64[D]"),
        day_of_year=np.asarray(daily.index.day_of_year),  # type: ignore[attr-defined]
        tmin=daily["tmin"].to_numpy(dtype=float),
        tmax=daily["tmax"].to_numpy(dtype=float),
        soil=daily[column].to_numpy(dtype=float),
        precipitation=water,
        snow_depth=None if dry or "snow_depth" not in daily else daily["snow_depth"].to_numpy(dtype=float),
        site=site,
    )


def _calibrated(site: Path | None, checked: list[Checked], depth_cm: float) -> list[Calibrated | None]:
    """Each station fitted, and what was found written down where there is one."""
    from chillplan.cli.loading import tell
    from chillplan.cli.streams import ProgressLine
    from chillplan.seasons.soil_stations import calibrate_stations

    with ProgressLine(silent=0.0) as progress:
        progress(f"fitting {counted(len(checked), 'station')}")
        tuned = calibrate_stations(checked, depth_cm)
    _keep(site, tuned, checked, tell)
    return tuned


def _keep(site: Path | None, tuned: list[Calibrated | None], checked: list[Checked], tell: Any) -> None:
    """Write the fitted parameters into the site file, or say how."""
    for one, fit in zip(checked, tuned, strict=True):
        if fit is None:
            tell(f"{one.station.name}: fewer than 60 good soil values, not calibrated")
    fitted = [fit for fit in tuned if fit is not None]
    if len(fitted) != 1:
        if fitted:
            tell("several stations were calibrated, so no site file was written: pass --station and --site for one")
        return
    before, after = fitted[0].before.chill.error, fitted[0].after.chill.error
    if after > before + WORSE:
        tell(
            f"on the days not fitted the calibration makes the chill of a winter worse, {before:.0f} to {after:.0f} "
            "days off: leave it out, or fit it to a longer record"
        )
    if site is None:
        lines = "\n".join(f"{name} = {value:.4f}" for name, value in fitted[0].parameters.items())
        tell(f"no site file was given; to use the calibration, put this into one:\n[calibration]\n{lines}")
        return
    from chillplan.cli.place import write_site_table

    write_site_table(site, "calibration", {name: round(value, 4) for name, value in fitted[0].parameters.items()})
    tell(f"calibration written into {site}")


def _draw(out: Path, checked: list[Checked], tuned: list[Calibrated | None], winter: int | None, tell: Any) -> None:
    """One picture a station: the winter asked for, else the last whole one."""
    from datetime import date

    import numpy as np

    from chillplan.errors import InputError, quoted
    from chillplan.report.soilcheck import winter_picture
    from chillplan.seasons.cut import season_label
    from chillplan.seasons.soilcheck import winter_spans

    for one, fit in zip(checked, tuned, strict=True):
        station = one.station
        spans = dict(winter_spans(station.dates, station.soil, station.latitude < 0))
        year = winter if winter in spans else max(spans, default=None)
        if year is None:
            tell(f"{station.name}: no whole winter of soil values, no picture")
            continue
        span = spans[year]
        model = one.model if fit is None else fit.model
        kind = "" if fit is None else ", calibrated"
        title = f"{station.name}: ground in winter {season_label(year)}{kind}"
        first = date.fromisoformat(str(station.dates[span][0]))
        air = (station.tmin + station.tmax)[span] / 2
        picture = winter_picture(title, first, air, np.asarray(model)[span], station.soil[span])
        safe = "".join(letter if letter.isalnum() or letter in "-_" else "_" for letter in station.name)
        path = out / f"soil_{safe}_{year}.svg"
        try:
            out.mkdir(parents=True, exist_ok=True)
            path.write_text(picture, encoding="utf-8")
        except OSError as error:
            raise InputError(f"{quoted(path)} cannot be written: {error.strerror}; choose another folder") from error
        if winter is not None and year != winter:
            tell(f"{station.name}: winter {winter} has too few soil values, the last whole one is drawn")
        tell(f"picture written: {path}")
