"""Refuses a record that cannot be of the site: another place, another height, another climate or unit."""

from __future__ import annotations

import numpy as np

from chillplan.errors import InputError, quoted
from chillplan.site import Site
from chillplan.weather.history import History, Provenance
from chillplan.weather.nearness import distance_km

__all__ = ["refuse_other_climate", "refuse_other_place"]

# A record from farther away says nothing of the site's winters. Common practice, no source.
_FARTHEST_KM = 1500.0
_NEAR_KM = 300.0
# Lapse rates were measured over less than this. Common practice, no source. [m]
_HIGHEST_CLIMB = 3000.0
_LOWEST_LAND = -430.0  # shore of the Dead Sea [m]
# Coldest and warmest yearly means of land at sea level by latitude, with room to spare. From memory of climate normals
# (Yakutsk -9 °C at 62 degrees, Harbin 4, Wuhan 17; Dallol 35), no single source. [degrees, °C]
_LATITUDES = (0.0, 30.0, 45.0, 60.0, 75.0, 90.0)
_COLDEST = (16.0, 8.0, -3.0, -17.0, -26.0, -60.0)
_WARMEST = (36.0, 35.0, 24.0, 15.0, 7.0, 0.0)
_LAPSE = 6.5  # of the standard atmosphere [°C/km]
_NARROWEST = 1.5  # median daily range; that of the steadiest islands is 2 to 3 °C, from memory [°C]
_FEWEST_DAYS = 330


def refuse_other_place(history: History, site: Site) -> None:
    """Refuse a station that is too far from the site, or too far above or below it; both places are named.

    Raises
    ------
    InputError
    """
    origin = history.provenance
    if origin.latitude is not None and origin.longitude is not None:
        far = float(distance_km(site.latitude, site.longitude, origin.latitude, origin.longitude))
        if far > _FARTHEST_KM:
            raise InputError(
                f"the site at latitude {site.latitude:g}, longitude {site.longitude:g} is {far:.0f} km from station "
                f"{quoted(origin.station)} at {origin.latitude:g}, {origin.longitude:g}: {_mend(site, origin)}"
            )
    if site.elevation is None:
        return
    if origin.elevation is not None and abs(site.elevation - origin.elevation) > _HIGHEST_CLIMB:
        raise InputError(
            f"the site is at {site.elevation:g} m, station {quoted(origin.station)} at {origin.elevation:g} m: more "
            f"than {_HIGHEST_CLIMB:g} m cannot be bridged; check both heights (in metres), or give another record"
        )
    if site.elevation < _LOWEST_LAND:
        raise InputError(f"elevation {site.elevation:g} m is below the lowest land, {_LOWEST_LAND:g} m: check the sign")


def _mend(site: Site, origin: Provenance) -> str:
    for north, east, sign in ((1, -1, "longitude"), (-1, 1, "latitude"), (-1, -1, "latitude and longitude")):
        there = (origin.latitude or 0.0, origin.longitude or 0.0)
        mirrored = distance_km(north * site.latitude, east * site.longitude, *there)
        if mirrored <= _NEAR_KM:
            return f"is the sign of {sign} wrong? (south and west are negative)"
    return "check the place, or give a record from nearer"


def refuse_other_climate(history: History, site: Site) -> None:
    """Refuse temperatures that no place of this latitude and height has: the unit, or the place, is another.

    Raises
    ------
    InputError
    """
    mean = (history.daily["tmin"] + history.daily["tmax"]) / 2.0
    if mean.notna().sum() < _FEWEST_DAYS:
        return
    origin = history.provenance
    latitude = origin.latitude if origin.latitude is not None else site.latitude
    height = origin.elevation if origin.elevation is not None else site.elevation
    yearly = float(mean.groupby(mean.index.month).mean().mean())  # type: ignore[attr-defined]
    at_sea = yearly + _LAPSE * (height or 0.0) / 1000.0
    low, high = (float(np.interp(abs(latitude), _LATITUDES, limits)) for limits in (_COLDEST, _WARMEST))
    narrow = float((history.daily["tmax"] - history.daily["tmin"]).median())
    said = f"record {quoted(origin.station)}: yearly mean {yearly:.1f} °C, median daily range {narrow:.1f} °C"
    if not low <= at_sea <= high:
        known = f"at {height:g} m" if height is not None else "near sea level (its height is not known)"
        raise InputError(
            f"{said}; no place at latitude {latitude:g} {known} is that {'cold' if at_sea < low else 'warm'}: check "
            "the unit of the temperatures (--weather-units, the header), the latitude, and --station-elevation"
        )
    if narrow < _NARROWEST:
        raise InputError(
            f"{said}; no place is that even: check the unit of the temperatures (--weather-units, the header)"
        )
