"""Water in the ground: two accounts of the same rain and melt, emptied by the demand of the air.

The seed zone (30 mm, the top few centimetres) says whether a seed is moist; the root zone (about 300 mm, of which the
seed zone is the top) says how dry the season is, and with it how strongly the sun heats the ground, how well the ground
conducts and how much ice it can hold. Both fill first and lose what they cannot hold.
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
        Taken from the root zone. [mm d-1]
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
    """One day of the two stores: evaporation, then infiltration.

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
        Closes to rounding: root store before + liquid = root store after + evaporated + drained.

    References
    ----------
    Full rate down to half the store, then falling in proportion: the two-stage form of FAO-56 eq. 74 and 84 with the
    threshold at one half; the rates are fitted.
    """
    from_seed = lesser(seed, demand * c.seed_rate * lesser(seed * c.per_half_seed, c.one))
    from_root = lesser(root, demand * c.root_rate * lesser(root * c.per_half_root, c.one))
    filled = root - from_root + liquid
    left = lesser(filled, c.root_capacity)
    return WaterDay(lesser(seed - from_seed + liquid, c.seed_capacity), left, from_root, filled - left)
