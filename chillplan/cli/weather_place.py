"""Place, clock and files of the weather commands, and the grower's own readings of the hillside."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from chillplan.cli.place import PlaceOptions, write_site_table
from chillplan.cli.values import number
from chillplan.errors import InputError, Problems, quoted
from chillplan.site import Site, read_site

if TYPE_CHECKING:
    from chillplan.weather.get import Fetching
    from chillplan.weather.history import History

__all__ = ["asked_place", "fetching", "own_readings", "write_tie", "written"]


def asked_place(place: PlaceOptions, problems: Problems) -> Site:
    """The place asked for; raises every problem found so far.

    Raises
    ------
    InputError
    """
    named: Site | None = None
    if place.site is not None:
        try:
            named = read_site(place.site)
        except InputError as error:
            problems.extend(error)
    north = number(problems, "--latitude", place.latitude, -90, 90, "degrees")
    east = number(problems, "--longitude", place.longitude, -180, 180, "degrees")
    height = number(problems, "--elevation", place.elevation, -450, 8850, "m")
    if place.site is None:
        for option, given in (("--latitude", place.latitude), ("--longitude", place.longitude)):
            if given is None:
                problems.add(f"{option} is missing: give the place in degrees, or --site FILE")
    problems.raise_if_any()
    return Site(
        latitude=north if north is not None else (named.latitude if named else 0.0),
        longitude=east if east is not None else (named.longitude if named else 0.0),
        elevation=height if height is not None else (named.elevation if named else None),
        name=named.name if named else "the site",
    )


def fetching(
    progress: Callable[[int, int, str], None],
    place: PlaceOptions,
    with_model: bool = False,
    must_store: bool = False,
    first_year: int | None = None,
) -> Fetching:
    """How to fetch, now."""
    from chillplan.weather.get import Fetching

    if place.offline and place.refresh:
        raise InputError("--offline and --refresh exclude each other: leave one out")
    return Fetching(
        now=datetime.now(UTC),
        offline=place.offline,
        refresh=place.refresh,
        with_model=with_model,
        must_store=must_store,
        first_year=first_year,
        progress=progress,
    )


def written(folder: Path, name: str, text: str) -> str:
    """Write a file into a folder that is made where it is missing; says where.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{quoted(folder / name)} cannot be written: {error.strerror}; choose another folder"
        ) from error
    return f"Written: {folder / name}"


def write_tie(path: Path, coefficients: Mapping[str, float]) -> Path:
    """Put the table ``[tie]`` into a site file; all else in it stays as it is.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    return write_site_table(path, "tie", coefficients)


_LOGGER_UNITS = {"celsius": "C", "fahrenheit": "F", "kelvin": "K"}
# A day of a logger counts with at least this share of the usual number of readings, and this many. Common practice.
_SHARE, _FEWEST = 0.9, 4


def own_readings(paths: Sequence[Path], units: str | None = None) -> History:
    """Read the grower's own daily minima and maxima.

    Parameters
    ----------
    paths : sequence of pathlib.Path
        A daily table of any format that is read as weather; or files of a logger with several readings a day.
    units : str or None
        Unit of temperature where the file does not say it.

    Raises
    ------
    InputError
        If it is neither; the message is that of the daily table unless it has several readings a day.
    """
    from chillplan.weather.read import read_weather

    try:
        histories = read_weather(paths, units=units)
    except InputError as refusal:
        try:
            return _days_of_logger(paths, units)
        except InputError as error:
            several = any("several hours a day" in problem for problem in refusal.problems)
            raise (error if several else refusal) from error
    if len(histories) > 1:
        raise InputError(f"the readings hold {len(histories)} places: give the file of one thermometer")
    return histories[0]


def _days_of_logger(paths: Sequence[Path], units: str | None) -> History:
    import pandas as pd

    from chillplan.journal.logger_read import read_logger
    from chillplan.weather.check import first_checks
    from chillplan.weather.history import Record, history_of

    records = [read_logger(path, _LOGGER_UNITS.get(units or "")) for path in paths]
    readings = [reading for record in records for reading in record.readings]
    if not readings:
        raise InputError("the logger's file has no readings: check the file")
    moments = pd.DatetimeIndex([one.at for one in readings])
    days = pd.Series([one.temperature for one in readings]).groupby(moments.normalize())
    counts = days.count()
    whole = counts >= max(_FEWEST, _SHARE * float(counts.median()))
    frame = pd.DataFrame({"tmin": days.min(), "tmax": days.max()})[whole].rename_axis("date").reset_index()
    record = Record(
        frame=frame,
        station="own thermometer",
        source="logger",
        file=paths[0].name,
        notes=[note for one in records for note in one.notes],
    )
    return first_checks(history_of([record]))
