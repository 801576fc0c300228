"""Reads one point of a gridded file (NetCDF or Zarr) with names of the Climate and Forecast (CF) conventions."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.weather.check import first_checks
from chillplan.weather.fill import fill_short_gaps
from chillplan.weather.history import History
from chillplan.weather.history_of import history_of
from chillplan.weather.record import Record

if TYPE_CHECKING:
    import xarray

__all__ = ["is_grid", "read_grid_point"]

_NAMES = {
    "tmin": ("tasmin", "tmin", "tn", "mn2t", "t2m_min", "minimum_temperature", "air_temperature_min"),
    "tmax": ("tasmax", "tmax", "tx", "mx2t", "t2m_max", "maximum_temperature", "air_temperature_max"),
    "precipitation": ("pr", "precip", "precipitation", "rr", "tp", "prcp"),
    "snow_depth": ("snd", "snow_depth", "sd"),
}
_CELL_METHOD = {"tmin": "minimum", "tmax": "maximum"}
_AXES = {"latitude": ("lat", "latitude", "y"), "longitude": ("lon", "longitude", "x"), "time": ("time", "day", "date")}
_DAY_S = 86400.0
_FARTHEST = 2.0  # cells: a point farther outside the grid is not of it


def is_grid(path: Path) -> bool:
    """Whether a path looks like a gridded file: NetCDF by ending or content, Zarr as a folder."""
    if path.is_dir():
        return any((path / name).exists() for name in (".zgroup", ".zmetadata", "zarr.json", ".zattrs"))
    if path.suffix.lower() in {".nc", ".nc4", ".netcdf", ".cdf"}:
        return True
    if not path.is_file():
        return False
    with path.open("rb") as file:
        start = file.read(8)
    return start[:3] == b"CDF" or start[:4] == b"\x89HDF"


def read_grid_point(path: Path, latitude: float, longitude: float, method: str = "nearest") -> History:
    """Read the daily series of one point.

    Parameters
    ----------
    path : pathlib.Path
        NetCDF file or Zarr folder with daily minimum and maximum on latitude and longitude.
    latitude, longitude : float
        Of the site; longitudes of the grid may run from 0 to 360. [degrees]
    method : {'nearest', 'bilinear'}
        Value of the nearest cell, or between the four cells around.

    Returns
    -------
    History
        Units are converted by the attribute ``units``; 29 February is missing in calendars without it.

    Raises
    ------
    InputError
        If the file cannot be read, lacks a variable or an axis, states no unit, or does not hold the point.
    """
    import xarray

    if method not in {"nearest", "bilinear"}:
        raise InputError(f"method {quoted(method)} is not known: use nearest or bilinear")
    try:
        dataset = xarray.open_zarr(path) if path.is_dir() else xarray.open_dataset(path, decode_timedelta=False)
    except (OSError, ValueError, KeyError) as error:
        raise InputError(f"gridded file {quoted(path)} cannot be read: {str(error).splitlines()[0]}") from error
    with dataset:
        axes = {name: _axis(dataset, name, path) for name in _AXES}
        dataset, notes = _on_real_days(dataset, axes["time"])
        found = {name: _variable(dataset, name) for name in _NAMES}
        for name in ("tmin", "tmax"):
            if found[name] is None:
                listed = ", ".join(map(str, dataset.data_vars))
                raise InputError(
                    f"gridded file {quoted(path)} has no daily {_CELL_METHOD[name]} of air temperature among {listed}: "
                    f"name it {_NAMES[name][0]}, or give it cell_methods 'time: {_CELL_METHOD[name]}'"
                )
        series = {
            name: _at_point(variable, axes, latitude, longitude, method, path)
            for name, variable in found.items()
            if variable is not None
        }
        frame = pd.DataFrame({"date": _days(dataset[axes["time"]], path)})
        for name, point in series.items():
            frame[name] = _converted(np.asarray(point.values, dtype=float), point.attrs.get("units"), name, path)
        chosen = next(iter(series.values()))
        place = (float(chosen[axes["latitude"]]), float(chosen[axes["longitude"]]))
    record = Record(
        frame=frame,
        station=f"{path.stem} at {latitude:.3f}, {longitude:.3f}",
        source="gridded file, nearest cell" if method == "nearest" else "gridded file, between four cells",
        file=path.name,
        licence=str(dataset.attrs.get("license", dataset.attrs.get("licence", "not stated"))),
        latitude=place[0],
        longitude=(place[1] + 180.0) % 360.0 - 180.0,
        notes=["The values are those of a grid cell, not of a thermometer.", *notes],
    )
    return fill_short_gaps(first_checks(history_of([record])))


def _axis(dataset: xarray.Dataset, name: str, path: Path) -> str:
    for coordinate in dataset.coords:
        if dataset[coordinate].attrs.get("standard_name") == name and dataset[coordinate].ndim == 1:
            return str(coordinate)
    for candidate in _AXES[name]:
        if candidate in dataset.coords and dataset[candidate].ndim == 1:
            return candidate
    raise InputError(
        f"gridded file {quoted(path)} has no axis for {name}: only grids on latitude and longitude can be read"
    )


def _variable(dataset: xarray.Dataset, name: str) -> xarray.DataArray | None:
    by_name = {str(label).lower(): str(label) for label in dataset.data_vars}
    for candidate in _NAMES[name]:
        if candidate in by_name:
            return dataset[by_name[candidate]]
    wanted = _CELL_METHOD.get(name)
    for label in dataset.data_vars:
        attributes = dataset[label].attrs
        if (
            wanted
            and attributes.get("standard_name") == "air_temperature"
            and wanted in attributes.get("cell_methods", "")
        ):
            return dataset[label]
    return None


def _at_point(
    variable: xarray.DataArray, axes: dict[str, str], latitude: float, longitude: float, method: str, path: Path
) -> xarray.DataArray:
    wanted = {axes["latitude"]: latitude, axes["longitude"]: longitude}
    if float(variable[axes["longitude"]].max()) > 180.0:
        wanted[axes["longitude"]] = longitude % 360.0
    for axis, value in wanted.items():
        steps = np.sort(variable[axis].to_numpy().astype(float))
        cell = float(np.median(np.diff(steps))) if steps.size > 1 else 1.0
        outside = max(float(steps[0]) - value, value - float(steps[-1]), 0.0)
        if outside > _FARTHEST * cell:
            raise InputError(
                f"{axis} {value:g} is outside the grid of {quoted(path)}, {steps[0]:g} to {steps[-1]:g}: "
                "check the place"
            )
    rest = {str(axis): 0 for axis in variable.dims if axis not in axes.values()}
    flat = variable.isel(rest)
    if method == "bilinear":
        ordered = flat.sortby([axes["latitude"], axes["longitude"]])
        inside = {
            axis: float(np.clip(value, ordered[axis].to_numpy().min(), ordered[axis].to_numpy().max()))
            for axis, value in wanted.items()
        }
        return ordered.interp(inside, method="linear").assign_attrs(variable.attrs)
    return flat.sel(wanted, method="nearest")


def _on_real_days(dataset: xarray.Dataset, time: str) -> tuple[xarray.Dataset, list[str]]:
    """A calendar of twelve months of 30 days is spread over the real year; five days a year stay missing."""
    if np.issubdtype(dataset[time].dtype, np.datetime64) or dataset[time].dt.calendar != "360_day":
        return dataset, []
    spread = dataset.convert_calendar("standard", dim=time, align_on="year")
    return spread, ["The calendar of 360 days was spread over the real year."]


def _days(time: xarray.DataArray, path: Path) -> pd.Series:
    """Days of the time axis, midnight."""
    values = time.to_numpy()
    if np.issubdtype(values.dtype, np.datetime64):
        days = pd.Series(pd.DatetimeIndex(values).normalize())
    else:
        texts = [f"{value.year:04d}-{value.month:02d}-{value.day:02d}" for value in values]
        days = pd.Series(pd.to_datetime(texts, format="%Y-%m-%d", errors="coerce"))
    if days.isna().any():
        raise InputError(
            f"the time axis of {quoted(path)} has days that do not exist: convert it to the standard calendar"
        )
    if days.duplicated().any():
        raise InputError(f"{quoted(path)} has several values a day: make it daily minima and maxima")
    return days


def _converted(values: np.ndarray, unit: object, name: str, path: Path) -> np.ndarray:
    text = str(unit or "").strip().lower().replace("°", "deg").replace("**", "")
    if name in {"tmin", "tmax"}:
        if text in {"k", "kelvin"}:
            return values - 273.15
        if text in {"c", "degc", "celsius", "degree_celsius", "degrees_celsius", "deg_c", "degree celsius"}:
            return values
        if text in {"f", "degf", "fahrenheit", "degree_fahrenheit", "degrees_fahrenheit"}:
            return (values - 32.0) * (5.0 / 9.0)
    elif name == "precipitation":
        factors = {"mm": 1.0, "mm/day": 1.0, "mm d-1": 1.0, "mm day-1": 1.0, "m": 1000.0, "kg m-2": 1.0}
        factors |= {"kg m-2 s-1": _DAY_S, "kg/m2/s": _DAY_S, "mm/s": _DAY_S, "mm s-1": _DAY_S}
        if text in factors:
            return np.clip(values * factors[text], 0.0, None)
    elif text in {"m", "cm", "mm"}:
        return values * {"m": 1000.0, "cm": 10.0, "mm": 1.0}[text]
    raise InputError(
        f"unit {quoted(unit)} of {name} in {quoted(path)} is not known: set the attribute units, such as 'degC'"
    )
