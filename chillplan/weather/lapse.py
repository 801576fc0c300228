"""How temperature changes with height and terrain, by time of year.

All of these are assumptions for a place that has no readings of its own; `chillplan.weather.tie` replaces them by
what the grower's own thermometer says.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["COLD_AIR", "LAPSE_RATES", "cold_air_offset", "lapse_rate", "seasonal"]

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
