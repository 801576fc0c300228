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


WITH_PRECIPITATION = Parameters(
    weight_tmax=0.4885,
    range_to_sun=0.1906,
    sun_wet=0.2943,
    sun_dry=0.2341,
    sun_arid=0.369,
    sky_loss=3.05,
    sky_loss_warm=0.04259,
    surface_shift=-0.975,
    shift_dry=-1.358,
    shift_arid=-1.654,
    wet_bend=0.5102,
    rain_wetting=1.052,
    wetting_rain=1.26,
    seed_capacity=30.0,
    root_capacity=297.4,
    seed_rate=0.7,
    root_rate=0.2808,
    snow_middle=-3.448,
    snow_width=6.976,
    melt=0.4339,
    melt_by_sun=0.2591,
    melt_from=0.2772,
    new_snow_density=0.1502,
    old_snow_density=0.1999,
    settle=0.1622,
    settle_warm=0.1954,
    snow_conductivity=1.123,
    half_cover=20.83,
    snow_surface=-6.106,
    exchange=4.615,
    snow_exchange=1.403,
    conductivity=0.1928,
    conductivity_wet=0.8269,
    capacity=1.598,
    capacity_wet=2.929,
    latent=91.87,
    latent_wet=165.1,
    curtain_depth=0.4454,
    curtain_share=0.8039,
    upper=0.1075,
    middle=0.2365,
    lower=0.4914,
    deep_rate=0.005257,
    deep_shift=0.1579,
    rain_scale=16.5,
    rain_range=26.6,
    rain_warm=0.03,
    rain_height=0.0,
)
"""For records with precipitation."""

WITHOUT_PRECIPITATION = Parameters(
    weight_tmax=0.5179,
    range_to_sun=0.1821,
    sun_wet=0.2414,
    sun_dry=0.3211,
    sun_arid=0.1587,
    sky_loss=3.078,
    sky_loss_warm=0.01528,
    surface_shift=-0.6054,
    shift_dry=-3.119,
    shift_arid=0.1466,
    wet_bend=-0.2639,
    rain_wetting=0.8299,
    wetting_rain=4.171,
    seed_capacity=30.0,
    root_capacity=362.4,
    seed_rate=0.7,
    root_rate=0.3641,
    snow_middle=-2.745,
    snow_width=10.0,
    melt=0.1874,
    melt_by_sun=0.1921,
    melt_from=-0.7773,
    new_snow_density=0.1158,
    old_snow_density=0.2354,
    settle=0.1062,
    settle_warm=0.3078,
    snow_conductivity=1.752,
    half_cover=30.0,
    snow_surface=-4.789,
    exchange=4.443,
    snow_exchange=1.371,
    conductivity=0.3142,
    conductivity_wet=0.2977,
    capacity=1.673,
    capacity_wet=1.877,
    latent=83.82,
    latent_wet=31.9,
    curtain_depth=0.5899,
    curtain_share=0.8413,
    upper=0.1345,
    middle=0.2274,
    lower=0.6239,
    deep_rate=0.003666,
    deep_shift=1.506,
    rain_scale=22.11,
    rain_range=24.05,
    rain_warm=0.0317,
    rain_height=0.0,
)
"""For records of temperature alone: rain and snow are guessed from the daily range."""
