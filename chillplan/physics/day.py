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

__all__ = [
    "Above",
    "Below",
    "Outcome",
    "Place",
    "State",
    "Surface",
    "Weather",
    "above_step",
    "below_step",
    "day_step",
    "surface_step",
]


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


class Above(NamedTuple):
    """The day above the ground: air, light and snow.

    Attributes
    ----------
    mean, middle : Any
        Mean of the day, and of its extremes. [°C]
    range_root : Any
        Square root of the daily range. [°C0.5]
    clear, clearness : Any
        Share of the radiation that arrives, and how much of a clear sky the ground sees. [-]
    night : Any
        Minimum over ground without snow. [°C]
    snow_water, snow_depth : Any
        At the end of the day. [mm]
    liquid : Any
        Rain and melt reaching the ground. [mm d-1]
    snow_cover : Any
        Share of the ground under snow. [-]
    snow_resistance : Any
        [m2 K W-1]
    """

    mean: Any
    middle: Any
    range_root: Any
    clear: Any
    clearness: Any
    night: Any
    snow_water: Any
    snow_depth: Any
    liquid: Any
    snow_cover: Any
    snow_resistance: Any


class Surface(NamedTuple):
    """What drives the heat in the ground.

    Attributes
    ----------
    seed_water, root_water : Any
        At the end of the day. [mm]
    wet : Any
        Relative content of the root zone. [-]
    surface, above : Any
        Temperature over grass and snow, and the one that the deep temperature follows. [°C]
    resistance : Any
        Between the surface and the top of the ground. [m2 K W-1]
    """

    seed_water: Any
    root_water: Any
    wet: Any
    surface: Any
    above: Any
    resistance: Any


class Below(NamedTuple):
    """What becomes of the ground.

    Attributes
    ----------
    upper, middle, lower : Any
        Enthalpy of the soil layers at the end of the day. [MJ m-3]
    deep : Any
        [°C]
    temperature : Any
        Mean at the depth of the seed. [°C]
    ground_minimum : Any
        Minimum at the height of a seedling. [°C]
    """

    upper: Any
    middle: Any
    lower: Any
    deep: Any
    temperature: Any
    ground_minimum: Any


def day_step(state: State, weather: Weather, place: Place, c: Any) -> tuple[State, Outcome]:
    """One day of the seed zone, from the air downwards.

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
    """
    air = above_step(state.snow_water, state.snow_depth, weather, place, c)
    top = surface_step(state.seed_water, state.root_water, air, weather.facing, place, c)
    ground = below_step(state.upper, state.middle, state.lower, state.deep, air.snow_cover, air.night, top, place, c)
    after = State(
        ground.upper,
        ground.middle,
        ground.lower,
        ground.deep,
        air.snow_water,
        air.snow_depth,
        top.seed_water,
        top.root_water,
    )
    return after, Outcome(ground.temperature, top.seed_water * c.per_seed, air.snow_depth, ground.ground_minimum)


def above_step(snow_water: Any, snow_depth: Any, weather: Weather, place: Place, c: Any) -> Above:
    """Air, light and snow of a day.

    Parameters
    ----------
    snow_water, snow_depth : array_like
        At the end of the day before. [mm]
    weather : Weather
    place : Place
    c : Coefficients

    Returns
    -------
    Above

    References
    ----------
    Radiation from the daily range: Hargreaves and Samani 1982, FAO-56 eq. 50, its coefficient fitted.
    """
    spread = weather.tmax - weather.tmin
    range_root = np.sqrt(greater(spread, c.zero))
    mean = weather.tmin + c.weight_tmax * spread
    clear = lesser(c.range_to_sun * range_root, c.clear_share)
    clearness = clear * c.per_clear_share * place.sky
    # Seedling limits are quoted for the screen: in the open its minimum stands, a canopy keeps part of the cooling.
    night = weather.tmin + c.night_shelter * (clear * c.per_clear_share - clearness)
    snow = snow_step(snow_water, snow_depth, mean, weather.precipitation * place.arriving, clear * weather.level, c)
    return Above(
        mean,
        c.half * (weather.tmin + weather.tmax),
        range_root,
        clear,
        clearness,
        night,
        snow.water,
        snow.depth,
        snow.liquid,
        snow.cover,
        snow.resistance,
    )


def surface_step(seed_water: Any, root_water: Any, air: Above, facing: Any, place: Place, c: Any) -> Surface:
    """Water in the ground, and the temperature at its surface.

    Parameters
    ----------
    seed_water, root_water : array_like
        At the end of the day before. [mm]
    air : Above
    facing : array_like
        Radiation above the atmosphere on the slope. [MJ m-2 d-1]
    place : Place
    c : Coefficients

    Returns
    -------
    Surface

    References
    ----------
    Surface less air in proportion to radiation, less a loss to a clear sky in proportion to the clearness: the linear
    form of the surface energy balance (Campbell and Norman 1998, ch. 12), coefficients fitted.
    """
    bare = c.one - air.snow_cover
    demand = evaporation_demand(air.middle, air.range_root, facing, c)
    water = moisture_step(seed_water, root_water, air.liquid, demand * bare * place.evaporation, c)
    wet = water.root * c.per_root
    rained = lesser(air.liquid * c.per_wetting_rain, c.one)
    wet_surface = lesser(wet + c.wet_bend * wet * (c.one - wet) + c.rain_wetting * rained, c.one)
    dry = c.one - wet_surface
    sun = air.clear * facing * (place.sun_wet + place.sun_dry_more * dry)
    heating = place.shift + c.shift_dry * dry + sun - (c.sky_loss + c.sky_loss_warm * air.mean) * air.clearness
    surface = bare * (air.mean + heating) + air.snow_cover * lesser(air.mean + c.snow_surface, c.zero)
    grass = (bare * c.grass + air.snow_cover * c.grass_under_snow) * place.exchange
    return Surface(
        water.seed,
        water.root,
        wet,
        surface,
        air.mean + c.deep_shift + c.deep_heating * heating,
        grass + air.snow_resistance * place.snow_insulation + place.insulation,
    )


def below_step(
    upper: Any,
    middle: Any,
    lower: Any,
    deep: Any,
    snow_cover: Any,
    night: Any,
    top: Surface,
    place: Place,
    c: Any,
) -> Below:
    """Heat in the ground, and what a seed and a seedling meet there.

    Parameters
    ----------
    upper, middle, lower : array_like
        Enthalpy of the soil layers at the end of the day before. [MJ m-3]
    deep : array_like
        [°C]
    snow_cover : array_like
        Share of the ground under snow. [-]
    night : array_like
        Minimum over ground without snow. [°C]
    top : Surface
    place : Place
    c : Coefficients

    Returns
    -------
    Below
    """
    heat = soil_step(upper, middle, lower, deep, top.surface, top.above, top.resistance, top.wet, c)
    # Between the layers' middles the profile is straight; above the upper one it follows the day's flux.
    temperature = (
        heat.upper_temperature
        + place.above * heat.gradient
        + place.below * (heat.middle_temperature - heat.upper_temperature)
    )
    minimum = (c.one - snow_cover) * night + snow_cover * greater(night, lesser(temperature, c.zero))
    return Below(heat.upper, heat.middle, heat.lower, heat.deep, temperature, minimum)
