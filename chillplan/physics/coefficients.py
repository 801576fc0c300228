"""What the day steps read: parameters turned into the constants of the arithmetic.

Everything a step multiplies by is here, also zero and one, so that a step compiled for single precision stays in single
precision: :func:`cast` gives the same numbers in another type.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.parameters import Parameters

__all__ = ["Coefficients", "cast", "coefficients_of", "record"]

WATT_DAY = 0.0864
"""One watt for one day. [MJ]"""

HEAT_OF_FUSION = 0.334
"""Heat that melts a kilogram of ice. [MJ kg-1]"""

RAIN_HEAT = 4.186e-3 / HEAT_OF_FUSION
"""Snow melted by a millimetre of rain per degree. [°C-1]"""

STURM = (0.138, -1.01, 3.233)
"""Conductivity of snow over density, quadratic (Sturm et al. 1997). [W m-1 K-1 at g cm-3]"""

LAST_FREEZING = 12.0
"""Degrees below 0 °C at which the last freezable water is ice (assumed). [°C]"""

ICE_CAPACITY_SHARE = 0.5
"""Heat capacity of ice to water by volume, about 1.9 to 4.2. [-]"""

DEEP_DISTANCE = 1.0
"""From the bottom of the lower layer to where the deep temperature holds. [m]"""

DEEP_HEATING_SHARE = 0.5
"""Share of the surface's warming over the air that the deep temperature follows (assumed). [-]"""

NIGHT_SHELTER = 2.0
"""What a closed canopy keeps of the cooling of a clear night (common practice, no source). [°C]"""

TRACE = 0.01
"""Snow water counted as none. [mm]"""


class Coefficients(NamedTuple):
    """Constants of the day steps; see :class:`chillplan.physics.parameters.Parameters` for meaning and units."""

    zero: Any
    one: Any
    half: Any
    millimetre: Any
    watt_day: Any
    trace: Any
    clear_share: Any
    per_clear_share: Any
    demand: Any
    demand_shift: Any
    night_shelter: Any
    weight_tmax: Any
    range_to_sun: Any
    sky_loss: Any
    sky_loss_warm: Any
    shift_dry: Any
    wet_bend: Any
    rain_wetting: Any
    per_wetting_rain: Any
    seed_capacity: Any
    root_capacity: Any
    seed_rate: Any
    root_rate: Any
    per_seed: Any
    per_root: Any
    per_half_seed: Any
    per_half_root: Any
    all_rain: Any
    snow_per_degree: Any
    melt: Any
    melt_by_sun: Any
    melt_from: Any
    melt_by_rain: Any
    ground_melt: Any
    new_snow_bulk: Any
    old_snow_bulk: Any
    settle: Any
    settle_warm: Any
    sturm_constant: Any
    sturm_linear: Any
    sturm_square: Any
    half_cover: Any
    snow_surface: Any
    grass: Any
    grass_under_snow: Any
    conductivity: Any
    conductivity_wet: Any
    capacity: Any
    capacity_wet: Any
    capacity_ice: Any
    latent: Any
    latent_wet: Any
    curtain_depth: Any
    curtain_share: Any
    rest_depth: Any
    rest_share: Any
    upper: Any
    middle: Any
    lower: Any
    half_upper: Any
    per_upper_middle: Any
    per_middle_lower: Any
    per_lower_deep: Any
    deep_rate: Any
    deep_shift: Any
    deep_heating: Any
    per_rain_range: Any
    rain_warm: Any
    rain_mild: Any
    rain_least: Any
    rain_most: Any


def coefficients_of(p: Parameters) -> Coefficients:
    """The constants that follow from a set of parameters.

    Parameters
    ----------
    p : Parameters

    Returns
    -------
    Coefficients
        Python floats, which take the type of the arrays they meet.
    """
    return Coefficients(
        zero=0.0,
        one=1.0,
        half=0.5,
        millimetre=0.001,
        watt_day=WATT_DAY,
        trace=TRACE,
        clear_share=0.75,
        per_clear_share=1 / 0.75,
        demand=0.0023 * 0.408,
        demand_shift=17.8,
        night_shelter=NIGHT_SHELTER,
        weight_tmax=p.weight_tmax,
        range_to_sun=p.range_to_sun,
        sky_loss=p.sky_loss,
        sky_loss_warm=p.sky_loss_warm,
        shift_dry=p.shift_dry,
        wet_bend=p.wet_bend,
        rain_wetting=p.rain_wetting,
        per_wetting_rain=1 / p.wetting_rain,
        seed_capacity=p.seed_capacity,
        root_capacity=p.root_capacity,
        seed_rate=p.seed_rate,
        root_rate=p.root_rate,
        per_seed=1 / p.seed_capacity,
        per_root=1 / p.root_capacity,
        per_half_seed=2 / p.seed_capacity,
        per_half_root=2 / p.root_capacity,
        all_rain=p.snow_middle + p.snow_width / 2,
        snow_per_degree=1 / p.snow_width,
        melt=p.melt,
        melt_by_sun=p.melt_by_sun,
        melt_from=p.melt_from,
        melt_by_rain=RAIN_HEAT,
        ground_melt=WATT_DAY / HEAT_OF_FUSION,
        new_snow_bulk=1 / p.new_snow_density,
        old_snow_bulk=1 / p.old_snow_density,
        settle=p.settle,
        settle_warm=p.settle_warm,
        sturm_constant=STURM[0] * p.snow_conductivity,
        sturm_linear=STURM[1] * p.snow_conductivity,
        sturm_square=STURM[2] * p.snow_conductivity,
        half_cover=p.half_cover,
        snow_surface=p.snow_surface,
        grass=1 / p.exchange,
        grass_under_snow=1 / p.snow_exchange,
        conductivity=p.conductivity,
        conductivity_wet=p.conductivity_wet,
        capacity=p.capacity,
        capacity_wet=p.capacity_wet,
        capacity_ice=p.capacity_wet * ICE_CAPACITY_SHARE,
        latent=p.latent,
        latent_wet=p.latent_wet,
        curtain_depth=p.curtain_depth,
        curtain_share=p.curtain_share,
        rest_depth=LAST_FREEZING - p.curtain_depth,
        rest_share=1 - p.curtain_share,
        upper=p.upper,
        middle=p.middle,
        lower=p.lower,
        half_upper=p.upper / 2,
        per_upper_middle=2 / (p.upper + p.middle),
        per_middle_lower=2 / (p.middle + p.lower),
        per_lower_deep=1 / (p.lower / 2 + DEEP_DISTANCE),
        deep_rate=p.deep_rate,
        deep_shift=p.deep_shift,
        deep_heating=DEEP_HEATING_SHARE,
        per_rain_range=1 / p.rain_range,
        rain_warm=p.rain_warm,
        rain_mild=10.0,
        rain_least=0.2,
        rain_most=2.0,
    )


def cast(coefficients: Any, kind: Any) -> Any:
    """The same named tuple with every number in another type.

    Parameters
    ----------
    coefficients : Coefficients or another named tuple of numbers
    kind : type
        For example ``numpy.float32``.

    Returns
    -------
    named tuple of the same class
    """
    return type(coefficients)(*(kind(value) for value in coefficients))


def record(coefficients: Any, kind: Any) -> Any:
    """The same numbers side by side in memory, for compiled loops: ``record(...)[0].one`` reads one of them there.

    Parameters
    ----------
    coefficients : Coefficients or another named tuple of numbers
    kind : type
        For example ``numpy.float32``.

    Returns
    -------
    numpy.ndarray, shape (1,)
        Structured, one field a number.
    """
    return np.array([tuple(coefficients)], dtype=[(name, kind) for name in coefficients._fields])
