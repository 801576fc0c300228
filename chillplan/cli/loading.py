"""From options to a site, its history and its seasons."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace

from chillplan.cli.place import PlaceOptions
from chillplan.cli.streams import say_when_compiling
from chillplan.cli.values import choice, number
from chillplan.data_files import data_path
from chillplan.errors import InputError, Problems
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.site import COVERS, TERRAINS, Site, read_site
from chillplan.weather.history import History
from chillplan.weather.move import move_to_site

__all__ = ["DEMO_LIST", "Loaded", "PlaceOptions", "load", "tell", "tell_if_invented"]

DEMO_LIST = "demo_list.csv"
DEMO_SITE = "demo_site.toml"
DEMO_WEATHER = "demo_weather.csv"


@dataclass(frozen=True)
class Loaded:
    """A site with its history, moved to the site, and the seasons cut from it."""

    site: Site
    history: History
    seasons: Seasons
    demo: bool


def tell(text: str) -> None:
    """Say something beside the result, on standard error."""
    print(text, file=sys.stderr)


def tell_if_invented(loaded: Loaded) -> None:
    """Say that the weather is the demo's, for answers that have no place for saying it."""
    if loaded.demo:
        tell("The weather is INVENTED (embedded demo): give a site and weather for your own.")


def load(place: PlaceOptions, years: tuple[int, int] | None, problems: Problems) -> Loaded:
    """Read everything about a place.

    Parameters
    ----------
    years : tuple of int, optional
        First and last season to use.
    problems : Problems
        Faults found before; they are raised together with those found here.

    Raises
    ------
    InputError, DataGapError
    """
    if place.says_nothing:
        problems.raise_if_any()
        say_when_compiling()
        return _load_demo(years)
    numbers = _numbers(place, problems)
    for option, word, known in (("--cover", place.cover, COVERS), ("--terrain", place.terrain, TERRAINS)):
        if word is not None:
            choice(problems, option, word, known)
    site = _named_site(place, problems)
    history = _history(place, numbers, site, problems)
    problems.raise_if_any()
    assert history is not None
    history = _with_height(history, numbers["station_elevation"])
    site = _site(place, numbers, site, history)
    history = move_to_site(history, site)
    say_when_compiling()
    return Loaded(site, history, cut_seasons(history.daily, site.southern, years), demo=False)


def _load_demo(years: tuple[int, int] | None) -> Loaded:
    from chillplan.weather.read import read_weather

    site = read_site(data_path(DEMO_SITE))
    history = read_weather([data_path(DEMO_WEATHER)])[0]
    invented = replace(
        history.provenance,
        source="invented weather of the embedded demo, from a seeded generator",
        station="invented",
        latitude=site.latitude,
        longitude=site.longitude,
        elevation=site.elevation,
        licence="same licence as the program",
        invented=True,
    )
    history = replace(history, provenance=invented)
    return Loaded(site, history, cut_seasons(history.daily, site.southern, years), demo=True)


def _numbers(place: PlaceOptions, problems: Problems) -> dict[str, float | None]:
    return {
        "latitude": number(problems, "--latitude", place.latitude, -90, 90, "degrees"),
        "longitude": number(problems, "--longitude", place.longitude, -180, 180, "degrees"),
        "elevation": number(problems, "--elevation", place.elevation, -450, 8850, "m"),
        "slope": number(problems, "--slope", place.slope, 0, 60, "degrees"),
        "aspect": number(problems, "--aspect", place.aspect, 0, 360, "degrees"),
        "depth_cm": number(problems, "--depth", place.depth, 0.5, 20, "cm"),
        "station_elevation": number(problems, "--station-elevation", place.station_elevation, -450, 8850, "m"),
    }


def _named_site(place: PlaceOptions, problems: Problems) -> Site | None:
    if place.site is None:
        return None
    try:
        return read_site(place.site)
    except InputError as error:
        problems.extend(error)
        return None


def _history(
    place: PlaceOptions, numbers: dict[str, float | None], site: Site | None, problems: Problems
) -> History | None:
    from chillplan.weather.read import load_history

    latitude = numbers["latitude"] if numbers["latitude"] is not None else (site.latitude if site else None)
    longitude = numbers["longitude"] if numbers["longitude"] is not None else (site.longitude if site else None)
    if not place.weather:
        if latitude is None or longitude is None or problems.found:
            problems.add("no weather was given: pass --weather FILE, or --latitude and --longitude to fetch it")
            return None
        height = numbers["elevation"] if numbers["elevation"] is not None else (site.elevation if site else None)
        return _fetched(place, latitude, longitude, height)
    try:
        return load_history(
            place.weather,
            units=place.weather_units,
            station=place.station,
            latitude=latitude,
            longitude=longitude,
            between_cells=place.between_cells,
        )
    except InputError as error:
        problems.extend(error)
        return None


def _with_height(history: History, elevation: float | None) -> History:
    """The history with its station's height as the user gives it."""
    if elevation is None:
        return history
    return replace(history, provenance=replace(history.provenance, elevation=elevation))


def _fetched(place: PlaceOptions, latitude: float, longitude: float, elevation: float | None) -> History:
    """The history of the best station near, from the store or the source."""
    from chillplan.cli.streams import progress_bar
    from chillplan.cli.weather_place import fetching
    from chillplan.weather.get import history_at

    with progress_bar("Fetching weather") as progress:
        how = fetching(progress, place)
        history = history_at(latitude, longitude, elevation, how, station=place.station)
    tell(f"Weather: {history.provenance.station}, {history.provenance.source}.")
    return history


def _site(place: PlaceOptions, numbers: dict[str, float | None], site: Site | None, history: History) -> Site:
    """The named site, or the station's own place, with single values overridden."""
    origin = history.provenance
    values: dict[str, object] = {
        name: value for name, value in numbers.items() if value is not None and name != "station_elevation"
    }
    for name in ("cover", "terrain"):
        if getattr(place, name) is not None:
            values[name] = getattr(place, name)
    if site is not None:
        return replace(site, **values)  # type: ignore[arg-type]
    problems = Problems()
    for name in ("latitude", "longitude"):
        if name not in values:
            values[name] = getattr(origin, name)
            if values[name] is None:
                problems.add(f"--{name} is missing and the record does not say it: pass --{name} in degrees")
    problems.raise_if_any()
    if "elevation" not in values and numbers["latitude"] is None:
        values["elevation"] = origin.elevation
    return Site(name=origin.station, **values)  # type: ignore[arg-type]
