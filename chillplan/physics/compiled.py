"""The day step compiled: the same source as :mod:`chillplan.physics.day`, for loops over many places.

Nothing is written twice. The functions of the day are compiled with numba as they stand; only the three selections of
:mod:`chillplan.physics.elementwise` are given a scalar meaning. Division, square root and order of the operations are
those of numpy, so results agree bit for bit in the same precision.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import FunctionType
from typing import Any, NamedTuple

from chillplan.physics import climate, day, elementwise, moisture, snow, soil

__all__ = ["DaySteps", "compiled", "compiled_day_step", "compiled_day_steps", "compiled_demand", "compiled_rain"]


class DaySteps(NamedTuple):
    """The parts of :func:`chillplan.physics.day.day_step` as numba functions of scalars.

    Attributes
    ----------
    above, surface, below : callable
        Arguments and results as `above_step`, `surface_step` and `below_step` of :mod:`chillplan.physics.day`. Give
        them named tuples of one float type; the coefficients may be one of
        :func:`chillplan.physics.coefficients.record`.
    """

    above: Callable[..., Any]
    surface: Callable[..., Any]
    below: Callable[..., Any]


@cache
def compiled_day_steps() -> DaySteps:
    """The day in three parts, each to be called inside a compiled loop over places of its own.

    Short loops are faster than a long one: the processor works on several places of a short loop at the same time.
    """
    _declare_selections()
    demand = _compiled(moisture.evaporation_demand)
    water = _compiled(moisture.moisture_step)
    pack = _compiled(snow.snow_step)
    line, thermal = _compiled(soil._line), _compiled(soil.thermal_properties)
    layer = _compiled(soil.layer_temperature, _line=line)
    heat = _compiled(soil.soil_step, layer_temperature=layer, thermal_properties=thermal, _line=line)
    return DaySteps(
        _compiled(day.above_step, snow_step=pack),
        _compiled(day.surface_step, base_step=_compiled(day.base_step), evaporation_demand=demand, moisture_step=water),
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
    """:func:`chillplan.physics.moisture.evaporation_demand` as a numba function of scalars."""
    _declare_selections()
    demand: Callable[..., Any] = _compiled(moisture.evaporation_demand)
    return demand


@cache
def compiled_rain() -> Callable[..., Any]:
    """:func:`chillplan.physics.climate.rain_step` as a numba function of scalars."""
    _declare_selections()
    rain: Callable[..., Any] = _compiled(climate.rain_step)
    return rain


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """A function of numbers that selects by :mod:`chillplan.physics.elementwise` alone, as a numba function."""
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
        elementwise.choose: lambda condition, where_true, where_false: (
            lambda condition, where_true, where_false: where_true if condition else where_false
        ),
        elementwise.lesser: lambda first, second: lambda first, second: first if first < second else second,
        elementwise.greater: lambda first, second: lambda first, second: first if first > second else second,
    }
    for function, scalar in declarations.items():
        overload(function)(scalar)
