"""One day of the seed zone: the step that arrays and compiled loops share.

A day is elementwise over places and uses only + - * / sqrt and comparisons; everything that depends on the place or the
calendar alone is worked out beforehand (:class:`Place`, and the two radiations in :class:`Weather`).
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.lanes import choose, greater, lesser
from chillplan.physics.soil import Layers, soil_step
from chillplan.physics.water import evaporation_demand, moisture_step, snow_step

__all__ = [
    "Above",
    "Base",
    "Below",
    "Outcome",
    "Place",
    "State",
    "Surface",
    "Weather",
    "above_step",
    "base_step",
    "below_step",
    "day_step",
    "surface_step",
]


class State(NamedTuple):
    """What a day hands to the next."""

    upper: Any  # enthalpy of the soil layers [MJ m-3]
    middle: Any
    lower: Any
    deep: Any  # slow deep temperature [°C]
    snow_water: Any  # [mm]
    snow_depth: Any
    seed_water: Any  # [mm]
    root_water: Any


class Weather(NamedTuple):
    """One day's weather."""

    tmin: Any  # [°C]
    tmax: Any
    precipitation: Any  # [mm d-1]
    level: Any  # radiation above the atmosphere on level ground [MJ m-2 d-1]
    facing: Any  # the same for the slope, its shade and its cover [MJ m-2 d-1]


class Place(NamedTuple):
    """What the site adds; the same for all days."""

    shift: Any  # constant part of surface less air [°C]
    sun_wet: Any  # warming by the sun on wet ground [°C per MJ m-2 d-1]
    sun_dry_more: Any  # what dry ground adds to it
    sky: Any  # share of the sky the ground sees [-]
    insulation: Any  # resistance of the cover beyond short grass [m2 K W-1]
    exchange: Any  # factor on the resistance of the grass [-]
    snow_insulation: Any  # factor on the resistance of the snow [-]
    evaporation: Any  # share of the evaporation demand that reaches the ground [-]
    arriving: Any  # share of the precipitation that reaches the ground [-]
    above: Any  # height of the seed over the middle of the upper layer, 0 below it [m]
    below: Any  # way from there to the middle of the next layer, 0 above it [-]


class Outcome(NamedTuple):
    """What a day is reported by."""

    temperature: Any  # mean at the depth of the seed [°C]
    moisture: Any  # relative content of the seed zone, 0 to 1 [-]
    snow_depth: Any  # [mm]
    ground_minimum: Any  # minimum at the height of a seedling [°C]


class Above(NamedTuple):
    """The day above the ground: air, light and snow."""

    mean: Any  # of the day [°C]
    middle: Any  # mean of its extremes [°C]
    range_root: Any  # square root of the daily range [°C0.5]
    clear: Any  # share of the radiation that arrives [-]
    clearness: Any  # how much of a clear sky the ground sees [-]
    night: Any  # minimum over ground without snow [°C]
    snow_water: Any  # before the ground melts of it [mm]
    snow_depth: Any  # the same [mm]
    liquid: Any  # rain and melt from above [mm d-1]
    snow_cover: Any  # share of the ground under snow [-]
    snow_resistance: Any  # [m2 K W-1]


class Base(NamedTuple):
    """The base of the snow pack."""

    melting: Any  # whether it is at 0 °C and melts from below
    melt: Any  # [mm d-1]
    kept: Any  # share of the pack that is left [-]


class Surface(NamedTuple):
    """What drives the heat in the ground."""

    snow_water: Any  # at the end of the day [mm]
    snow_depth: Any
    seed_water: Any  # at the end of the day [mm]
    root_water: Any
    wet: Any  # relative content of the root zone [-]
    surface: Any  # temperature over grass and snow [°C]
    above: Any  # the one that the deep temperature follows [°C]
    resistance: Any  # between the surface and the top of the ground [m2 K W-1]


class Below(NamedTuple):
    """What becomes of the ground."""

    layers: Layers  # at the end of the day
    temperature: Any  # mean at the depth of the seed [°C]
    ground_minimum: Any  # minimum at the height of a seedling [°C]


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
    top = surface_step(state.upper, state.seed_water, state.root_water, air, weather.facing, place, c)
    layers = Layers(state.upper, state.middle, state.lower, state.deep)
    ground = below_step(layers, air.snow_cover, air.night, top, place, c)
    after = State(
        ground.layers.upper,
        ground.layers.middle,
        ground.layers.lower,
        ground.layers.deep,
        top.snow_water,
        top.snow_depth,
        top.seed_water,
        top.root_water,
    )
    return after, Outcome(ground.temperature, top.seed_water * c.per_seed, top.snow_depth, ground.ground_minimum)


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


def surface_step(
    upper: Any, seed_water: Any, root_water: Any, air: Above, facing: Any, place: Place, c: Any
) -> Surface:
    """Water in the ground, and the temperature at its surface.

    Parameters
    ----------
    upper : array_like
        Enthalpy of the upper soil layer at the end of the day before. [MJ m-3]
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
    form of the surface energy balance (Campbell and Norman 1998, ch. 12), coefficients fitted. The base of a snow pack
    is never above 0 °C: where ground would warm it further, heat melts the pack from below.
    """
    bare = c.one - air.snow_cover
    grass = (bare * c.grass + air.snow_cover * c.grass_under_snow) * place.exchange + place.insulation
    snow_resistance = air.snow_resistance * place.snow_insulation
    snow_surface = lesser(air.mean + c.snow_surface, c.zero)
    base = base_step(upper, root_water * c.per_root, air, snow_surface, grass, snow_resistance, c)
    demand = evaporation_demand(air.middle, air.range_root, facing, c)
    liquid = air.liquid + base.melt
    water = moisture_step(seed_water, root_water, liquid, demand * bare * place.evaporation, c)
    wet = water.root * c.per_root
    rained = lesser(liquid * c.per_wetting_rain, c.one)
    wet_surface = lesser(wet + c.wet_bend * wet * (c.one - wet) + c.rain_wetting * rained, c.one)
    dry = c.one - wet_surface
    sun = air.clear * facing * (place.sun_wet + place.sun_dry_more * dry)
    heating = place.shift + c.shift_dry * dry + sun - (c.sky_loss + c.sky_loss_warm * air.mean) * air.clearness
    surface = bare * (air.mean + heating) + air.snow_cover * choose(base.melting, c.zero, snow_surface)
    return Surface(
        air.snow_water - base.melt,
        air.snow_depth * base.kept,
        water.seed,
        water.root,
        wet,
        surface,
        air.mean + c.deep_shift + c.deep_heating * heating,
        grass + choose(base.melting, c.zero, snow_resistance),
    )


def base_step(upper: Any, wet: Any, air: Above, snow_surface: Any, grass: Any, snow_resistance: Any, c: Any) -> Base:
    """Whether the ground melts the snow on it, and how much.

    Parameters
    ----------
    upper : array_like
        Enthalpy of the upper soil layer. [MJ m-3]
    wet : array_like
        Relative content of the root zone. [-]
    air : Above
    snow_surface : array_like
        [°C]
    grass, snow_resistance : array_like
        [m2 K W-1]
    c : Coefficients

    Returns
    -------
    Base
    """
    warm, capacity = greater(upper, c.zero), c.capacity + c.capacity_wet * wet
    conductivity = c.conductivity + c.conductivity_wet * wet
    # All that lies between the pack and the middle of the layer, multiplied by conductivity and capacity: no division.
    way = (grass * conductivity + c.half_upper) * capacity
    up = warm * conductivity
    melting = up * snow_resistance > -snow_surface * way
    reached = lesser(c.ground_melt * air.snow_cover * up / (way * greater(air.snow_water, c.trace)), c.one)
    share = choose(melting, reached, c.zero)
    return Base(melting, air.snow_water * share, c.one - share)


def below_step(layers: Layers, snow_cover: Any, night: Any, top: Surface, place: Place, c: Any) -> Below:
    """Heat in the ground, and what a seed and a seedling meet there.

    Parameters
    ----------
    layers : Layers
        At the end of the day before.
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
    heat = soil_step(layers, top.surface, top.above, top.resistance, top.wet, c)
    # Between the layers' middles the profile is straight; above the upper one it follows the day's flux.
    temperature = (
        heat.upper_temperature
        + place.above * heat.gradient
        + place.below * (heat.middle_temperature - heat.upper_temperature)
    )
    minimum = (c.one - snow_cover) * night + snow_cover * greater(night, lesser(temperature, c.zero))
    return Below(heat.layers, temperature, minimum)
