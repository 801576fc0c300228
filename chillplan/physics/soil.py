"""Heat in the ground: three layers that store heat and ice, between the surface and a slow deep temperature.

The state of a layer is its enthalpy by volume, so that heat is conserved to rounding whatever freezes or thaws. Fluxes
are implicit (linearised about the state of the day before), so a step of one day is stable at any conductivity.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from chillplan.physics.elementwise import choose, greater, lesser

__all__ = ["HeatDay", "Thermal", "layer_temperature", "soil_step", "thermal_properties"]


class Thermal(NamedTuple):
    """What a layer's enthalpy means at a given wetness.

    Attributes
    ----------
    conductivity : Any
        [W m-1 K-1]
    first, last : Any
        Enthalpy where most, and where all, of the freezable water is ice. [MJ m-3]
    thawed, curtain, freezing, frozen : Any
        Degrees per unit of enthalpy above 0 °C, in the zero curtain, below it, and when frozen. [K m3 MJ-1]
    """

    conductivity: Any
    first: Any
    last: Any
    thawed: Any
    curtain: Any
    freezing: Any
    frozen: Any


class HeatDay(NamedTuple):
    """Heat in the ground after a day.

    Attributes
    ----------
    upper, middle, lower : Any
        Enthalpy of the layers. [MJ m-3]
    deep : Any
        Slow temperature below them. [°C]
    upper_temperature, middle_temperature : Any
        [°C]
    flux : Any
        Heat that entered at the top. [MJ m-2 d-1]
    lost : Any
        Heat that left at the bottom. [MJ m-2 d-1]
    """

    upper: Any
    middle: Any
    lower: Any
    deep: Any
    upper_temperature: Any
    middle_temperature: Any
    flux: Any
    lost: Any


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
    return Thermal(
        c.conductivity + c.conductivity_wet * wet,
        first,
        first - second,
        c.one / capacity,
        -c.curtain_depth / first,
        c.rest_depth / second,
        c.one / ice_capacity,
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
    curtain = lesser(greater(enthalpy, heat.first), c.zero)
    freezing = lesser(greater(enthalpy, heat.last), heat.first) - heat.first
    frozen = lesser(enthalpy, heat.last) - heat.last
    thawed = greater(enthalpy, c.zero)
    return thawed * heat.thawed + curtain * heat.curtain + freezing * heat.freezing + frozen * heat.frozen


def _slope(enthalpy: Any, heat: Thermal, c: Any) -> Any:
    below = choose(enthalpy >= heat.last, heat.freezing, heat.frozen)
    cold = choose(enthalpy >= heat.first, heat.curtain, below)
    return choose(enthalpy >= c.zero, heat.thawed, cold)


def soil_step(
    upper: Any, middle: Any, lower: Any, deep: Any, surface: Any, above: Any, resistance: Any, wet: Any, c: Any
) -> HeatDay:
    """One day of heat in the ground.

    Parameters
    ----------
    upper, middle, lower : array_like
        Enthalpy of the layers at the end of the day before. [MJ m-3]
    deep : array_like
        Slow deep temperature. [°C]
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
    heat = thermal_properties(wet, c)
    t1 = layer_temperature(upper, heat, c)
    t2 = layer_temperature(middle, heat, c)
    t3 = layer_temperature(lower, heat, c)
    s1, s2, s3 = _slope(upper, heat, c), _slope(middle, heat, c), _slope(lower, heat, c)
    through = c.watt_day * heat.conductivity
    top = c.watt_day * heat.conductivity / (resistance * heat.conductivity + c.half_upper)
    between, below, bottom = through * c.per_upper_middle, through * c.per_middle_lower, through * c.per_lower_deep
    # Three equations in the changes of enthalpy, solved from the top down and back up (tridiagonal elimination).
    down1 = top * (surface - t1) + between * (t2 - t1)
    down2 = between * (t1 - t2) + below * (t3 - t2)
    down3 = below * (t2 - t3) + bottom * (deep - t3)
    main1 = c.upper + (top + between) * s1
    ratio1 = between * s1 / main1
    main2 = c.middle + (between + below) * s2 - ratio1 * between * s2
    right2 = down2 + ratio1 * down1
    ratio2 = below * s2 / main2
    main3 = c.lower + (below + bottom) * s3 - ratio2 * below * s3
    change3 = (down3 + ratio2 * right2) / main3
    change2 = (right2 + below * s3 * change3) / main2
    change1 = (down1 + between * s2 * change2) / main1
    upper, middle, lower = upper + change1, middle + change2, lower + change3
    return HeatDay(
        upper,
        middle,
        lower,
        deep + c.deep_rate * (above - deep),
        layer_temperature(upper, heat, c),
        layer_temperature(middle, heat, c),
        top * (surface - t1 - s1 * change1),
        bottom * (t3 + s3 * change3 - deep),
    )
