"""Frost dates as a mixed distribution: winters with frost have a date, winters without have none.

Dates are day indices in the season as `chillplan.seasons.dates` gives them: ``-inf`` in a season without frost for
the last frost of spring, ``inf`` for the first frost of autumn. So a quantile may be infinite: "in that share of
winters there is no frost", which is an answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from chillplan.errors import InputError

__all__ = ["FrostDates", "frost_dates", "plotting_positions"]

FloatArray = NDArray[np.floating]

# Sums of many dates below this do not tell their spread.
_FEWEST_DATES = 5


@dataclass(frozen=True)
class FrostDates:
    """Distribution of one frost date over the winters.

    Attributes
    ----------
    with_frost : int
        Winters with frost.
    winters : int
        Winters with an answer.
    dates : numpy.ndarray, shape (with_frost,)
        Ordered. [day]
    last : bool
        Whether these are last frosts of spring (else first frosts of autumn).
    mean, spread : float
        Of the dates; NaN where fewer than 5. [day]
    """

    with_frost: int
    winters: int
    dates: FloatArray
    last: bool
    mean: float
    spread: float

    @property
    def chance_of_frost(self) -> float:
        """Share of winters with any frost at this threshold, 0 to 1."""
        return self.with_frost / self.winters if self.winters else float("nan")

    def quantile(self, share: float, normal: bool = False) -> float:
        """Date not exceeded in a share of winters.

        Parameters
        ----------
        share : float
            Between 0 and 1. A late date of last frost, exceeded in one winter of ten, is the quantile 0.9.
        normal : bool
            Take the dates of winters with frost as normal (Thom and Shaw 1958) instead of as they are.

        Returns
        -------
        float
            Day index; ``-inf`` or ``inf`` where that share of winters has no frost; NaN without winters. [day]

        References
        ----------
        Thom and Shaw (1958), Monthly Weather Review 86:131-136. As they are: Weibull plotting positions i/(n + 1).
        """
        if not 0.0 < share < 1.0:
            raise InputError(f"share {share:g} is not between 0 and 1: give for example 0.9")
        if self.winters == 0:
            return float("nan")
        without = 1.0 - self.chance_of_frost
        none = -np.inf if self.last else np.inf
        within = (share - without) / self.chance_of_frost if self.last and self.with_frost else share
        within = share / self.chance_of_frost if not self.last and self.with_frost else within
        if self.with_frost == 0 or not 0.0 < within < 1.0:
            return none
        if normal:
            return float(self.mean + self.spread * ndtri(within))
        return float(np.interp(within, plotting_positions(self.with_frost), self.dates))

    def chance_after(self, day: float, normal: bool = False) -> float:
        """Share of winters with this frost after a day (for last frosts: the risk of planting on that day).

        Parameters
        ----------
        day : float
            Day index. [day]
        normal : bool
            As in `quantile`.
        """
        if self.with_frost == 0:
            return 0.0 if self.winters else float("nan")
        after = 1.0 - ndtr((day - self.mean) / self.spread) if normal else (self.dates > day).mean()
        return float(after) * self.chance_of_frost


def frost_dates(days: ArrayLike, last: bool) -> FrostDates:
    """Distribution of the frost dates of single seasons.

    Parameters
    ----------
    days : array_like, shape (season,)
        Day index; infinite where a season has no frost; NaN is left out. [day]
    last : bool
        Whether these are last frosts of spring.
    """
    values = np.asarray(days, dtype=float)
    values = values[~np.isnan(values)]
    dates = np.sort(values[np.isfinite(values)])
    enough = dates.size >= _FEWEST_DATES
    return FrostDates(
        with_frost=int(dates.size),
        winters=int(values.size),
        dates=dates,
        last=last,
        mean=float(dates.mean()) if enough else float("nan"),
        spread=float(dates.std(ddof=1)) if enough else float("nan"),
    )


def plotting_positions(count: int) -> FloatArray:
    """Share of winters up to each ordered value: Weibull, i/(n + 1)."""
    return np.asarray(np.arange(1, count + 1) / (count + 1.0))
