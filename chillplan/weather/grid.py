"""Reads grids of daily weather: NetCDF files or Zarr stores, lazily, under the names and units of the house."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import InputError, Problems, quoted
from chillplan.variables import VARIABLES
from chillplan.weather.check import EXCHANGED, ROUNDING
from chillplan.weather.grid_files import lost_chunks, open_together, reading, stamp_of
from chillplan.weather.grid_terrain import STEEPEST, terrain_in_house_units, terrain_notes
from chillplan.weather.grid_time import NO_DAY, day_numbers
from chillplan.weather.read_columns import column_of
from chillplan.weather.units import to_celsius, to_millimetres, unit_of

__all__ = ["Grid", "grid_of", "read_grid"]

DAILY = ("tmin", "tmax", "precipitation")
FIXED = ("elevation", "slope", "aspect", "land")
LAND = {"land", "landmask", "land_mask", "mask", "lsm", "sftlf"}
DEGREES = {"latitude": "degrees_north", "longitude": "degrees_east"}
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
    "ground_slope_angle": "slope",
    "ground_slope_direction": "aspect",
    "land_binary_mask": "land",
    "land_area_fraction": "land",
}
LOOK_DAYS, LOOK_CELLS = 400, 8  # how much is looked at for the plausibility of values
LEAST_RAIN = 0.01  # wettest day of hundreds where precipitation is in its unit [mm]
MOST_OUTSIDE = 0.01  # share beyond the records of the world up to which single values are at fault, not the unit [-]
MOST_ALIKE = 0.2  # share of days on which the two may be the same [-]
LOOK_AT = (0.5, 0.2, 0.8)  # and where, as shares of the grid


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
    found = {name: _find(data, name) for name in (*DAILY, *FIXED)}
    for name in ("tmin", "tmax"):
        if found[name] is None:
            problems.add(
                f"{quoted(source)} has no {VARIABLES[name].description}: name a variable {name}, or give it the "
                f"standard name air_temperature and the cell methods 'time: {METHODS[name]}' (found: {_listed(data)})"
            )
    latitude, longitude = (_place_coordinate(data, name) for name in DEGREES)
    for name, coordinate in zip(DEGREES, (latitude, longitude), strict=True):
        if coordinate is None:
            problems.add(f"{quoted(source)} has no {name}: give a coordinate with the units {DEGREES[name]}")
    problems.raise_if_any()
    assert found["tmin"] is not None and latitude is not None and longitude is not None
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
    _check_degrees(latitude, "latitude", (-90.0, 90.0), space, source, problems)
    _check_degrees(longitude, "longitude", (-360.0, 360.0), space, source, problems)
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
    if "slope" in kept:
        gentle = ~(kept["slope"] > STEEPEST)
        kept["land"] = kept["land"] & gentle if "land" in kept else gentle
    kept = kept.assign_coords(
        {
            str(one.name): (one.dims, one.values, {**one.attrs, "standard_name": name, "units": DEGREES[name]})
            for name, one in zip(DEGREES, (latitude, longitude), strict=True)
        }
    )
    if (days == NO_DAY).any():
        kept, days = kept.isel(time=np.flatnonzero(days != NO_DAY)), days[days != NO_DAY]
    kept.attrs = {name: value for name, value in data.attrs.items() if name in {"license", "licence"}}
    everywhere = kept["tmin"].isel(time=0, drop=True)
    kept["latitude_of_place"] = kept[str(latitude.name)].astype(float).broadcast_like(everywhere)
    _check_values(kept, space, source, problems)
    problems.raise_if_any()
    return Grid(
        kept.transpose("time", *space, missing_dims="ignore"),
        days,
        space,
        source,
        _notes(kept, found, data),
        projection=_projection(data, found["tmin"]),
        names={name: key for name, key in found.items() if key},
    )


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


def _place_coordinate(data: xr.Dataset, name: str) -> xr.DataArray | None:
    """Latitude or longitude: by standard name or unit first, then by usual names."""
    unit = DEGREES[name]
    for key, array in data.variables.items():
        said = str(array.attrs.get("units", "")).lower()
        if array.attrs.get("standard_name") == name or said in {unit, unit.replace("degrees", "degree")}:
            return data[key]
    lower = {str(key).lower(): key for key in data.variables}
    return next((data[lower[word]] for word in (name[:3], name, f"nav_{name[:3]}") if word in lower), None)


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
        column = column_of(key)
        said = unit if unit is not None or column is None else column.unit
        if name in METHODS:
            named = unit_of(said, "temperature")
            if named is None:
                problems.add(_unit_fault(source, key, unit, "temperature", "'K', 'degC' or 'degF'"))
                continue
            array = to_celsius(array.astype(np.float32), named)
        elif name == "precipitation":
            named = unit_of(said, "precipitation")
            if named is None:
                problems.add(_unit_fault(source, key, unit, "precipitation", "'mm', 'mm/day' or 'kg m-2 s-1'"))
                continue
            array = to_millimetres(array.astype(np.float32), named)
            array = array.where(~((array < 0.0) & (array > -LEAST_RAIN)), np.float32(0.0))  # rounding of packed values
        elif name in {"elevation", "slope", "aspect"}:
            array = terrain_in_house_units(name, array, source, problems)
        elif name == "land":
            array = array >= (50.0 if str(unit) in {"%", "percent"} else 0.5)
        result[name] = array.reset_coords(drop=True)
    return result


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


def _check_degrees(
    array: xr.DataArray,
    name: str,
    limits: tuple[float, float],
    space: tuple[str, ...],
    source: str,
    problems: Problems,
) -> None:
    values = np.asarray(array.values, dtype=float)
    if not set(array.dims) <= set(space):
        problems.add(f"{name} in {quoted(source)} has the dimensions {array.dims}: it must lie on {space}")
    elif not ((values >= limits[0]) & (values <= limits[1])).all():
        worst = values.flat[int(np.argmax(np.where(np.isnan(values), np.inf, np.abs(values))))]
        problems.add(
            f"{name} {'nothing (NaN)' if np.isnan(worst) else f'{worst:g}'} in {quoted(source)} is outside "
            f"{limits[0]:g} to {limits[1]:g}: check the coordinate"
        )


def _check_values(data: xr.Dataset, space: tuple[str, ...], source: str, problems: Problems) -> None:
    """Look at a part of the grid: kelvin under the name of °C, and exchanged variables, show there."""
    daily = [name for name in ("tmin", "tmax", "precipitation") if name in data]
    parts = []
    for share in LOOK_AT:
        middle = {name: int(share * data.sizes[name]) for name in space}
        patch = {name: slice(max(at - LOOK_CELLS // 2, 0), at + LOOK_CELLS // 2 + 1) for name, at in middle.items()}
        for days in (slice(0, LOOK_DAYS, 7), slice(-LOOK_DAYS, None, 7)):
            with reading(quoted(source)):
                parts.append(data[daily].isel({"time": days, **patch}).load())
    part = {name: np.concatenate([each[name].values.ravel() for each in parts]) for name in daily}
    for name in daily:
        values = part[name][np.isfinite(part[name])]
        low, high, unit = VARIABLES[name].low, VARIABLES[name].high, VARIABLES[name].unit
        outside = values[(values < low) | (values > high)]
        if outside.size > MOST_OUTSIDE * values.size:
            problems.add(
                f"{name} of {outside[0]:.1f} {unit} in {quoted(source)} is outside {low:g} to {high:g} {unit}: its "
                "units attribute does not fit its values, or missing values are not marked as such; correct it"
            )
        elif name == "precipitation" and 0.0 < values.max(initial=0.0) < LEAST_RAIN:
            problems.add(
                f"precipitation of at most {values.max():.2g} mm a day in {quoted(source)} is less than any climate "
                "has: its units attribute does not fit its values; correct it"
            )
    alike = float((part["tmin"] == part["tmax"]).sum() / max(np.isfinite(part["tmin"]).sum(), 1))
    if alike > MOST_ALIKE:
        problems.add(
            f"tmin equals tmax on {100 * alike:.0f} % of the days in {quoted(source)}: the file was written in part "
            "only, or one is a copy of the other"
        )
    crossed = float(np.mean(part["tmin"] > part["tmax"] + ROUNDING))
    if crossed > EXCHANGED:
        problems.add(
            f"tmin is above tmax on {100 * crossed:.0f} % of the days in {quoted(source)}: are the two exchanged?"
        )


def _listed(data: xr.Dataset) -> str:
    return ", ".join(str(name) for name in list(data.data_vars)[:8]) or "nothing"


def _notes(kept: xr.Dataset, found: dict[str, str | None], data: xr.Dataset) -> tuple[str, ...]:
    notes = [f"{name} is {key} [{data[key].attrs.get('units', 'no units')}]" for name, key in found.items() if key]
    if "precipitation" not in kept:
        notes.append("no precipitation: the seed zone is taken to be moist all winter")
    return (*notes, *terrain_notes(kept))
