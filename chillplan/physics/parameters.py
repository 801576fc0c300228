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
    rain_scale, rain_range, rain_warm, rain_height : float
        Precipitation guessed where none is known: at no daily range and 10 °C; the range at which it ends; its increase
        with temperature, and with elevation. [mm d-1, °C, °C-1, km-1]
    snow_arid : float
        Share of the snow's insulation lost from a moist to a rainless climate, where wind packs and carries it off. [-]
    exchange_arid : float
        Share of the grass's resistance lost from a moist to a rainless climate, where the ground is barer. [-]
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
    rain_height: float = 0.0
    snow_arid: float = 0.0
    exchange_arid: float = 0.0


WITH_PRECIPITATION = Parameters(
    weight_tmax=0.4811,
    range_to_sun=0.1971,
    sun_wet=0.2771,
    sun_dry=0.3052,
    sun_arid=0.2659,
    sky_loss=2.923,
    sky_loss_warm=0.04357,
    surface_shift=-0.5442,
    shift_dry=-2.018,
    shift_arid=-0.7838,
    wet_bend=0.08163,
    rain_wetting=0.5178,
    wetting_rain=0.6963,
    seed_capacity=30.0,
    root_capacity=294.5,
    seed_rate=0.7,
    root_rate=0.4154,
    snow_middle=-2.109,
    snow_width=5.814,
    melt=1.294,
    melt_by_sun=0.1591,
    melt_from=0.03384,
    new_snow_density=0.1199,
    old_snow_density=0.2869,
    settle=0.02836,
    settle_warm=0.1089,
    snow_conductivity=0.989,
    half_cover=7.771,
    snow_surface=-3.168,
    exchange=4.738,
    snow_exchange=2.008,
    conductivity=0.304,
    conductivity_wet=0.5261,
    capacity=1.27,
    capacity_wet=2.66,
    latent=39.25,
    latent_wet=142.9,
    curtain_depth=0.7437,
    curtain_share=0.7759,
    upper=0.1264,
    middle=0.3131,
    lower=0.6736,
    deep_rate=0.00668,
    deep_shift=-1.474,
    rain_scale=16.0,
    rain_range=26.0,
    rain_warm=0.03,
    rain_height=0.0,
    snow_arid=0.8128,
    exchange_arid=0.4505,
)
"""For records with precipitation."""

WITHOUT_PRECIPITATION = Parameters(
    weight_tmax=0.4778,
    range_to_sun=0.1641,
    sun_wet=0.2564,
    sun_dry=0.3296,
    sun_arid=0.04903,
    sky_loss=2.628,
    sky_loss_warm=-0.002692,
    surface_shift=-0.656,
    shift_dry=-0.741,
    shift_arid=-0.0478,
    wet_bend=0.01422,
    rain_wetting=0.2984,
    wetting_rain=3.04,
    seed_capacity=30.0,
    root_capacity=169.5,
    seed_rate=0.7,
    root_rate=0.3438,
    snow_middle=-0.307,
    snow_width=3.958,
    melt=1.86,
    melt_by_sun=0.1129,
    melt_from=-0.1884,
    new_snow_density=0.1327,
    old_snow_density=0.3038,
    settle=0.06012,
    settle_warm=0.05462,
    snow_conductivity=1.407,
    half_cover=10.36,
    snow_surface=-2.175,
    exchange=5.676,
    snow_exchange=5.059,
    conductivity=0.3406,
    conductivity_wet=0.6706,
    capacity=1.204,
    capacity_wet=2.508,
    latent=25.04,
    latent_wet=85.62,
    curtain_depth=0.4859,
    curtain_share=0.7105,
    upper=0.1105,
    middle=0.2542,
    lower=0.702,
    deep_rate=0.003424,
    deep_shift=-0.1864,
    rain_scale=12.1,
    rain_range=26.05,
    rain_warm=0.03224,
    rain_height=-0.03119,
    snow_arid=0.1251,
    exchange_arid=0.0,
)
"""For records of temperature alone: rain and snow are guessed from the daily range."""
