"""Where the place is and what its weather is: options that several commands share, its clock, its site file."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

import typer

from chillplan.cli.options import Text, option
from chillplan.errors import InputError, quoted
from chillplan.site import Site

__all__ = ["PlaceOptions", "with_time_zone", "write_site_table"]


@dataclass(frozen=True)
class PlaceOptions:
    """What the user said about place and weather, as text."""

    site: Annotated[Path | None, option("--site", "FILE", "Site file (TOML): name, latitude, longitude, …")] = None
    latitude: Annotated[Text, option("--latitude", "DEGREES", "Degrees, south negative.")] = None
    longitude: Annotated[Text, option("--longitude", "DEGREES", "Degrees, west negative.")] = None
    elevation: Annotated[Text, option("--elevation", "METRES", "Metres above sea level.")] = None
    slope: Annotated[Text, option("--slope", "DEGREES", "Steepness in degrees from level.")] = None
    aspect: Annotated[
        Text, option("--aspect", "DEGREES", "Direction the slope faces, degrees clockwise from north.")
    ] = None
    cover: Annotated[
        Text, option("--cover", "WORDS", "bare, short grass, tall grass, leaf mulch, straw mulch or tree canopy.")
    ] = None
    depth: Annotated[Text, option("--depth", "CM", "Depth of the seed zone in cm, 0.5 to 20.")] = None
    terrain: Annotated[
        Text, option("--terrain", "WORDS", "valley floor, slope or crest: whether cold air gathers or drains.")
    ] = None
    weather: Annotated[
        tuple[Path, ...],
        option("--weather", "PATH", "Daily record: file or folder, format recognised; may be repeated."),
    ] = ()
    station: Annotated[Text, option("--station", "NAME", "Station to use where the record holds several.")] = None
    weather_units: Annotated[
        Text,
        option(
            "--weather-units",
            "UNIT",
            "Unit of temperatures in the record where it cannot tell: celsius, tenths, fahrenheit.",
        ),
    ] = None
    station_elevation: Annotated[
        Text,
        option(
            "--station-elevation", "METRES", "Metres above sea level of the station, where the record does not say."
        ),
    ] = None
    between_cells: Annotated[
        bool, typer.Option("--between-cells", help="Gridded weather: between the four cells around, not the nearest.")
    ] = False
    offline: Annotated[bool, typer.Option("--offline", help="Use stored weather only; ask no network.")] = False
    refresh: Annotated[bool, typer.Option("--refresh", help="Fetch the stored weather again.")] = False

    @property
    def says_nothing(self) -> bool:
        """Neither a site nor weather was given."""
        return self.site is None and self.latitude is None and self.longitude is None and not self.weather


def with_time_zone(site: Site) -> Site:
    """The site with the time zone of its coordinates, where it states none.

    Returns
    -------
    Site
        As it was where it states its zone, or none is known there.

    References
    ----------
    Time zone boundaries of OpenStreetMap, simplified, as the library tzfpy carries them: near a border, or where the
    clock is not that of the map, state ``time_zone`` in the site file.
    """
    if site.time_zone is not None:
        return site
    from tzfpy import get_tz

    return replace(site, time_zone=get_tz(site.longitude, site.latitude) or None)


def write_site_table(path: Path, name: str, values: Mapping[str, float]) -> Path:
    """Put a table such as ``[tie]`` or ``[calibration]`` into a site file, whole or not at all.

    Parameters
    ----------
    name : str
        Of the table; one that is there is replaced.

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    import tomlkit

    document = tomlkit.parse(path.read_text(encoding="utf-8"))
    table = tomlkit.table()
    for key, value in values.items():
        table[key] = value
    document[name] = table
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        temporary.write_text(tomlkit.dumps(document), encoding="utf-8")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise InputError(f"site file {quoted(path)} cannot be written: {error.strerror}; check its folder") from error
    return path
