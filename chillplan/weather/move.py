"""Carries a history from the station to the site: height, cold air, and the grower's own readings.

The result is the air in the open at the site. Slope and aspect do not change it: they change the sunshine on the
ground. Trees and mulch do not either: they change the sunshine, the night sky and the insulation over the seed. The
seed-zone model takes all of these into account; here they would count twice.

How temperature changes with height and terrain is assumed for a place that has no readings of its own;
`chillplan.weather.tie` replaces it by what the grower's own thermometer says. A record that cannot be of the site
(another place, height, climate or unit) is refused.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from chillplan.errors import InputError, quoted
from chillplan.site import Site
from chillplan.weather.fill import uncrossed
from chillplan.weather.history import History, Provenance
from chillplan.weather.nearness import distance_km
from chillplan.weather.tie import tie_offset

__all__ = [
    "COLD_AIR",
    "LAPSE_RATES",
    "cold_air_offset",
    "lapse_rate",
    "move_to_site",
    "refuse_other_climate",
    "refuse_other_place",
    "seasonal",
]

# Below this the height of station and site is taken as the same. [m]
_SAME_HEIGHT = 10.0
_FAR_HEIGHT = 500.0
# Beyond this latitude the half-years of a record differ clearly. [degrees, days, °C] Common practice, no source.
_SEASONAL_LATITUDE, _FEWEST_DAYS, _CLEARLY = 25.0, 330, 3.0


def move_to_site(history: History, site: Site) -> History:
    """Move the temperatures of a station to the site.

    Parameters
    ----------
    history : History
        At the station.
    site : Site
        Elevation, terrain and, where the grower's own readings were compared, ``tie``.

    Returns
    -------
    History
        Moved temperatures with the flags they had; notes say what was added or taken off, and what is assumed.
        ``attributes`` holds ``distance_km`` and ``height_difference_m`` where they are known.

    Raises
    ------
    InputError
        If the record is warm when the site has winter: the sign of the latitude is wrong.
    """
    dates = pd.DatetimeIndex(history.daily.index)
    refuse_other_place(history, site)
    _same_hemisphere(history, site, dates)
    refuse_other_climate(history, site)
    days = dates.day_of_year.to_numpy()
    tmin = history.daily["tmin"].to_numpy(dtype=float)
    tmax = history.daily["tmax"].to_numpy(dtype=float)
    offsets = {"tmin": np.zeros(len(days)), "tmax": np.zeros(len(days))}
    notes = _height(offsets, history, site, days)
    if site.terrain != "slope":
        pooled = cold_air_offset(tmin, tmax, site.terrain)
        offsets["tmin"] += np.nan_to_num(pooled)
        change = COLD_AIR[site.terrain]
        notes.append(
            f"On a {site.terrain} clear nights are taken to be up to {abs(change):.0f} °C "
            f"{'colder' if change < 0.0 else 'warmer'} (assumed)."
        )
    if site.tie:
        for name in offsets:
            offsets[name] += tie_offset(site.tie, name, days)
        notes.append("The offset fitted to the site's own readings was added.")
    moved = history.daily.copy()
    moved["tmin"], moved["tmax"] = uncrossed(tmin + offsets["tmin"], tmax + offsets["tmax"])
    return replace(history, daily=moved, attributes={**history.attributes, **_distances(history, site)}).noted(*notes)


def _same_hemisphere(history: History, site: Site, dates: pd.DatetimeIndex) -> None:
    """Refuse a record whose warm half-year is the site's cold one."""
    if abs(site.latitude) < _SEASONAL_LATITUDE or len(dates) < _FEWEST_DAYS:
        return
    mean = (history.daily["tmin"] + history.daily["tmax"]).to_numpy(dtype=float) / 2.0
    summer = np.isin(dates.month.to_numpy(), (5, 6, 7, 8, 9, 10))
    if np.isnan(mean[summer]).all() or np.isnan(mean[~summer]).all():
        return
    warmer = float(np.nanmean(mean[summer]) - np.nanmean(mean[~summer]))
    if (warmer > _CLEARLY and site.southern) or (warmer < -_CLEARLY and not site.southern):
        months = "May to October" if warmer > 0.0 else "November to April"
        raise InputError(
            f"latitude {site.latitude:g} lies {'south' if site.southern else 'north'} of the equator, but the record "
            f"is {abs(warmer):.0f} °C warmer from {months}: check the sign of the latitude, and the record"
        )


def _height(offsets: dict[str, np.ndarray], history: History, site: Site, days: np.ndarray) -> list[str]:
    """Add the change with height in place and say so."""
    station = history.provenance.elevation
    if station is None or site.elevation is None:
        missing = "the station's height" if station is None else "the site's height"
        option = "--station-elevation" if station is None else "--elevation"
        return [f"Not corrected for height: {missing} is not known (pass {option})."]
    climb = site.elevation - station
    if abs(climb) < _SAME_HEIGHT:
        return []
    parts = []
    for name in offsets:
        change = -lapse_rate(name, days, site.southern) * climb / 1000.0
        offsets[name] += change
        parts.append(f"{name} by {float(change.mean()):+.1f} °C")
    notes = [f"Moved {abs(climb):.0f} m {'up' if climb > 0 else 'down'}: {parts[1]}, {parts[0]} on average (assumed)."]
    if abs(climb) > _FAR_HEIGHT:
        notes.append("The station is far from the site in height: compare your own readings (`chillplan weather tie`).")
    return notes


def _distances(history: History, site: Site) -> dict[str, str]:
    origin = history.provenance
    found = {}
    if origin.latitude is not None and origin.longitude is not None:
        far = distance_km(site.latitude, site.longitude, origin.latitude, origin.longitude)
        found["distance_km"] = f"{float(far):.1f}"
    if origin.elevation is not None and site.elevation is not None:
        found["height_difference_m"] = f"{site.elevation - origin.elevation:.0f}"
    return found


FloatArray = NDArray[np.floating]

# Fall of temperature with height by month, January to December, north of the equator. [°C/km]
# A synthesis, not published as such, of: Blandford et al. (2008), J. Appl. Meteorol. Climatol. 47:249-261 (the
# standard rate of 6.5 fits maxima only; minima fall most in spring, least in midsummer); Minder et al. (2010),
# J. Geophys. Res. 115:D14122 (annual mean 3.9 to 5.2; least 2.5 to 3.5 in late-summer minima, most 6.5 to 7.5 in
# spring maxima); Rolland (2003), J. Climate 16:1032-1046 (5.4 to 5.8 over the year, steeper in summer).
LAPSE_RATES = {
    "tmax": (4.5, 4.5, 4.5, 6.5, 6.5, 6.5, 6.5, 6.5, 6.5, 4.5, 4.5, 4.5),
    "tmin": (3.0, 3.0, 4.5, 4.5, 4.5, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0),
}

# Change of tmin on a clear, calm night. [°C] The size is an assumption: Lundquist et al. (2008), J. Geophys. Res.
# 113:D22107, found errors of up to 3 °C at single sites where pooling was ignored.
COLD_AIR = {"valley floor": -3.0, "slope": 0.0, "crest": 1.0}
# A night counts as clear by the day's range of temperature: not at all up to the first, fully from the second. [°C]
# Common practice, no source.
CLEAR_RANGE = (6.0, 14.0)

_YEAR = 365.25


def seasonal(by_month: ArrayLike, day_of_year: ArrayLike, southern: bool) -> FloatArray:
    """A monthly table read at single days, straight lines between the middles of the months.

    Parameters
    ----------
    by_month : array_like, shape (12,)
        January to December, north of the equator.
    day_of_year : array_like
        1 on 1 January. [day]
    southern : bool
        Whether the place lies south of the equator: the table is shifted by half a year.
    """
    middles = (np.arange(12) + 0.5) * _YEAR / 12.0
    days = np.asarray(day_of_year, dtype=float) - 0.5 + (_YEAR / 2.0 if southern else 0.0)
    return np.asarray(np.interp(np.mod(days, _YEAR), middles, np.asarray(by_month, dtype=float), period=_YEAR))


def lapse_rate(name: str, day_of_year: ArrayLike, southern: bool = False) -> FloatArray:
    """Fall of temperature with height on a day of the year.

    Parameters
    ----------
    name : {'tmin', 'tmax'}
    day_of_year : array_like
        [day]
    southern : bool

    Returns
    -------
    numpy.ndarray
        [°C/km]
    """
    return seasonal(LAPSE_RATES[name], day_of_year, southern)


def cold_air_offset(tmin: ArrayLike, tmax: ArrayLike, terrain: str) -> FloatArray:
    """Change of tmin by cold air that gathers at night.

    Parameters
    ----------
    tmin, tmax : array_like, shape (day,)
        [°C]
    terrain : {'valley floor', 'slope', 'crest'}

    Returns
    -------
    numpy.ndarray, shape (day,)
        NaN where a temperature is missing. [°C]
    """
    low, high = CLEAR_RANGE
    spread = np.asarray(tmax, dtype=float) - np.asarray(tmin, dtype=float)
    return np.asarray(COLD_AIR[terrain] * np.clip((spread - low) / (high - low), 0.0, 1.0))


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
_WETTEST = 13_000.0  # a year; Mawsynram, the wettest place known, has about 11,900, from memory [mm]
_FEWEST = 330


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

    Precipitation that no place has is refused too.

    Raises
    ------
    InputError
    """
    rain = history.daily.get("precipitation", pd.Series(dtype=float))
    if rain.notna().sum() >= _FEWEST and rain.mean() * 365.25 > _WETTEST:
        raise InputError(
            f"record {quoted(history.provenance.station)}: {rain.mean() * 365.25:.0f} mm of precipitation a year; no "
            "place is that wet: check its unit (name the column precipitation_mm, _cm or _in), and whether each day "
            "has its own amount, not the sum so far"
        )
    mean = (history.daily["tmin"] + history.daily["tmax"]) / 2.0
    if mean.notna().sum() < _FEWEST:
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
