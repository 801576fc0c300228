"""The parameters of the seed-zone model: what they mean, their units, and the two fitted sets.

Fitted on 38 stations of the U.S. Climate Reference Network (open short grass, 5 cm) by the script
``examples/seed_zone_model/fit.py``; the same numbers, with the range the fit could choose from, are in
``data/seed_zone_parameters.csv``.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["WITHOUT_PRECIPITATION", "WITH_PRECIPITATION", "Parameters"]


@dataclass(frozen=True)
class Parameters:
    """Physical and fitted parameters of the seed-zone model.

    Attributes
    ----------
    weight_tmax : float
        Share of tmax in the mean that drives the ground. [-]
    range_to_sun : float
        Hargreaves coefficient, radiation from the root of the daily range. [°C-0.5]
    sun_wet, sun_dry, sun_arid : float
        Warming of the surface by the sun on wet ground, on dry ground, and the further gain of dry ground from a moist
        to a rainless climate. [°C per MJ m-2 d-1]
    sky_loss, sky_loss_warm : float
        Cooling to a clear sky at 0 °C, and its increase with air temperature. [°C, -]
    surface_shift, shift_dry, shift_arid : float
        Constant part of surface less air; on dry ground; in a rainless climate. [°C]
    wet_bend : float
        Bend of the wetness of the surface over the root store: 0 straight, 1 wet for long. [-]
    rain_wetting, wetting_rain : float
        Wetness that a day's rain adds at once, and the rain that adds all of it. [-, mm d-1]
    seed_capacity, root_capacity : float
        Water held for plants in the seed zone and below it. [mm]
    seed_rate, root_rate : float
        Share of the evaporation demand taken from each store. [-]
    snow_middle, snow_width : float
        Mean air temperature at which half the precipitation is snow; width of the ramp. [°C, °C]
    melt, melt_by_sun, melt_from : float
        Degree-day melt, its increase with radiation, the temperature it starts from.
        [mm °C-1 d-1, mm °C-1 MJ-1 m2, °C]
    new_snow_density, old_snow_density : float
        [g cm-3, g cm-3]
    settle, settle_warm : float
        Share of loose depth lost a day; its increase with temperature. [d-1, °C-1 d-1]
    snow_conductivity : float
        Factor on the conductivity of Sturm et al. 1997. [-]
    half_cover : float
        Snow water that covers half the ground. [mm]
    snow_surface : float
        Snow surface less air. [°C]
    exchange, snow_exchange : float
        Conductance between surface and the top of the ground through grass, and through grass under snow. [W m-2 K-1]
    conductivity, conductivity_wet : float
        Of dry ground; increase to wet ground. [W m-1 K-1]
    capacity, capacity_wet : float
        Heat capacity of dry ground; increase to wet ground. [MJ m-3 K-1]
    latent, latent_wet : float
        Latent heat of dry ground; increase to wet ground. [MJ m-3]
    curtain_depth, curtain_share : float
        Temperature below 0 °C down to which most of the water freezes, and that share. [°C, -]
    upper, middle, lower : float
        Thickness of the layers. [m]
    deep_rate, deep_shift : float
        Share of the difference that the deep temperature takes up in a day; deep less surface. [d-1, °C]
    rain_scale, rain_range, rain_warm : float
        Precipitation guessed where none is known: at no daily range and 10 °C; the range at which it ends; its increase
        with temperature. [mm d-1, °C, °C-1]
    """

    weight_tmax: float
    range_to_sun: float
    sun_wet: float
    sun_dry: float
    sun_arid: float
    sky_loss: float
    sky_loss_warm: float
    surface_shift: float
    shift_dry: float
    shift_arid: float
    wet_bend: float
    rain_wetting: float
    wetting_rain: float
    seed_capacity: float
    root_capacity: float
    seed_rate: float
    root_rate: float
    snow_middle: float
    snow_width: float
    melt: float
    melt_by_sun: float
    melt_from: float
    new_snow_density: float
    old_snow_density: float
    settle: float
    settle_warm: float
    snow_conductivity: float
    half_cover: float
    snow_surface: float
    exchange: float
    snow_exchange: float
    conductivity: float
    conductivity_wet: float
    capacity: float
    capacity_wet: float
    latent: float
    latent_wet: float
    curtain_depth: float
    curtain_share: float
    upper: float
    middle: float
    lower: float
    deep_rate: float
    deep_shift: float
    rain_scale: float = 16.5
    rain_range: float = 26.6
    rain_warm: float = 0.03


WITH_PRECIPITATION = Parameters(
    weight_tmax=0.4741,
    range_to_sun=0.1866,
    sun_wet=0.3035,
    sun_dry=0.25,
    sun_arid=0.3694,
    sky_loss=3.087,
    sky_loss_warm=0.05066,
    surface_shift=-0.7476,
    shift_dry=-1.509,
    shift_arid=-1.612,
    wet_bend=0.3349,
    rain_wetting=0.994,
    wetting_rain=1.352,
    seed_capacity=30.0,
    root_capacity=298.5,
    seed_rate=0.7,
    root_rate=0.2659,
    snow_middle=-2.987,
    snow_width=6.383,
    melt=0.8566,
    melt_by_sun=0.2302,
    melt_from=0.1112,
    new_snow_density=0.1542,
    old_snow_density=0.1896,
    settle=0.1461,
    settle_warm=0.2,
    snow_conductivity=1.255,
    half_cover=17.83,
    snow_surface=-5.16,
    exchange=4.693,
    snow_exchange=1.56,
    conductivity=0.1658,
    conductivity_wet=0.8572,
    capacity=1.482,
    capacity_wet=3.057,
    latent=90.36,
    latent_wet=149.6,
    curtain_depth=0.491,
    curtain_share=0.7676,
    upper=0.1108,
    middle=0.2634,
    lower=0.5147,
    deep_rate=0.00522,
    deep_shift=-0.03936,
    rain_scale=16.5,
    rain_range=26.6,
    rain_warm=0.03,
)
"""For records with precipitation."""

WITHOUT_PRECIPITATION = Parameters(
    weight_tmax=0.4741,
    range_to_sun=0.1866,
    sun_wet=0.3035,
    sun_dry=0.25,
    sun_arid=0.3694,
    sky_loss=3.087,
    sky_loss_warm=0.05066,
    surface_shift=-0.7476,
    shift_dry=-1.509,
    shift_arid=-1.612,
    wet_bend=0.3349,
    rain_wetting=0.994,
    wetting_rain=1.352,
    seed_capacity=30.0,
    root_capacity=298.5,
    seed_rate=0.7,
    root_rate=0.2659,
    snow_middle=-2.987,
    snow_width=6.383,
    melt=0.8566,
    melt_by_sun=0.2302,
    melt_from=0.1112,
    new_snow_density=0.1542,
    old_snow_density=0.1896,
    settle=0.1461,
    settle_warm=0.2,
    snow_conductivity=1.255,
    half_cover=17.83,
    snow_surface=-5.16,
    exchange=4.693,
    snow_exchange=1.56,
    conductivity=0.1658,
    conductivity_wet=0.8572,
    capacity=1.482,
    capacity_wet=3.057,
    latent=90.36,
    latent_wet=149.6,
    curtain_depth=0.491,
    curtain_share=0.7676,
    upper=0.1108,
    middle=0.2634,
    lower=0.5147,
    deep_rate=0.00522,
    deep_shift=-0.03936,
    rain_scale=16.5,
    rain_range=26.6,
    rain_warm=0.03,
)
"""For records of temperature alone: rain and snow are guessed from the daily range."""
