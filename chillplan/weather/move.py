"""Carries a history from the station to the site: height, cold air, and the grower's own readings.

The result is the air in the open at the site. Slope and aspect do not change it: they change the sunshine on the
ground. Trees and mulch do not either: they change the sunshine, the night sky and the insulation over the seed. The
seed-zone model takes all of these into account; here they would count twice.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from chillplan.errors import InputError
from chillplan.site import Site
from chillplan.weather.history import History
from chillplan.weather.lapse import COLD_AIR, cold_air_offset, lapse_rate
from chillplan.weather.nearness import distance_km
from chillplan.weather.other_place import refuse_other_climate, refuse_other_place
from chillplan.weather.tie import tie_offset

__all__ = ["move_to_site"]

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
    moved["tmin"], moved["tmax"] = _in_order(tmin + offsets["tmin"], tmax + offsets["tmax"])
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


def _in_order(tmin: np.ndarray, tmax: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where the move puts tmin above tmax, both take their mean."""
    crossed = tmin > tmax
    mean = (tmin + tmax) / 2.0
    return np.where(crossed, mean, tmin), np.where(crossed, mean, tmax)
