"""Where the place is and what its weather is: options that several commands share, its clock, its site file."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from chillplan.cli import options as opt
from chillplan.cli.options import with_group
from chillplan.errors import InputError, quoted
from chillplan.site import Site

__all__ = ["NOWHERE", "PlaceOptions", "with_place", "with_time_zone", "write_site_table"]


@dataclass(frozen=True)
class PlaceOptions:
    """What the user said about place and weather, as text."""

    site: Path | None = None
    latitude: str | None = None
    longitude: str | None = None
    elevation: str | None = None
    slope: str | None = None
    aspect: str | None = None
    cover: str | None = None
    depth: str | None = None
    weather: Sequence[Path] = ()
    station: str | None = None
    weather_units: str | None = None
    offline: bool = False
    refresh: bool = False
    station_elevation: str | None = None
    terrain: str | None = None
    between_cells: bool = False

    @property
    def says_nothing(self) -> bool:
        """Neither a site nor weather was given."""
        return self.site is None and self.latitude is None and self.longitude is None and not self.weather


NOWHERE = PlaceOptions()

OPTIONS: dict[str, Any] = {
    "site": opt.SiteOption,
    "latitude": opt.LatitudeOption,
    "longitude": opt.LongitudeOption,
    "elevation": opt.ElevationOption,
    "slope": opt.SlopeOption,
    "aspect": opt.AspectOption,
    "cover": opt.CoverOption,
    "depth": opt.DepthOption,
    "terrain": opt.TerrainOption,
    "weather": opt.WeatherOption,
    "station": opt.StationOption,
    "weather_units": opt.WeatherUnitOption,
    "station_elevation": opt.StationElevationOption,
    "between_cells": opt.BetweenCellsOption,
    "offline": opt.OfflineOption,
    "refresh": opt.RefreshOption,
}


with_place = with_group("place", PlaceOptions, OPTIONS)
"""Give a command the options of a place where it takes a parameter ``place``."""


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
