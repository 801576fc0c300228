"""Reads grids of daily weather: NetCDF files or Zarr stores, lazily, under the names and units of the house."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import InputError, Problems, SourceError, quoted
from chillplan.region.grid_time import day_numbers
from chillplan.region.grid_units import precipitation_factor, temperature_scale
from chillplan.variables import VARIABLES

__all__ = ["Grid", "grid_of", "read_grid"]

NAMES = {
    "tmin": ("tmin", "tasmin", "tn", "t2m_min", "mn2t", "tmmn", "minimum_temperature", "air_temperature_min"),
    "tmax": ("tmax", "tasmax", "tx", "t2m_max", "mx2t", "tmmx", "maximum_temperature", "air_temperature_max"),
    "precipitation": ("precipitation", "pr", "prcp", "precip", "rr", "tp", "ppt", "rain"),
    "elevation": ("elevation", "orog", "altitude", "height", "topo", "z"),
    "slope": ("slope",),
    "aspect": ("aspect",),
    "land": ("land", "landmask", "land_mask", "mask", "lsm", "sftlf"),
}
JOINING: dict[str, Any] = {"combine_attrs": "drop_conflicts", "compat": "no_conflicts", "join": "exact"}
FIXED = ("elevation", "slope", "aspect", "land")
METHODS = {"tmin": "minimum", "tmax": "maximum"}
RAIN_NAMES = {
    "precipitation_amount",
    "precipitation_flux",
    "lwe_precipitation_rate",
    "lwe_thickness_of_precipitation_amount",
    "rainfall_amount",
}
FIXED_NAMES = {
    "surface_altitude": "elevation",
    "land_binary_mask": "land",
    "land_area_fraction": "land",
}
LOOK_DAYS, LOOK_CELLS = 400, 8  # how much is looked at for the plausibility of values
LOOK_AT = (0.5, 0.2, 0.8)  # and where, as shares of the grid


@dataclass(frozen=True)
class Grid:
    """Daily weather on a grid, in house units, not yet loaded.

    Attributes
    ----------
    data : xarray.Dataset
        ``tmin``, ``tmax`` [°C] and, where known, ``precipitation`` [mm], the dimension ``time`` first and then one or
        two of space; ``latitude`` [degrees]; where known ``elevation`` [m], ``slope`` and
        ``aspect`` [degrees], ``land``.
    days : numpy.ndarray of int, shape (time,)
        Proleptic Gregorian ordinals. [day]
    space : tuple of str
        Names of the dimensions of space.
    source : str
        What was read, for the record.
    notes : tuple of str
        What was decided while reading.
    """

    data: xr.Dataset
    days: NDArray[np.int64]
    space: tuple[str, ...]
    source: str
    notes: tuple[str, ...] = ()


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
    for path in paths:
        if not path.exists():
            raise InputError(f"grid {quoted(path)} is not there: check the path")
    opened = [_open(path) for path in paths]
    try:
        data = opened[0] if len(opened) == 1 else xr.combine_by_coords(opened, **JOINING)
    except (ValueError, xr.MergeError) as error:
        names = ", ".join(path.name for path in paths)
        raise InputError(f"{names} do not fit together: {error}; give files of one grid") from error
    if not isinstance(data, xr.Dataset):
        raise InputError(f"{paths[0].name} holds no named variables: give NetCDF or Zarr with tmin and tmax")
    return grid_of(data, ", ".join(path.name for path in paths))


def _open(path: Path) -> xr.Dataset:
    try:
        if path.is_dir():
            store: xr.Dataset = xr.open_zarr(path)
            return store
        return xr.open_dataset(path, chunks={})
    except (OSError, ValueError, KeyError, FileNotFoundError) as error:
        kind = "Zarr store" if path.is_dir() else "NetCDF file"
        raise SourceError(f"{quoted(path)} cannot be read as a {kind}: {error}; is it whole?") from error


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
    found = {name: _find(data, name) for name in NAMES}
    for name in ("tmin", "tmax"):
        if found[name] is None:
            problems.add(
                f"{quoted(source)} has no {VARIABLES[name].description}: name a variable {name}, or give it the "
                f"standard name air_temperature and the cell methods 'time: {METHODS[name]}' (found: {_listed(data)})"
            )
    latitude = _latitude(data)
    if latitude is None:
        problems.add(f"{quoted(source)} has no latitude: give a coordinate with the units degrees_north")
    problems.raise_if_any()
    assert found["tmin"] is not None and latitude is not None
    time = _time_dimension(data[found["tmin"]])
    on_grid = {dim for dim in data[found["tmin"]].dims if dim != time}
    for name in FIXED:
        # Many grids carry the height of the thermometer, a single number, under such a name.
        key = found[name]
        if key is not None and set(data[key].dims) != on_grid:
            found[name] = None
    variables = _converted(data, {name: key for name, key in found.items() if key}, source, problems)
    if time is None:
        problems.add(f"{quoted(source)}: {found['tmin']} has no time axis; give daily values with a decoded time")
    problems.raise_if_any()
    space = tuple(str(name) for name in data[found["tmin"]].dims if name != time)
    _check_shapes(variables, time, space, source, problems)
    _check_latitude(latitude, space, source, problems)
    days = None
    try:
        days = day_numbers(data[time], source)
    except InputError as error:
        problems.extend(error)
    problems.raise_if_any()
    assert days is not None
    kept = xr.Dataset(
        {name: array.rename({time: "time"}) if time in array.dims else array for name, array in variables.items()}
    )
    kept["latitude"] = (
        latitude.astype(float).broadcast_like(kept["tmin"].isel(time=0, drop=True)).drop_vars(["time"], errors="ignore")
    )
    _check_values(kept, space, source, problems)
    problems.raise_if_any()
    return Grid(kept.transpose("time", *space, missing_dims="ignore"), days, space, source, _notes(kept, found, data))


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
    lower = {str(key).lower(): str(key) for key in data.variables}
    return next((lower[word] for word in NAMES[name] if word in lower), None)


def _latitude(data: xr.Dataset) -> xr.DataArray | None:
    for key, array in data.variables.items():
        units = str(array.attrs.get("units", "")).lower()
        if array.attrs.get("standard_name") == "latitude" or units in {"degrees_north", "degree_north"}:
            return data[key]
    lower = {str(key).lower(): key for key in data.variables}
    return next((data[lower[word]] for word in ("lat", "latitude", "nav_lat") if word in lower), None)


def _time_dimension(array: xr.DataArray) -> str | None:
    for name in array.dims:
        coordinate = array.coords.get(name)
        if coordinate is not None and (coordinate.dtype.kind == "M" or str(name).lower() == "time"):
            return str(name)
    return None


def _converted(data: xr.Dataset, found: dict[str, str], source: str, problems: Problems) -> dict[str, xr.DataArray]:
    result = {}
    for name, key in found.items():
        array, unit = data[key], data[key].attrs.get("units")
        if name in METHODS:
            scale = temperature_scale(unit)
            if scale is None:
                problems.add(_unit_fault(source, key, unit, "temperature", "'K', 'degC' or 'degF'"))
                continue
            array = _linear(array, *scale)
        elif name == "precipitation":
            factor = precipitation_factor(unit)
            if factor is None:
                problems.add(_unit_fault(source, key, unit, "precipitation", "'mm', 'mm/day' or 'kg m-2 s-1'"))
                continue
            array = _linear(array, factor, 0.0)
        elif name == "land":
            array = array >= (50.0 if str(unit) in {"%", "percent"} else 0.5)
        result[name] = array.reset_coords(drop=True)
    return result


def _linear(array: xr.DataArray, factor: float, offset: float) -> xr.DataArray:
    """Scaled and shifted in single precision."""
    result = array.astype(np.float32)
    if factor != 1.0:
        result = result * np.float32(factor)
    return result + np.float32(offset) if offset else result


def _unit_fault(source: str, key: str, unit: object, kind: str, known: str) -> str:
    said = "no units" if unit is None else f"the units {quoted(unit)}, which are not known for {kind}"
    return f"{key} in {quoted(source)} has {said}: set its attribute units to {known}"


def _check_shapes(
    variables: dict[str, xr.DataArray], time: str | None, space: tuple[str, ...], source: str, problems: Problems
) -> None:
    if not 1 <= len(space) <= 2:
        problems.add(
            f"{quoted(source)} has the dimensions {', '.join(space) or 'time only'} beside time: one (places) or two "
            "(rows and columns) are needed; choose one level or member first"
        )
        return
    for name, array in variables.items():
        wanted = set(space) | ({time} if name in {"tmin", "tmax", "precipitation"} else set())
        if set(array.dims) != wanted:
            problems.add(
                f"{name} in {quoted(source)} has the dimensions {tuple(array.dims)}, not {tuple(wanted)}: "
                "give all variables on one grid"
            )


def _check_latitude(latitude: xr.DataArray, space: tuple[str, ...], source: str, problems: Problems) -> None:
    if not set(latitude.dims) <= set(space):
        problems.add(f"latitude in {quoted(source)} has the dimensions {latitude.dims}: it must lie on {space}")
    elif latitude.size and not (np.abs(latitude.values) <= 90.0).all():
        worst = float(latitude.values.flat[int(np.argmax(np.abs(latitude.values)))])
        problems.add(f"latitude {worst:g} in {quoted(source)} is outside -90 to 90: check the coordinate")


def _check_values(data: xr.Dataset, space: tuple[str, ...], source: str, problems: Problems) -> None:
    """Look at a part of the grid: kelvin under the name of °C, and exchanged variables, show there."""
    parts = []
    for share in LOOK_AT:
        middle = {name: int(share * data.sizes[name]) for name in space}
        patch = {name: slice(max(at - LOOK_CELLS // 2, 0), at + LOOK_CELLS // 2 + 1) for name, at in middle.items()}
        parts.append(data[["tmin", "tmax"]].isel({"time": slice(0, LOOK_DAYS, 7), **patch}).load())
    part = {name: np.concatenate([each[name].values.ravel() for each in parts]) for name in ("tmin", "tmax")}
    for name in ("tmin", "tmax"):
        values = part[name][np.isfinite(part[name])]
        low, high = VARIABLES[name].low, VARIABLES[name].high
        outside = values[(values < low) | (values > high)]
        if outside.size:
            problems.add(
                f"{name} of {outside[0]:.1f} °C in {quoted(source)} is outside {low:g} to {high:g} °C: its units "
                "attribute does not fit its values; correct it"
            )
    crossed = float(np.mean(part["tmin"] > part["tmax"] + 0.01))
    if crossed > 0.01:
        problems.add(
            f"tmin is above tmax on {100 * crossed:.0f} % of the days in {quoted(source)}: are the two exchanged?"
        )


def _listed(data: xr.Dataset) -> str:
    return ", ".join(str(name) for name in list(data.data_vars)[:8]) or "nothing"


def _notes(kept: xr.Dataset, found: dict[str, str | None], data: xr.Dataset) -> tuple[str, ...]:
    notes = [f"{name} is {key} [{data[key].attrs.get('units', 'no units')}]" for name, key in found.items() if key]
    if "precipitation" not in kept:
        notes.append("no precipitation: the seed zone is taken to be moist all winter")
    return tuple(notes)
