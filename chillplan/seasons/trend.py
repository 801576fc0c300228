"""Trend of a yearly series: Mann-Kendall test and Sen slope."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from chillplan.errors import InputError

__all__ = ["FEWEST", "Trend", "trend"]

FEWEST = 4


@dataclass(frozen=True)
class Trend:
    """Trend of a series."""

    slope: float  # Sen slope: median of the slopes between all pairs; NaN with fewer than 4 values [1/year]
    # ends of the 95 % interval of the slope; NaN where it cannot be given [1/year]
    slope_low: float
    slope_high: float
    score: float  # Mann-Kendall S: rising pairs less falling pairs
    variance: float  # variance of S without trend, corrected for ties
    z: float  # standardised S
    probability: float  # two-sided probability of such an S without trend (p value)
    count: int  # values used

    @property
    def per_decade(self) -> float:
        """Slope in ten years."""
        return 10.0 * self.slope

    @property
    def clear(self) -> bool:
        """Whether a trend is told from chance at the 5 % level."""
        return self.probability < 0.05


def trend(values: ArrayLike, years: ArrayLike | None = None) -> Trend:
    """Mann-Kendall test and Sen slope of a series.

    Parameters
    ----------
    values : array_like, shape (season,)
        NaN is left out. Dates that do not exist may be ``-inf`` or ``inf``: they count in the test as earlier or
        later than every date; slopes between a date and an infinity are infinite, between equal infinities zero.
    years : array_like, shape (season,), optional
        Time of each value, any order, no two alike; one step a value where it is not given. [year]

    Returns
    -------
    Trend
        With NaN in place of results with fewer than 4 values.

    Raises
    ------
    InputError
        If values and years differ in length.

    References
    ----------
    Mann (1945), Econometrica 13:245-259; Kendall (1975), Rank Correlation Methods; Sen (1968), J. Am. Stat. Assoc.
    63:1379-1389; interval after Gilbert (1987), Statistical Methods for Environmental Pollution Monitoring, 16.5.
    """
    series = np.asarray(values, dtype=float)
    times = np.arange(series.size, dtype=float) if years is None else np.asarray(years, dtype=float)
    if series.shape != times.shape or series.ndim != 1:
        raise InputError(f"{series.size} values and {times.size} years differ: give one year for each value")
    there = ~np.isnan(series)
    order = np.argsort(times[there], kind="stable")
    series, times = series[there][order], times[there][order]
    count = series.size
    if count < FEWEST:
        return Trend(np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, count)
    first, second = np.triu_indices(count, k=1)
    signs = np.sign(_difference(series[second], series[first]))
    score = float(signs.sum())
    variance = _variance(series)
    z = 0.0 if variance == 0.0 else float((score - np.sign(score)) / np.sqrt(variance))
    slopes = np.sort(_difference(series[second], series[first]) / (times[second] - times[first]))
    low, high = _interval(slopes, variance)
    return Trend(
        slope=float(_median(slopes)),
        slope_low=low,
        slope_high=high,
        score=score,
        variance=variance,
        z=z,
        probability=float(2.0 * ndtr(-abs(z))),
        count=count,
    )


def _difference(later: NDArray[np.floating], earlier: NDArray[np.floating]) -> NDArray[np.floating]:
    """Difference in which equal infinities differ by nothing."""
    with np.errstate(invalid="ignore"):
        return np.where(later == earlier, 0.0, later - earlier)


def _variance(series: NDArray[np.floating]) -> float:
    """Variance of S: [n(n-1)(2n+5) - sum over ties t(t-1)(2t+5)] / 18 (Kendall 1975)."""
    n = series.size
    _, ties = np.unique(series, return_counts=True)
    return float((n * (n - 1) * (2 * n + 5) - (ties * (ties - 1) * (2 * ties + 5)).sum()) / 18.0)


def _median(ordered: NDArray[np.floating]) -> float:
    half = ordered.size // 2
    if ordered.size % 2:
        return float(ordered[half])
    low, high = float(ordered[half - 1]), float(ordered[half])
    return low if low == high else (low + high) / 2.0


def _interval(ordered: NDArray[np.floating], variance: float, level: float = 0.95) -> tuple[float, float]:
    """Ranks (N - C)/2 and (N + C)/2 + 1 of the ordered slopes, C = z sqrt(var S) (Gilbert 1987)."""
    reach = float(ndtri((1.0 + level) / 2.0)) * np.sqrt(variance)
    lower = round((ordered.size - reach) / 2.0)
    upper = round((ordered.size + reach) / 2.0 + 1.0)
    if lower < 1 or upper > ordered.size:
        return np.nan, np.nan
    return float(ordered[lower - 1]), float(ordered[upper - 1])
