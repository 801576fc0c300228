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
    """Constants of the day steps; see :class:`chillplan.physics.parameters.Parameters` for meaning and units.

    First the parameters that are read as they are, then what follows from them, last what is the same for all.
    """

    weight_tmax: Any
    range_to_sun: Any
    sky_loss: Any
    sky_loss_warm: Any
    shift_dry: Any
    wet_bend: Any
    rain_wetting: Any
    seed_capacity: Any
    root_capacity: Any
    seed_rate: Any
    root_rate: Any
    melt: Any
    melt_by_sun: Any
    melt_from: Any
    settle: Any
    settle_warm: Any
    half_cover: Any
    snow_surface: Any
    conductivity: Any
    conductivity_wet: Any
    capacity: Any
    capacity_wet: Any
    latent: Any
    latent_wet: Any
    curtain_depth: Any
    curtain_share: Any
    upper: Any
    middle: Any
    lower: Any
    deep_rate: Any
    deep_shift: Any
    rain_warm: Any

    per_wetting_rain: Any
    per_seed: Any
    per_root: Any
    per_half_seed: Any
    per_half_root: Any
    all_rain: Any
    snow_per_degree: Any
    new_snow_bulk: Any
    old_snow_bulk: Any
    sturm_constant: Any
    sturm_linear: Any
    sturm_square: Any
    grass: Any
    grass_under_snow: Any
    capacity_ice: Any
    rest_depth: Any
    rest_share: Any
    half_upper: Any
    per_upper_middle: Any
    per_middle_lower: Any
    per_lower_deep: Any
    per_rain_range: Any

    zero: Any = 0.0
    one: Any = 1.0
    half: Any = 0.5
    millimetre: Any = 0.001
    watt_day: Any = WATT_DAY
    trace: Any = TRACE
    clear_share: Any = 0.75
    per_clear_share: Any = 1 / 0.75
    demand: Any = 0.0023 * 0.408
    demand_shift: Any = 17.8
    night_shelter: Any = NIGHT_SHELTER
    melt_by_rain: Any = RAIN_HEAT
    ground_melt: Any = WATT_DAY / HEAT_OF_FUSION
    deep_heating: Any = DEEP_HEATING_SHARE
    rain_mild: Any = 10.0
    rain_least: Any = 0.2
    rain_most: Any = 2.0


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
    alike = {name: getattr(p, name) for name in Coefficients._fields if hasattr(p, name)}
    return Coefficients(
        **alike,
        per_wetting_rain=1 / p.wetting_rain,
        per_seed=1 / p.seed_capacity,
        per_root=1 / p.root_capacity,
        per_half_seed=2 / p.seed_capacity,
        per_half_root=2 / p.root_capacity,
        all_rain=p.snow_middle + p.snow_width / 2,
        snow_per_degree=1 / p.snow_width,
        new_snow_bulk=1 / p.new_snow_density,
        old_snow_bulk=1 / p.old_snow_density,
        sturm_constant=STURM[0] * p.snow_conductivity,
        sturm_linear=STURM[1] * p.snow_conductivity,
        sturm_square=STURM[2] * p.snow_conductivity,
        grass=1 / p.exchange,
        grass_under_snow=1 / p.snow_exchange,
        capacity_ice=p.capacity_wet * ICE_CAPACITY_SHARE,
        rest_depth=LAST_FREEZING - p.curtain_depth,
        rest_share=1 - p.curtain_share,
        half_upper=p.upper / 2,
        per_upper_middle=2 / (p.upper + p.middle),
        per_middle_lower=2 / (p.middle + p.lower),
        per_lower_deep=1 / (p.lower / 2 + DEEP_DISTANCE),
        per_rain_range=1 / p.rain_range,
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
