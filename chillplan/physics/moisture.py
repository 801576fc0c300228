"""Water in the ground: two stores, one below the other, emptied by the demand of the air.

The seed zone (about 20 mm) says whether a seed is moist; the root zone (about 250 mm) says how dry the season is, and
with it how strongly the sun heats the ground, how well the ground conducts and how much ice it can hold.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from chillplan.physics.elementwise import greater, lesser

__all__ = ["WaterDay", "evaporation_demand", "moisture_step"]


class WaterDay(NamedTuple):
    """Water in the ground after a day, arrays of one shape.

    Attributes
    ----------
    seed, root : Any
        The stores. [mm]
    evaporated : Any
        Taken from both. [mm d-1]
    drained : Any
        Lost below the root zone, or run off. [mm d-1]
    """

    seed: Any
    root: Any
    evaporated: Any
    drained: Any


def evaporation_demand(mean: Any, range_root: Any, extraterrestrial: Any, c: Any) -> Any:
    """Reference evapotranspiration (Hargreaves and Samani 1985; FAO-56 eq. 52), never negative.

    Parameters
    ----------
    mean : array_like
        Mean of tmin and tmax. [°C]
    range_root : array_like
        Square root of the daily range. [°C0.5]
    extraterrestrial : array_like
        Radiation above the atmosphere. [MJ m-2 d-1]
    c : Coefficients

    Returns
    -------
    array_like
        [mm d-1]
    """
    return c.demand * greater(mean + c.demand_shift, c.zero) * range_root * extraterrestrial


def moisture_step(seed: Any, root: Any, liquid: Any, demand: Any, c: Any) -> WaterDay:
    """One day of the two stores: evaporation, then infiltration from the top down.

    Parameters
    ----------
    seed, root : array_like
        State at the end of the day before. [mm]
    liquid : array_like
        Rain and melt. [mm d-1]
    demand : array_like
        Evaporation demand after cover and snow. [mm d-1]
    c : Coefficients

    Returns
    -------
    WaterDay
        Closes to rounding: stores before + liquid = stores after + evaporated + drained.

    References
    ----------
    Full rate down to half the store, then falling in proportion: the two-stage form of FAO-56 eq. 74 and 84 with the
    threshold at one half; the rates are fitted.
    """
    from_seed = lesser(seed, demand * c.seed_rate * lesser(seed * c.per_half_seed, c.one))
    from_root = lesser(root, demand * c.root_rate * lesser(root * c.per_half_root, c.one))
    seed_filled = seed - from_seed + liquid
    seed_left = lesser(seed_filled, c.seed_capacity)
    root_filled = root - from_root + (seed_filled - seed_left)
    root_left = lesser(root_filled, c.root_capacity)
    return WaterDay(seed_left, root_left, from_seed + from_root, root_filled - root_left)
