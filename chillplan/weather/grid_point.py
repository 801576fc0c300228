"""The daily record of one place of a grid: its nearest cell, or between the four cells around."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import xarray as xr

from chillplan.errors import InputError, quoted
from chillplan.weather.grid import DAILY, Grid, read_grid
from chillplan.weather.grid_files import reading
from chillplan.weather.nearness import distance_km
from chillplan.weather.record import Record

__all__ = ["read_grid_point"]

_FARTHEST = 2.0  # cells: a place farther outside the grid is not of it
_FARTHEST_KM = 100.0  # the same where cells do not lie in rows and columns [km]


def read_grid_point(path: Path, latitude: float, longitude: float, method: str = "nearest") -> Record:
    """Read the daily series of one place, under the names and units that a map of the same grid uses.

    Parameters
    ----------
    path : pathlib.Path
        As for `read_grid`.
    latitude, longitude : float
        Of the site; longitudes of the grid may run from 0 to 360. [degrees]
    method : {'nearest', 'bilinear'}
        Value of the nearest cell, or between the four cells around.

    Raises
    ------
    InputError
        As for `read_grid`, or if the grid does not hold the place.
    SourceError
        If the grid cannot be read.
    """
    if method not in {"nearest", "bilinear"}:
        raise InputError(f"method {quoted(method)} is not known: use nearest or bilinear")
    grid = read_grid([path])
    north, east = (_coordinate(grid, name) for name in ("latitude", "longitude"))
    if float(east.max()) > 180.0:
        longitude %= 360.0
    straight = north.dims != east.dims
    if straight:
        for axis, value in ((north, latitude), (east, longitude)):
            _inside(axis, value, path)
    if method == "bilinear":
        if not straight:
            raise InputError(f"{quoted(path)} has no rows and columns of latitude and longitude: take the nearest cell")
        place = _between(grid.data, {str(north.name): latitude, str(east.name): longitude})
    else:
        place = grid.data.isel(_nearest(north, east, latitude, longitude, path))
    with reading(quoted(path)):
        series = place[[name for name in DAILY if name in place]].load()
    height = place["elevation"].item() if "elevation" in place and method == "nearest" else np.nan
    frame = pd.DataFrame({name: series[name].to_numpy().astype(float) for name in series.data_vars})
    frame.insert(0, "date", pd.DatetimeIndex([date.fromordinal(int(day)) for day in grid.days]))
    return Record(
        frame=frame.sort_values("date", ignore_index=True),
        station=f"{path.stem} at {float(place[north.name]):.3f}, {_west(float(place[east.name])):.3f}",
        source="gridded file, nearest cell" if method == "nearest" else "gridded file, between four cells",
        file=path.name,
        licence=str(grid.data.attrs.get("license", grid.data.attrs.get("licence", "not stated"))),
        latitude=float(place[north.name]),
        longitude=_west(float(place[east.name])),
        elevation=None if np.isnan(height) else float(height),
        notes=["The values are those of a grid cell, not of a thermometer.", *(f"{note}." for note in grid.notes)],
    )


def _west(longitude: float) -> float:
    """Between -180 and 180. [degrees]"""
    return (longitude + 180.0) % 360.0 - 180.0


def _coordinate(grid: Grid, name: str) -> xr.DataArray:
    key = next(key for key, one in grid.data.coords.items() if one.attrs.get("standard_name") == name)
    return grid.data[key]


def _inside(axis: xr.DataArray, value: float, path: Path) -> None:
    steps = np.sort(axis.to_numpy().astype(float))
    cell = float(np.median(np.diff(steps))) if steps.size > 1 else 1.0
    if max(steps[0] - value, value - steps[-1]) > _FARTHEST * cell:
        raise InputError(
            f"{axis.name} {value:g} is outside the grid of {quoted(path)}, {steps[0]:g} to {steps[-1]:g}: "
            "check the place"
        )


def _nearest(north: xr.DataArray, east: xr.DataArray, latitude: float, longitude: float, path: Path) -> dict[str, int]:
    """Position of the nearest cell on each axis: straight, turned and listed grids alike."""
    if north.dims != east.dims:
        return {
            str(axis.dims[0]): int(np.abs(axis.to_numpy() - value).argmin())
            for axis, value in ((north, latitude), (east, longitude))
        }
    far = distance_km(latitude, longitude, north.to_numpy(), east.to_numpy())
    if far.min() > _FARTHEST_KM:
        raise InputError(
            f"latitude {latitude:g}, longitude {longitude:g} is {far.min():.0f} km outside the grid of {quoted(path)}: "
            "check the place"
        )
    return {str(dim): int(at) for dim, at in zip(north.dims, np.unravel_index(far.argmin(), far.shape), strict=True)}


def _between(data: xr.Dataset, place: dict[str, float]) -> xr.Dataset:
    """Values between the four cells around."""
    ordered = data[[name for name in DAILY if name in data]].sortby(list(place))
    inside = {name: float(np.clip(value, ordered[name].min(), ordered[name].max())) for name, value in place.items()}
    return ordered.interp(inside, method="linear")
