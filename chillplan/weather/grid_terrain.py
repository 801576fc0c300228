"""Heights and slopes of a grid: names and units after the CF conventions, and places too steep to answer for."""

from __future__ import annotations

import numpy as np
import xarray as xr

from chillplan.errors import Problems, quoted
from chillplan.weather.units import FACTORS, unit_of

__all__ = ["STEEPEST", "terrain_in_house_units", "terrain_notes"]

STEEPEST = 60.0  # steeper ground is not answered for, as for a single site [degrees]
HEIGHTS = (-450.0, 8850.0)  # of land [m]
UNITS = {
    "elevation": ("height", "'m', 'km' or 'ft'"),
    "slope": ("angle", "'degree' or 'radian'"),
    "aspect": ("angle", "'degree' or 'radian', clockwise from north"),
}


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
    kind, known = UNITS[name]
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
