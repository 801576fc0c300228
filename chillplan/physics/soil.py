"""Heat in the ground: three layers that store heat and ice, between the surface and a slow deep temperature.

The state of a layer is its enthalpy by volume, so that heat is conserved to rounding whatever freezes or thaws. Fluxes
are implicit (linearised about the state of the day before), so a step of one day is stable at any conductivity.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from chillplan.physics.lanes import choose

__all__ = ["HeatDay", "Layers", "Thermal", "layer_temperature", "soil_step", "thermal_properties"]


class Thermal(NamedTuple):
    """What a layer's enthalpy means at a given wetness: temperature by four straight lines."""

    conductivity: Any  # [W m-1 K-1]
    # enthalpy where most, and where all, of the freezable water is ice [MJ m-3]
    first: Any
    last: Any
    # degrees per unit of enthalpy above 0 °C, in the zero curtain, below it, and when frozen [K m3 MJ-1]
    thawed: Any
    curtain: Any
    freezing: Any
    frozen: Any
    # where the lines of freezing and frozen ground would cross zero enthalpy; the two others cross it at 0 °C [°C]
    freezing_from: Any
    frozen_from: Any


class Layers(NamedTuple):
    """What the ground hands from day to day."""

    upper: Any  # enthalpy of the layers [MJ m-3]
    middle: Any
    lower: Any
    deep: Any  # slow temperature below them [°C]


class HeatDay(NamedTuple):
    """Heat in the ground after a day."""

    layers: Layers
    upper_temperature: Any  # [°C]
    middle_temperature: Any  # [°C]
    gradient: Any  # fall of the temperature with depth at the top of the ground [K m-1]
    flux: Any  # heat that entered at the top [MJ m-2 d-1]
    lost: Any  # heat that left at the bottom [MJ m-2 d-1]


def thermal_properties(wet: Any, c: Any) -> Thermal:
    """Conductivity, heat capacity and latent heat of ground of a given wetness.

    Parameters
    ----------
    wet : array_like
        Relative water content, 0 to 1. [-]
    c : Coefficients

    Returns
    -------
    Thermal

    References
    ----------
    Linear in water content (Campbell and Norman 1998, ch. 8, for the heat capacity); part of the water stays liquid
    below 0 °C, here by two straight pieces instead of a freezing curve. Coefficients fitted.
    """
    capacity = c.capacity + c.capacity_wet * wet
    ice_capacity = c.capacity + c.capacity_ice * wet
    latent = c.latent + c.latent_wet * wet
    first = -(c.curtain_share * latent + capacity * c.curtain_depth)
    second = c.rest_share * latent + ice_capacity * c.rest_depth
    # One division serves for four quotients.
    capacities, pieces = capacity * ice_capacity, first * second
    inverse = c.one / (capacities * pieces)
    per_capacities, per_pieces = pieces * inverse, capacities * inverse
    curtain = -c.curtain_depth * second * per_pieces
    freezing = c.rest_depth * first * per_pieces
    frozen = capacity * per_capacities
    last = first - second
    freezing_from = (curtain - freezing) * first
    return Thermal(
        c.conductivity + c.conductivity_wet * wet,
        first,
        last,
        ice_capacity * per_capacities,
        curtain,
        freezing,
        frozen,
        freezing_from,
        freezing_from + (freezing - frozen) * last,
    )


def layer_temperature(enthalpy: Any, heat: Thermal, c: Any) -> Any:
    """Temperature of a layer from its enthalpy: four straight pieces, continuous and rising.

    Parameters
    ----------
    enthalpy : array_like
        0 at 0 °C and all water liquid. [MJ m-3]
    heat : Thermal
    c : Coefficients

    Returns
    -------
    array_like
        [°C]
    """
    slope, start = _line(enthalpy, heat, c)
    return slope * enthalpy + start


def _line(enthalpy: Any, heat: Thermal, c: Any) -> tuple[Any, Any]:
    """Slope of the straight piece an enthalpy lies on, and where that line crosses zero enthalpy."""
    curtain, freezing = enthalpy >= heat.first, enthalpy >= heat.last
    cold = choose(curtain, heat.curtain, choose(freezing, heat.freezing, heat.frozen))
    start = choose(curtain, c.zero, choose(freezing, heat.freezing_from, heat.frozen_from))
    return choose(enthalpy >= c.zero, heat.thawed, cold), start


def soil_step(layers: Layers, surface: Any, above: Any, resistance: Any, wet: Any, c: Any) -> HeatDay:
    """One day of heat in the ground.

    Parameters
    ----------
    layers : Layers
        At the end of the day before.
    surface : array_like
        Temperature that drives the ground from above snow, mulch and grass. [°C]
    above : array_like
        Air-side temperature that the deep temperature follows over the years. [°C]
    resistance : array_like
        Between that surface and the top of the ground. [m2 K W-1]
    wet : array_like
        Relative water content, 0 to 1. [-]
    c : Coefficients

    Returns
    -------
    HeatDay
        Closes to rounding: the change of the three layers' heat equals `flux` less `lost`.
    """
    upper, middle, lower, deep = layers
    heat = thermal_properties(wet, c)
    s1, start1 = _line(upper, heat, c)
    s2, start2 = _line(middle, heat, c)
    s3, start3 = _line(lower, heat, c)
    t1, t2, t3 = s1 * upper + start1, s2 * middle + start2, s3 * lower + start3
    through = c.watt_day * heat.conductivity
    between, below, bottom = through * c.per_upper_middle, through * c.per_middle_lower, through * c.per_lower_deep
    # Three equations in the changes of enthalpy, the first multiplied by the resistance above it so that nothing is
    # divided yet; solved by determinants, for one division serves them all.
    barrier = resistance * heat.conductivity + c.half_upper
    fall2 = between * (t1 - t2)
    down1 = through * (surface - t1) - barrier * fall2
    down2 = fall2 - below * (t2 - t3)
    down3 = below * (t2 - t3) + bottom * (deep - t3)
    up2, up3 = between * s2 * barrier, below * s3
    left1, left2 = between * s1, below * s2
    main1 = c.upper * barrier + through * s1 + barrier * left1
    main2 = c.middle + (between + below) * s2
    main3 = c.lower + (below + bottom) * s3
    first_pair, last_pair = main1 * main2 - up2 * left1, main2 * main3 - up3 * left2
    determinant = main1 * last_pair - up2 * left1 * main3
    inverse = c.one / (determinant * barrier)
    share = barrier * inverse
    from_below, from_above = down2 * main3 + up3 * down3, main1 * down2 + left1 * down1
    change1 = (down1 * last_pair + up2 * from_below) * share
    change2 = (main1 * from_below + left1 * main3 * down1) * share
    change3 = (first_pair * down3 + left2 * from_above) * share
    gradient = (surface - t1 - s1 * change1) * (determinant * inverse)
    upper, middle, lower = upper + change1, middle + change2, lower + change3
    return HeatDay(
        Layers(upper, middle, lower, deep + c.deep_rate * (above - deep)),
        layer_temperature(upper, heat, c),
        layer_temperature(middle, heat, c),
        gradient,
        through * gradient,
        bottom * (t3 + s3 * change3 - deep),
    )
