"""What the parts of a day hand to each other: states, weather, place, and what lies above and below the ground."""

from __future__ import annotations

from typing import Any, NamedTuple

__all__ = ["Above", "Base", "Below", "Outcome", "Place", "State", "Surface", "Weather"]


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
        Before the ground melts of it. [mm]
    liquid : Any
        Rain and melt from above. [mm d-1]
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


class Base(NamedTuple):
    """The base of the snow pack.

    Attributes
    ----------
    melting : Any
        Whether it is at 0 °C and melts from below.
    melt : Any
        [mm d-1]
    kept : Any
        Share of the pack that is left. [-]
    """

    melting: Any
    melt: Any
    kept: Any


class Surface(NamedTuple):
    """What drives the heat in the ground.

    Attributes
    ----------
    snow_water, snow_depth : Any
        At the end of the day. [mm]
    seed_water, root_water : Any
        At the end of the day. [mm]
    wet : Any
        Relative content of the root zone. [-]
    surface, above : Any
        Temperature over grass and snow, and the one that the deep temperature follows. [°C]
    resistance : Any
        Between the surface and the top of the ground. [m2 K W-1]
    """

    snow_water: Any
    snow_depth: Any
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
