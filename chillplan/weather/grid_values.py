"""What a grid holds, in house units and checked: weather, coordinates, heights and slopes after the CF conventions."""

from __future__ import annotations

from collections.abc import Hashable, Iterable

import numpy as np
import xarray as xr

from chillplan.errors import Problems, quoted
from chillplan.variables import VARIABLES
from chillplan.weather.check import EXCHANGED, ROUNDING
from chillplan.weather.grid_files import reading
from chillplan.weather.read_columns import column_of
from chillplan.weather.units import FACTORS, to_celsius, to_millimetres, unit_of

__all__ = [
    "METHODS",
    "STEEPEST",
    "check_degrees",
    "check_shapes",
    "check_values",
    "converted",
    "terrain_in_house_units",
    "terrain_notes",
]

METHODS = {"tmin": "minimum", "tmax": "maximum"}
LOOK_DAYS, LOOK_CELLS = 400, 8  # how much is looked at for the plausibility of values
LEAST_RAIN = 0.01  # wettest day of hundreds where precipitation is in its unit [mm]
MOST_OUTSIDE = 0.01  # share beyond the records of the world up to which single values are at fault, not the unit [-]
MOST_ALIKE = 0.2  # share of days on which the two may be the same [-]
LOOK_AT = (0.5, 0.2, 0.8)  # and where, as shares of the grid
STEEPEST = 60.0  # steeper ground is not answered for, as for a single site [degrees]
HEIGHTS = (-450.0, 8850.0)  # of land [m]
_KINDS = {
    "elevation": ("height", "'m', 'km' or 'ft'"),
    "slope": ("angle", "'degree' or 'radian'"),
    "aspect": ("angle", "'degree' or 'radian', clockwise from north"),
}


def converted(data: xr.Dataset, found: dict[str, str], source: str, problems: Problems) -> dict[str, xr.DataArray]:
    """The variables found, in house units; a unit that is not known is added to the problems."""
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


def check_shapes(
    variables: dict[str, xr.DataArray], time: str | None, space: tuple[str, ...], source: str, problems: Problems
) -> None:
    """Add to the problems what does not lie on one grid of one or two dimensions beside time."""
    if not 1 <= len(space) <= 2:
        problems.add(
            f"{quoted(source)} has the dimensions {', '.join(space) or 'time only'} beside time: one (places) or two "
            "(rows and columns) are needed; choose one level or member first"
        )
        return
    for name, array in variables.items():
        wanted = (time, *space) if name in {"tmin", "tmax", "precipitation"} else space
        if set(array.dims) != set(wanted):
            problems.add(
                f"{name} in {quoted(source)} has the dimensions {_listed(array.dims)}, not {_listed(wanted)}: "
                "give all variables on one grid"
            )


def _listed(dimensions: Iterable[Hashable]) -> str:
    return ", ".join(map(str, dimensions)) or "none"


def check_degrees(
    array: xr.DataArray,
    name: str,
    limits: tuple[float, float],
    space: tuple[str, ...],
    source: str,
    problems: Problems,
) -> None:
    """Add to the problems a coordinate that does not lie on the grid, or leaves its limits. [degrees]"""
    values = np.asarray(array.values, dtype=float)
    if not set(array.dims) <= set(space):
        problems.add(
            f"{name} in {quoted(source)} has the dimensions {_listed(array.dims)}: it must lie on {_listed(space)}"
        )
    elif not ((values >= limits[0]) & (values <= limits[1])).all():
        worst = values.flat[int(np.argmax(np.where(np.isnan(values), np.inf, np.abs(values))))]
        problems.add(
            f"{name} {'nothing (NaN)' if np.isnan(worst) else f'{worst:g}'} in {quoted(source)} is outside "
            f"{limits[0]:g} to {limits[1]:g}: check the coordinate"
        )


def check_values(data: xr.Dataset, space: tuple[str, ...], source: str, problems: Problems) -> None:
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


def terrain_in_house_units(name: str, array: xr.DataArray, source: str, problems: Problems) -> xr.DataArray:
    """Elevation [m], slope or aspect [degrees] of every place, checked.

    Parameters
    ----------
    name : {'elevation', 'slope', 'aspect'}
    array : xarray.DataArray, shape (row, column) or (place,)
        With its unit as an attribute; NaN is level ground, or the sea.
    source : str
        For messages.
    problems : Problems
    """
    kind, known = _KINDS[name]
    unit = array.attrs.get("units")
    named = unit_of(unit, kind)
    key = str(array.name or name)
    if named is None:
        said = "no units" if unit is None else f"the units {quoted(unit)}, which are not known for {name}"
        problems.add(f"{key} in {quoted(source)} has {said}: set its attribute units to {known}")
        return array
    values = array.astype(float).load() * FACTORS[kind][named]
    if name == "elevation":
        _within(values, *HEIGHTS, f"{key} of {{:g}} m", source, problems)
    elif name == "slope":
        _within(values, 0.0, 90.0, f"{key} of {{:g}} degrees", source, problems)
    else:
        # Level ground faces nowhere; programs that work out aspects write a negative number there.
        values = values.where((values >= 0.0) & (values <= 360.0))
    return values


def _within(values: xr.DataArray, low: float, high: float, said: str, source: str, problems: Problems) -> None:
    known = values.values[np.isfinite(values.values)]
    outside = known[(known < low) | (known > high)]
    if outside.size:
        problems.add(
            f"{said.format(outside[0])} in {quoted(source)} is outside {low:g} to {high:g}: correct its values, its "
            "units or its missing-value attribute"
        )


def terrain_notes(data: xr.Dataset) -> list[str]:
    """What is to be told about the terrain."""
    notes = []
    if "slope" in data:
        steep = int((data["slope"] > STEEPEST).sum())
        if steep:
            places = "place is" if steep == 1 else "places are"
            notes.append(f"{steep} {places} steeper than {STEEPEST:g} degrees: no answer there")
        if "aspect" not in data:
            notes.append("slope without aspect: every slope is taken to face south")
    return notes
