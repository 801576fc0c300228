"""One day of the seed zone: the step that arrays and compiled loops share.

A day is elementwise over places and uses only + - * / sqrt and comparisons; everything that depends on the place or the
calendar alone is worked out beforehand (:class:`Place`, and the two radiations in :class:`Weather`).
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.elementwise import greater, lesser
from chillplan.physics.moisture import evaporation_demand, moisture_step
from chillplan.physics.snow import snow_step
from chillplan.physics.soil import soil_step

__all__ = ["Outcome", "Place", "State", "Weather", "day_step"]


class State(NamedTuple):
    """What a day hands to the next.

    Attributes
    ----------
    upper, middle, lower : Any
        Enthalpy of the soil layers. [MJ m-3]
    deep : Any
        Slow deep temperature. [°C]
    snow_water, snow_depth : Any
        [mm]
    seed_water, root_water : Any
        [mm]
    """

    upper: Any
    middle: Any
    lower: Any
    deep: Any
    snow_water: Any
    snow_depth: Any
    seed_water: Any
    root_water: Any


class Weather(NamedTuple):
    """One day's weather.

    Attributes
    ----------
    tmin, tmax : Any
        [°C]
    precipitation : Any
        [mm d-1]
    level : Any
        Radiation above the atmosphere on level ground. [MJ m-2 d-1]
    facing : Any
        The same for the slope, its shade and its cover. [MJ m-2 d-1]
    """

    tmin: Any
    tmax: Any
    precipitation: Any
    level: Any
    facing: Any


class Place(NamedTuple):
    """What the site adds; the same for all days.

    Attributes
    ----------
    shift : Any
        Constant part of surface less air. [°C]
    sun_wet, sun_dry_more : Any
        Warming by the sun on wet ground, and what dry ground adds. [°C per MJ m-2 d-1]
    sky : Any
        Share of the sky the ground sees. [-]
    insulation : Any
        Resistance of the cover beyond short grass. [m2 K W-1]
    exchange : Any
        Factor on the resistance of the grass. [-]
    snow_insulation : Any
        Factor on the resistance of the snow. [-]
    evaporation : Any
        Share of the evaporation demand that reaches the ground. [-]
    arriving : Any
        Share of the precipitation that reaches the ground. [-]
    above : Any
        Height of the seed over the middle of the upper layer, 0 below it. [m]
    below : Any
        Way from there to the middle of the next layer, 0 above it. [-]
    """

    shift: Any
    sun_wet: Any
    sun_dry_more: Any
    sky: Any
    insulation: Any
    exchange: Any
    snow_insulation: Any
    evaporation: Any
    arriving: Any
    above: Any
    below: Any


class Outcome(NamedTuple):
    """What a day is reported by.

    Attributes
    ----------
    temperature : Any
        Mean at the depth of the seed. [°C]
    moisture : Any
        Relative content of the seed zone, 0 to 1. [-]
    snow_depth : Any
        [mm]
    ground_minimum : Any
        Minimum at the height of a seedling. [°C]
    """

    temperature: Any
    moisture: Any
    snow_depth: Any
    ground_minimum: Any


def day_step(state: State, weather: Weather, place: Place, c: Any) -> tuple[State, Outcome]:
    """One day of the seed zone.

    Parameters
    ----------
    state : State
        At the end of the day before.
    weather : Weather
        No NaN: a missing day must be bridged before.
    place : Place
    c : Coefficients
        In the type of the arrays.

    Returns
    -------
    State, Outcome

    References
    ----------
    Radiation from the daily range: Hargreaves and Samani 1982, FAO-56 eq. 50, its coefficient fitted. Surface less air
    in proportion to radiation, less a loss to a clear sky in proportion to the clearness: the linear form of the
    surface energy balance (Campbell and Norman 1998, ch. 12), coefficients fitted.
    """
    range_root = np.sqrt(greater(weather.tmax - weather.tmin, c.zero))
    mean = weather.tmin + c.weight_tmax * (weather.tmax - weather.tmin)
    clear = lesser(c.range_to_sun * range_root, c.clear_share)
    clearness = clear * c.per_clear_share * place.sky
    snow = snow_step(
        state.snow_water, state.snow_depth, mean, weather.precipitation * place.arriving, clear * weather.level, c
    )
    bare = c.one - snow.cover
    demand = evaporation_demand(c.half * (weather.tmin + weather.tmax), range_root, weather.facing, c)
    water = moisture_step(state.seed_water, state.root_water, snow.liquid, demand * bare * place.evaporation, c)
    wet = water.root * c.per_root
    rained = lesser(snow.liquid * c.per_wetting_rain, c.one)
    wet_surface = lesser(wet + c.wet_bend * wet * (c.one - wet) + c.rain_wetting * rained, c.one)
    dry = c.one - wet_surface
    sun = clear * weather.facing * (place.sun_wet + place.sun_dry_more * dry)
    heating = place.shift + c.shift_dry * dry + sun - (c.sky_loss + c.sky_loss_warm * mean) * clearness
    surface = bare * (mean + heating) + snow.cover * lesser(mean + c.snow_surface, c.zero)
    grass = (bare * c.grass + snow.cover * c.grass_under_snow) * place.exchange
    resistance = grass + snow.resistance * place.snow_insulation + place.insulation
    above = mean + c.deep_shift + c.deep_heating * heating
    heat = soil_step(state.upper, state.middle, state.lower, state.deep, surface, above, resistance, wet, c)
    # Between the layers' middles the profile is straight; above the upper one it follows the day's flux.
    gradient = heat.flux / (c.watt_day * (c.conductivity + c.conductivity_wet * wet))
    temperature = (
        heat.upper_temperature
        + place.above * gradient
        + place.below * (heat.middle_temperature - heat.upper_temperature)
    )
    # Seedling limits are quoted for the screen: in the open its minimum stands, a canopy keeps part of the cooling.
    night = weather.tmin + c.night_shelter * (clear * c.per_clear_share - clearness)
    minimum = bare * night + snow.cover * greater(night, lesser(temperature, c.zero))
    after = State(heat.upper, heat.middle, heat.lower, heat.deep, snow.water, snow.depth, water.seed, water.root)
    return after, Outcome(temperature, water.seed * c.per_seed, snow.depth, minimum)
