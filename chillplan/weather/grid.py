"""Reads grids of daily weather: NetCDF files or Zarr stores, lazily, under the names of the house, or one place."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import InputError, Problems, quoted
from chillplan.variables import VARIABLES
from chillplan.weather.grid_files import NO_DAY, day_numbers, lost_chunks, open_together, reading, stamp_of
from chillplan.weather.grid_values import (
    METHODS,
    STEEPEST,
    check_degrees,
    check_shapes,
    check_values,
    converted,
    terrain_notes,
)
from chillplan.weather.history import Record
from chillplan.weather.nearness import distance_km
from chillplan.weather.read_columns import column_of

__all__ = ["Grid", "grid_of", "read_grid", "read_grid_point"]

DAILY = ("tmin", "tmax", "precipitation")
FIXED = ("elevation", "slope", "aspect", "land")
LAND = {"land", "landmask", "land_mask", "mask", "lsm", "sftlf"}
DEGREES = {"latitude": "degrees_north", "longitude": "degrees_east"}
RAIN_NAMES = {
    "precipitation_amount",
    "precipitation_flux",
    "lwe_precipitation_rate",
    "lwe_thickness_of_precipitation_amount",
    "rainfall_amount",
}
FIXED_NAMES = {
    "surface_altitude": "elevation",
    "ground_slope_angle": "slope",
    "ground_slope_direction": "aspect",
    "land_binary_mask": "land",
    "land_area_fraction": "land",
}


@dataclass(frozen=True)
class Grid:
    """Daily weather on a grid, in house units, not yet loaded.

    Attributes
    ----------
    data : xarray.Dataset
        ``tmin``, ``tmax`` [°C] and, where known, ``precipitation`` [mm], the dimension ``time`` first and then one or
        two of space; ``latitude_of_place`` [degrees]; where known ``elevation`` [m], ``slope`` and
        ``aspect`` [degrees], ``land``.
    days : numpy.ndarray of int, shape (time,)
        Proleptic Gregorian ordinals. [day]
    space : tuple of str
        Names of the dimensions of space.
    source : str
        What was read, for the record.
    notes : tuple of str
        What was decided while reading.
    stamp : str
        Sizes and times of the files, by which a changed grid is known; empty where it was not read from disk.
    projection : xarray.DataArray or None
        What maps rows and columns to the globe, after the CF conventions.
    names : mapping of str to str
        Names of the variables in the files.
    """

    data: xr.Dataset
    days: NDArray[np.int64]
    space: tuple[str, ...]
    source: str
    notes: tuple[str, ...] = ()
    stamp: str = ""
    projection: xr.DataArray | None = None
    names: Mapping[str, str] = field(default_factory=dict)


def read_grid(paths: Sequence[Path]) -> Grid:
    """Open NetCDF files or one Zarr store.

    Parameters
    ----------
    paths : sequence of pathlib.Path
        Files that together hold the variables; several files of a variable are joined along time.

    Raises
    ------
    InputError
        With everything that is wrong with the grid.
    SourceError
        If a file cannot be read.
    """
    grid = grid_of(open_together(paths), ", ".join(path.name for path in paths))
    lost = lost_chunks(
        paths, [str(grid.names[name]) for name in ("tmin", "tmax", "precipitation") if name in grid.names]
    )
    return replace(grid, notes=(*grid.notes, *lost), stamp=stamp_of(paths))


def grid_of(data: xr.Dataset, source: str) -> Grid:
    """Bring an open data set under the names and units of the house.

    Parameters
    ----------
    data : xarray.Dataset
        Variables told by CF standard names and cell methods, else by usual names; units by attribute.
    source : str
        For messages and the record.

    Raises
    ------
    InputError
        With everything that is wrong.
    """
    problems = Problems()
    found = _found(data, source, problems)
    north, east = (_place_coordinate(data, name, source, problems) for name in DEGREES)
    problems.raise_if_any()
    time = _time_dimension(data[found["tmin"]])
    space = tuple(str(name) for name in data[found["tmin"]].dims if name != time)
    # Many grids carry the height of the thermometer, a single number, under the name of a height.
    found = {name: key for name, key in found.items() if name not in FIXED or set(data[key].dims) == set(space)}
    variables = converted(data, found, source, problems)
    if time is None:
        problems.add(f"{quoted(source)}: {found['tmin']} has no time axis; give daily values with a decoded time")
    problems.raise_if_any()
    check_shapes(variables, time, space, source, problems)
    check_degrees(north, "latitude", (-90.0, 90.0), space, source, problems)
    check_degrees(east, "longitude", (-360.0, 360.0), space, source, problems)
    days = np.empty(0, np.int64)
    try:
        days = day_numbers(data[time], source)
    except InputError as error:
        problems.extend(error)
    problems.raise_if_any()
    kept = _joined(variables, time, north, east).isel(time=np.flatnonzero(days != NO_DAY))
    kept.attrs = {name: value for name, value in data.attrs.items() if name in {"license", "licence"}}
    check_values(kept, space, source, problems)
    problems.raise_if_any()
    return Grid(
        kept.transpose("time", *space, missing_dims="ignore"),
        days[days != NO_DAY],
        space,
        source,
        _notes(kept, found, data),
        projection=_projection(data, found["tmin"]),
        names=found,
    )


def _found(data: xr.Dataset, source: str, problems: Problems) -> dict[str, str]:
    """The variable in the files for each quantity that is there."""
    found = {name: key for name in (*DAILY, *FIXED) if (key := _find(data, name)) is not None}
    for name in METHODS:
        if name not in found:
            listed = ", ".join(str(each) for each in list(data.data_vars)[:8]) or "nothing"
            problems.add(
                f"{quoted(source)} has no {VARIABLES[name].description}: name a variable {name}, or give it the "
                f"standard name air_temperature and the cell methods 'time: {METHODS[name]}' (found: {listed})"
            )
    return found


def _joined(variables: dict[str, xr.DataArray], time: Hashable, north: xr.DataArray, east: xr.DataArray) -> xr.Dataset:
    """All variables on one grid, with the latitude of each place, and no land where it is too steep."""
    kept = xr.Dataset(
        {name: array.rename({time: "time"}) if time in array.dims else array for name, array in variables.items()}
    )
    if "slope" in kept:
        gentle = ~(kept["slope"] > STEEPEST)
        kept["land"] = kept["land"] & gentle if "land" in kept else gentle
    kept = kept.assign_coords(
        {
            str(one.name): (one.dims, one.values, {**one.attrs, "standard_name": name, "units": unit})
            for one, (name, unit) in zip((north, east), DEGREES.items(), strict=True)
        }
    )
    everywhere = kept["tmin"].isel(time=0, drop=True)
    kept["latitude_of_place"] = kept[str(north.name)].astype(float).broadcast_like(everywhere)
    return kept


def _projection(data: xr.Dataset, key: str) -> xr.DataArray | None:
    name = data[key].attrs.get("grid_mapping") or data[key].encoding.get("grid_mapping")
    return data[name].reset_coords(drop=True) if isinstance(name, str) and name in data.variables else None


def _find(data: xr.Dataset, name: str) -> str | None:
    """The variable that holds a quantity: by standard name first, then by usual names."""
    for key, array in data.variables.items():
        standard = str(array.attrs.get("standard_name", ""))
        methods = str(array.attrs.get("cell_methods", "")).lower()
        if name in METHODS and standard == "air_temperature" and f"time: {METHODS[name]}" in methods:
            return str(key)
        if name == "precipitation" and standard in RAIN_NAMES and array.ndim > 1:
            return str(key)
        if FIXED_NAMES.get(standard) == name:
            return str(key)
    return next((str(key) for key in data.variables if name in _usual(str(key))), None)


def _usual(key: str) -> set[str]:
    """What a name alone says, by the same table as the header of a column."""
    column = column_of(key)
    return ({column.variable} if column else set()) | ({"land"} if key.lower() in LAND else {key.lower()})


def _place_coordinate(data: xr.Dataset, name: str, source: str, problems: Problems) -> xr.DataArray:
    """Latitude or longitude: by standard name or unit first, then by usual names."""
    unit = DEGREES[name]
    for key, array in data.variables.items():
        said = str(array.attrs.get("units", "")).lower()
        if array.attrs.get("standard_name") == name or said in {unit, unit.replace("degrees", "degree")}:
            return data[key]
    lower = {str(key).lower(): key for key in data.variables}
    for word in (name[:3], name, f"nav_{name[:3]}"):
        if word in lower:
            return data[lower[word]]
    problems.add(f"{quoted(source)} has no {name}: give a coordinate with the units {unit}")
    return xr.DataArray()


def _time_dimension(array: xr.DataArray) -> str | None:
    for name in array.dims:
        coordinate = array.coords.get(name)
        if coordinate is not None and (coordinate.dtype.kind == "M" or str(name).lower() == "time"):
            return str(name)
    return None


def _notes(kept: xr.Dataset, found: dict[str, str], data: xr.Dataset) -> tuple[str, ...]:
    notes = [f"{name} is {key} [{data[key].attrs.get('units', 'no units')}]" for name, key in found.items()]
    if "precipitation" not in kept:
        notes.append("no precipitation: the seed zone is taken to be moist all winter")
    return (*notes, *terrain_notes(kept))


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
