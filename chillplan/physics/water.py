"""Water in the ground: two accounts of the same rain and melt, emptied by the demand of the air.

The seed zone (30 mm, the top few centimetres) says whether a seed is moist; the root zone (about 300 mm, of which the
seed zone is the top) says how dry the season is, and with it how strongly the sun heats the ground, how well the ground
conducts and how much ice it can hold. Both fill first and lose what they cannot hold.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from chillplan.physics.lanes import choose, greater, lesser

__all__ = ["SnowDay", "WaterDay", "evaporation_demand", "moisture_step", "snow_step"]


class WaterDay(NamedTuple):
    """Water in the ground after a day, arrays of one shape."""

    # the stores [mm]
    seed: Any
    root: Any
    evaporated: Any  # taken from the root zone [mm d-1]
    drained: Any  # lost below the root zone, or run off [mm d-1]


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


class SnowDay(NamedTuple):
    """What the snow pack is after a day, arrays of one shape."""

    water: Any  # water the snow holds [mm]
    depth: Any  # depth of the snow [mm]
    liquid: Any  # rain and melt reaching the ground [mm d-1]
    cover: Any  # share of the ground under snow, 0 to 1 [-]
    resistance: Any  # thermal resistance of the pack [m2 K W-1]


def snow_step(water: Any, depth: Any, mean: Any, precipitation: Any, sunshine: Any, c: Any) -> SnowDay:
    """One day of the snow pack.

    Parameters
    ----------
    water, depth : array_like
        State at the end of the day before. [mm, mm]
    mean : array_like
        Mean air temperature. [°C]
    precipitation : array_like
        Rain and snow together. [mm d-1]
    sunshine : array_like
        Radiation on level ground. [MJ m-2 d-1]
    c : Coefficients
        From :mod:`chillplan.physics.coefficients`.

    Returns
    -------
    SnowDay
        ``water + liquid`` equals the water before plus the precipitation, to rounding.

    References
    ----------
    Share of snow linear between two air temperatures: common practice, the place of the ramp fitted (Jennings et al.
    2018 put its middle between -0.4 and 2.4 °C). Degree-day melt with a radiation part: Hock 1999. Conductivity by the
    quadratic of Sturm et al. 1997 times one fitted factor.
    """
    snow_share = lesser(greater((c.all_rain - mean) * c.snow_per_degree, c.zero), c.one)
    fallen = precipitation * snow_share
    full = water + fallen
    warm = greater(mean, c.zero)
    degree_melt = (c.melt + c.melt_by_sun * sunshine) * (mean - c.melt_from)
    rain_melt = c.melt_by_rain * (precipitation - fallen) * warm
    left = full - lesser(greater(degree_melt + rain_melt, c.zero), full)
    left = choose(left > c.trace, left, c.zero)
    # Each of the two divisions serves for two quotients.
    before, deep = greater(full, c.trace), left + c.half_cover
    inverse = left / (before * deep)
    kept, cover = deep * inverse, before * inverse
    densest = left * c.old_snow_bulk
    loose = greater((depth + fallen * c.new_snow_bulk) * kept - densest, c.zero)
    settled = lesser(c.settle + c.settle_warm * warm, c.one)
    depth = densest + loose - loose * settled
    # Conductivity is a quadratic of the density, ice over depth, and the resistance depth over that.
    thick = greater(depth, c.trace)
    ice = lesser(left, thick)
    square = thick * thick
    conducting = c.sturm_constant * square + ice * (c.sturm_linear * thick + c.sturm_square * ice)
    resistance = depth * c.millimetre * square / conducting
    return SnowDay(left, depth, precipitation + water - left, cover, resistance)
