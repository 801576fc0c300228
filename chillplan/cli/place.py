"""The options that say where the place is and what its weather is; several commands share them."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from chillplan.cli import options as opt

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


def with_place(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options of a place where it takes a parameter `place`; it receives what was said.

    Parameters
    ----------
    command : callable
        Has a parameter ``place`` of the type `PlaceOptions`; what stands before it comes before it in the help.
    """
    parameters: list[inspect.Parameter] = []
    for own in inspect.signature(command, eval_str=True).parameters.values():
        parameters += _place_parameters() if own.name == "place" else [own]

    @functools.wraps(command)
    def run(**given: Any) -> None:
        said = {name: given.pop(name) for name in OPTIONS}
        command(place=PlaceOptions(**{**said, "weather": said["weather"] or ()}), **given)

    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {one.name: one.annotation for one in parameters}
    return run


def _place_parameters() -> list[inspect.Parameter]:
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    defaults = {**{one.name: one.default for one in fields(PlaceOptions)}, "weather": None}
    return [inspect.Parameter(name, kind, annotation=OPTIONS[name], default=defaults[name]) for name in OPTIONS]
