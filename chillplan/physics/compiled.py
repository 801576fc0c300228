"""The day step compiled, and the days of many columns one after the other: the same source as `chillplan.physics.day`.

Nothing is written twice. The functions of the day are compiled with numba as they stand; only the three selections of
:mod:`chillplan.physics.lanes` are given a scalar meaning. Division, square root and order of the operations are
those of numpy, so results agree bit for bit in the same precision.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import FunctionType
from typing import Any, NamedTuple

import numpy as np
from numba.np.unsafe import ndarray as numba_arrays
from numpy.typing import NDArray

from chillplan.physics import climate, day, lanes, soil, water
from chillplan.physics.coefficients import Coefficients, record
from chillplan.physics.day import Outcome, Place, State, Weather
from chillplan.physics.lanes import kernel

__all__ = [
    "DaySteps",
    "compiled",
    "compiled_day_step",
    "compiled_day_steps",
    "compiled_demand",
    "compiled_rain",
    "walk_days",
]


class DaySteps(NamedTuple):
    """The parts of :func:`chillplan.physics.day.day_step` as numba functions of scalars."""

    # arguments and results as `above_step`, `surface_step` and `below_step` of :mod:`chillplan.physics.day`. Give
    # them named tuples of one float type; the coefficients may be one of
    # :func:`chillplan.physics.coefficients.record`
    above: Callable[..., Any]
    surface: Callable[..., Any]
    below: Callable[..., Any]


@cache
def compiled_day_steps() -> DaySteps:
    """The day in three parts, each to be called inside a compiled loop over places of its own.

    Short loops are faster than a long one: the processor works on several places of a short loop at the same time.
    """
    _declare_selections()
    demand = _compiled(water.evaporation_demand)
    wet = _compiled(water.moisture_step)
    pack = _compiled(water.snow_step)
    line, thermal = _compiled(soil._line), _compiled(soil.thermal_properties)
    layer = _compiled(soil.layer_temperature, _line=line)
    heat = _compiled(soil.soil_step, layer_temperature=layer, thermal_properties=thermal, _line=line)
    return DaySteps(
        _compiled(day.above_step, snow_step=pack),
        _compiled(day.surface_step, base_step=_compiled(day.base_step), evaporation_demand=demand, moisture_step=wet),
        _compiled(day.below_step, soil_step=heat),
    )


@cache
def compiled_day_step() -> Callable[..., Any]:
    """The whole day as one numba function of scalars.

    Returns
    -------
    callable
        Same arguments and results as :func:`chillplan.physics.day.day_step`; give it named tuples of one float type
        (:func:`chillplan.physics.coefficients.cast`).
    """
    parts = compiled_day_steps()
    step: Callable[..., Any] = _compiled(
        day.day_step, above_step=parts.above, surface_step=parts.surface, below_step=parts.below
    )
    return step


@cache
def compiled_demand() -> Callable[..., Any]:
    """:func:`chillplan.physics.water.evaporation_demand` as a numba function of scalars."""
    _declare_selections()
    demand: Callable[..., Any] = _compiled(water.evaporation_demand)
    return demand


@cache
def compiled_rain() -> Callable[..., Any]:
    """:func:`chillplan.physics.climate.rain_step` as a numba function of scalars."""
    _declare_selections()
    rain: Callable[..., Any] = _compiled(climate.rain_step)
    return rain


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """A function of numbers that selects by :mod:`chillplan.physics.lanes` alone, as a numba function."""
    _declare_selections()
    twin: Callable[..., Any] = _compiled(function)
    return twin


def _compiled(function: Callable[..., Any], **names: Any) -> Any:
    """`function` compiled, with some of the names it uses replaced by compiled functions."""
    from numba import njit

    assert isinstance(function, FunctionType)
    scope = {**function.__globals__, **names}
    twin = FunctionType(function.__code__, scope, function.__name__, function.__defaults__, function.__closure__)
    # Written out in place of each call: only then can the compiler run a loop over places several at a time.
    return njit(error_model="numpy", forceinline=True)(twin)


@cache
def _declare_selections() -> None:
    from numba.extending import overload

    # numba compares signatures, annotations included, so the typing functions are lambdas like what they return.
    declarations: dict[Callable[..., Any], Callable[..., Any]] = {
        lanes.choose: lambda condition, where_true, where_false: (
            lambda condition, where_true, where_false: where_true if condition else where_false
        ),
        lanes.lesser: lambda first, second: lambda first, second: first if first < second else second,
        lanes.greater: lambda first, second: lambda first, second: first if first > second else second,
    }
    for function, scalar in declarations.items():
        overload(function)(scalar)


FloatArray = NDArray[np.floating]

STATES, PLACES = len(State._fields), len(Place._fields)
SNOW_DEPTH, SNOW_WATER = State._fields.index("snow_depth"), State._fields.index("snow_water")
to_fixed_tuple: Callable[..., Any] = numba_arrays.to_fixed_tuple
day_step = compiled_day_step()


def walk_days(state: State, weather: Weather, place: Place, c: Coefficients, seen: FloatArray | None) -> Outcome:
    """Walk columns of days, each from its starting state.

    Parameters
    ----------
    state : State of arrays that broadcast to the columns
    weather : Weather of numpy.ndarray, shape (day, ...)
        All of one float type, which is that of the results.
    place : Place of arrays that broadcast to the columns
    c : Coefficients
    seen : numpy.ndarray or None, shape (day, ...)
        Observed snow depth, taken in place of the modelled one where it is finite. [mm]

    Returns
    -------
    Outcome of numpy.ndarray, shape (day, ...)
        The same to the bit as `chillplan.physics.day.day_step` day by day.
    """
    shape, kind = weather.tmin.shape, weather.tmin.dtype
    days, columns = shape[0], shape[1:]

    def constants(values: Any) -> FloatArray:
        each = [np.broadcast_to(np.asarray(value, dtype=kind), columns).reshape(-1) for value in values]
        return np.ascontiguousarray(np.stack(each, axis=1))

    daily = np.stack([np.broadcast_to(series, shape).reshape(days, -1) for series in weather])
    depth = np.empty((0, 0), kind) if seen is None else seen.reshape(days, -1).astype(kind)
    found = np.empty((len(Outcome._fields), *daily.shape[1:]), kind)
    _walk(constants(state), daily, constants(place), record(c, kind), depth, found)
    return Outcome(*(series.reshape(shape) for series in found))


@kernel
def _walk(state, weather, place, coefficients, seen, found):
    """Write what each day of each column is reported by; `state` is overwritten."""
    c = coefficients[0]
    low, high, fallen, level, facing = weather
    for row in range(found.shape[1]):
        for i in range(found.shape[2]):
            if seen.size > 0 and np.isfinite(seen[row, i]):
                # An observed snow has the density of the modelled one; where there is none, that of fresh snow.
                depth, snow = state[i, SNOW_DEPTH], state[i, SNOW_WATER]
                bulk = depth / snow if snow > c.trace else c.new_snow_bulk
                state[i, SNOW_DEPTH], state[i, SNOW_WATER] = seen[row, i], seen[row, i] / bulk
            now = State(*to_fixed_tuple(state[i], STATES))
            today = Weather(low[row, i], high[row, i], fallen[row, i], level[row, i], facing[row, i])
            after, outcome = day_step(now, today, Place(*to_fixed_tuple(place[i], PLACES)), c)
            for part in range(STATES):
                state[i, part] = after[part]
            for part in range(len(outcome)):
                found[part, row, i] = outcome[part]
