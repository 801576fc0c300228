"""The parameters of the seed-zone model: what they mean, their units, the two fitted sets, and the ground covers.

Fitted on 76 stations of the U.S. Climate Reference Network (open short grass, 5 cm) by the script
``examples/seed_zone_model/fit.py``; the same numbers, with the range the fit could choose from, are in
``data/seed_zone_parameters.csv``.

A cover changes sun, insulation, evaporation and the night sky over the seed. Short grass is what the model was fitted
and checked on. The other covers are assumptions of ours, set from the order of magnitude that textbooks give for the
material (conductivity of loose straw or leaves about 0.07 to 0.1 W m-1 K-1, from memory); no thermometer record under
them was used. Calibrating with a logger replaces them.
"""

from __future__ import annotations

from dataclasses import dataclass

from chillplan.errors import InputError, quoted

__all__ = ["COVER_TABLE", "WITHOUT_PRECIPITATION", "WITH_PRECIPITATION", "Cover", "Parameters", "cover_named"]


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
    weight_tmax=0.4597,
    range_to_sun=0.1892,
    sun_wet=0.2837,
    sun_dry=0.3776,
    sun_arid=0.1488,
    sky_loss=2.84,
    sky_loss_warm=0.03122,
    surface_shift=-0.3801,
    shift_dry=-1.529,
    shift_arid=-0.7367,
    wet_bend=0.1961,
    rain_wetting=0.5338,
    wetting_rain=0.9923,
    seed_capacity=30.0,
    root_capacity=313.5,
    seed_rate=0.7,
    root_rate=0.3928,
    snow_middle=-0.08134,
    snow_width=3.944,
    melt=1.992,
    melt_by_sun=0.1196,
    melt_from=-0.1208,
    new_snow_density=0.1156,
    old_snow_density=0.2963,
    settle=0.04525,
    settle_warm=0.1199,
    snow_conductivity=1.238,
    half_cover=7.735,
    snow_surface=-1.427,
    exchange=4.585,
    snow_exchange=7.55,
    conductivity=0.1865,
    conductivity_wet=0.7871,
    capacity=1.256,
    capacity_wet=2.922,
    latent=16.17,
    latent_wet=84.16,
    curtain_depth=0.7854,
    curtain_share=0.7053,
    upper=0.1147,
    middle=0.2318,
    lower=0.5741,
    deep_rate=0.004673,
    deep_shift=-1.041,
    rain_scale=16.0,
    rain_range=26.0,
    rain_warm=0.03,
    rain_height=0.0,
)
"""For records with precipitation."""

WITHOUT_PRECIPITATION = Parameters(
    weight_tmax=0.4812,
    range_to_sun=0.1635,
    sun_wet=0.2563,
    sun_dry=0.3242,
    sun_arid=0.02458,
    sky_loss=2.436,
    sky_loss_warm=0.003268,
    surface_shift=-0.5359,
    shift_dry=-0.5886,
    shift_arid=-0.09147,
    wet_bend=0.009895,
    rain_wetting=0.3009,
    wetting_rain=3.025,
    seed_capacity=30.0,
    root_capacity=171.8,
    seed_rate=0.7,
    root_rate=0.3711,
    snow_middle=0.1859,
    snow_width=3.926,
    melt=1.918,
    melt_by_sun=0.09704,
    melt_from=0.0231,
    new_snow_density=0.1244,
    old_snow_density=0.3037,
    settle=0.06582,
    settle_warm=0.05596,
    snow_conductivity=1.257,
    half_cover=10.3,
    snow_surface=-1.681,
    exchange=5.467,
    snow_exchange=6.039,
    conductivity=0.3588,
    conductivity_wet=0.6925,
    capacity=1.237,
    capacity_wet=2.524,
    latent=20.97,
    latent_wet=80.07,
    curtain_depth=0.5305,
    curtain_share=0.7016,
    upper=0.1071,
    middle=0.2524,
    lower=0.7148,
    deep_rate=0.004213,
    deep_shift=-0.2877,
    rain_scale=12.68,
    rain_range=25.29,
    rain_warm=0.03292,
    rain_height=0.0,
)
"""For records of temperature alone: rain and snow are guessed from the daily range."""


@dataclass(frozen=True)
class Cover:
    """A ground cover relative to short grass.

    Attributes
    ----------
    name : str
    sun : float
        Share of the sun's warming that reaches the surface. [-]
    insulation : float
        Added thermal resistance. [m2 K W-1]
    exchange : float
        Factor on the resistance of the grass. [-]
    evaporation : float
        Share of the evaporation demand. [-]
    arriving : float
        Share of the precipitation that reaches the ground. [-]
    sky : float
        Share of the night sky the ground sees. [-]
    measured : bool
        Whether the row rests on thermometer records.
    note : str
        What it stands for.
    """

    name: str
    sun: float
    insulation: float
    exchange: float
    evaporation: float
    arriving: float
    sky: float
    measured: bool
    note: str


COVER_TABLE = (
    Cover("bare", 1.2, 0.0, 0.8, 0.8, 1.0, 1.0, False, "no plants; more sun, less between air and soil"),
    Cover("short grass", 1.0, 0.0, 1.0, 1.0, 1.0, 1.0, True, "mown grass, open plot: 76 stations at 5 cm"),
    Cover("tall grass", 0.6, 0.05, 1.2, 1.1, 0.95, 0.7, False, "sward of 20 to 40 cm"),
    Cover("leaf mulch", 0.6, 0.5, 1.0, 0.5, 0.95, 1.0, False, "5 cm of loose leaves"),
    Cover("straw mulch", 0.6, 1.0, 1.0, 0.4, 0.95, 1.0, False, "8 cm of loose straw"),
    Cover("tree canopy", 0.35, 0.1, 1.0, 0.5, 0.8, 0.3, False, "closed trees over thin litter"),
)
"""All covers, short grass being the reference. [see :class:`Cover`]"""


def cover_named(name: str) -> Cover:
    """The row of the table with that name.

    Raises
    ------
    InputError
        If the name is not in the table.
    """
    for cover in COVER_TABLE:
        if cover.name == name:
            return cover
    known = ", ".join(cover.name for cover in COVER_TABLE)
    raise InputError(f"cover {quoted(name)} is not known: use one of {known}")
