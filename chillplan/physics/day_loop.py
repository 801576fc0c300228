"""The days of many columns one after the other, compiled: the day step of :mod:`chillplan.physics.day` as it stands."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numba.np.unsafe import ndarray as numba_arrays
from numpy.typing import NDArray

from chillplan.physics.coefficients import Coefficients, record
from chillplan.physics.compiled import compiled_day_step
from chillplan.physics.day import Outcome, Place, State, Weather
from chillplan.physics.lanes import STAMP, kernel

__all__ = ["walk_days"]

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


def _walk_columns(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(state, weather, place, coefficients, seen, found):
        """Write what each day of each column is reported by; `state` is overwritten."""
        assert stamp
        c = coefficients[0]
        low, high, water, level, facing = weather
        for day in range(found.shape[1]):
            for i in range(found.shape[2]):
                if seen.size > 0 and np.isfinite(seen[day, i]):
                    # An observed snow has the density of the modelled one; where there is none, that of fresh snow.
                    depth, snow = state[i, SNOW_DEPTH], state[i, SNOW_WATER]
                    bulk = depth / snow if snow > c.trace else c.new_snow_bulk
                    state[i, SNOW_DEPTH], state[i, SNOW_WATER] = seen[day, i], seen[day, i] / bulk
                now = State(*to_fixed_tuple(state[i], STATES))
                today = Weather(low[day, i], high[day, i], water[day, i], level[day, i], facing[day, i])
                after, outcome = day_step(now, today, Place(*to_fixed_tuple(place[i], PLACES)), c)
                for part in range(STATES):
                    state[i, part] = after[part]
                for part in range(len(outcome)):
                    found[part, day, i] = outcome[part]

    return run


_walk = _walk_columns(STAMP)
