"""When seed is ripe at a site: the days of the source, moved by how warm the site is for its kind of place."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from chillplan.seasons.cut import SPIN_UP, Seasons
from chillplan.seeds.recipe import Ripening

__all__ = ["Ripe", "growing_warmth", "ripe_at", "usual_warmth"]

WARMTH_AT_EQUATOR = 47.99
WARMTH_A_DEGREE = -0.721
"""April to September mean of the air by latitude: a line through the 18 stations below 500 m among the development
stations of the U.S. Climate Reference Network, 29 to 49° N; one station in three is more than 1.7 °C off. Beyond these
latitudes it is a guess. [°C, °C/degree]"""
DAYS_A_DEGREE = 2.5
"""By how much warmth brings spring and summer phases forward: Menzel et al. 2006, Global Change Biology 12:
1969 to 1976 (figure from memory). Ripening in autumn was hardly followed there: an assumption. [day/°C]"""
MOST_MOVED = 30
"""Further than this the days of the source are not moved. Our choice. [day]"""
HALF_YEAR = 182
NORTHERN, SOUTHERN = (91, 273), (274, 90)  # day of year of the growing half-year, first and last


@dataclass(frozen=True)
class Ripe:
    """Days on which seed is ripe at a site.

    Attributes
    ----------
    first, last : datetime.date
    later : int
        Days by which they were moved; negative where it is ripe earlier than in the source. [day]
    warmer : float
        By how much the site is warmer than usual where the source's days hold. [°C]
    """

    first: date
    last: date
    later: int
    warmer: float


def usual_warmth(latitude: float) -> float:
    """Mean of the air from April to September (October to March in the south) usual at a latitude. [°C]"""
    return WARMTH_AT_EQUATOR + WARMTH_A_DEGREE * abs(latitude)


def growing_warmth(seasons: Seasons, warming: float = 0.0) -> float:
    """The same mean at the site, over all its seasons. [°C]"""
    day = seasons.day_of_year[SPIN_UP:]
    first, last = SOUTHERN if seasons.southern else NORTHERN
    inside = (day >= first) | (day <= last) if seasons.southern else (day >= first) & (day <= last)
    middle = (seasons.daily["tmin"][SPIN_UP:] + seasons.daily["tmax"][SPIN_UP:]) / 2.0
    return float(np.mean(middle[inside])) + warming


def ripe_at(ripening: Ripening, warmth: float, year: int, southern: bool) -> Ripe:
    """When seed is ripe at a site in a season.

    Parameters
    ----------
    ripening : Ripening
    warmth : float
        `growing_warmth` of the site. [°C]
    year : int
        Of the season: that in which its winter begins; what ripens before the season's first day ripens for it too.
    southern : bool
    """
    warmer = warmth - usual_warmth(ripening.latitude)
    later = int(np.clip(round(-DAYS_A_DEGREE * warmer), -MOST_MOVED, MOST_MOVED))
    turned = southern != (ripening.latitude < 0.0)
    half_back = HALF_YEAR - 365
    days = []
    for month, day in (ripening.first, ripening.last):
        found = date(year, month, day)
        if turned:
            found += timedelta(days=half_back if southern or found >= date(year, 7, 1) else HALF_YEAR)
        days.append(found + timedelta(days=later))
    first, last = days
    return Ripe(first, last if last >= first else last + timedelta(days=365), later, warmer)
