"""The day step compiled: the same source as :mod:`chillplan.physics.day`, for loops over many places.

Nothing is written twice. The functions of the day are compiled with numba as they stand; only the three selections of
:mod:`chillplan.physics.elementwise` are given a scalar meaning. Division, square root and order of the operations are
those of numpy, so results agree bit for bit in the same precision.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from types import FunctionType
from typing import Any

from chillplan.physics import day, elementwise, moisture, snow, soil

__all__ = ["compiled_day_step", "compiled_demand"]


@cache
def compiled_day_step() -> Callable[..., Any]:
    """The day step as a numba function of scalars, to be called inside compiled loops.

    Returns
    -------
    callable
        Same arguments and results as :func:`chillplan.physics.day.day_step`; give it named tuples of one float type
        (:func:`chillplan.physics.coefficients.cast`).
    """
    _declare_selections()
    water = _compiled(moisture.moisture_step)
    demand = _compiled(moisture.evaporation_demand)
    pack = _compiled(snow.snow_step)
    layer = _compiled(soil.layer_temperature)
    thermal, slope = _compiled(soil.thermal_properties), _compiled(soil._slope)
    heat = _compiled(soil.soil_step, layer_temperature=layer, thermal_properties=thermal, _slope=slope)
    step: Callable[..., Any] = _compiled(
        day.day_step, moisture_step=water, evaporation_demand=demand, snow_step=pack, soil_step=heat
    )
    return step


@cache
def compiled_demand() -> Callable[..., Any]:
    """:func:`chillplan.physics.moisture.evaporation_demand` as a numba function of scalars."""
    _declare_selections()
    demand: Callable[..., Any] = _compiled(moisture.evaporation_demand)
    return demand


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
