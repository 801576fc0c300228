"""The options that say where the place is and what its weather is; several commands share them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from chillplan.cli import options as opt
from chillplan.cli.grouped import with_group

__all__ = ["NOWHERE", "PlaceOptions", "with_place"]


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
