"""Forecasts of past winters, each made without the winter itself, to be held against what happened.

For every past winter and issue date the season known so far is continued by every other winter, and the chance that a
sowing completes its chill by a date is set against what that winter did and against the record of the other winters.
Below stand the scores of such chances.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.seasons.chill import trapezoid
from chillplan.seasons.cut import SPIN_UP, Seasons
from chillplan.seasons.summary import Ground, ground_of
from chillplan.site import Site

__all__ = [
    "Hindcast",
    "ReliabilityRow",
    "brier_score",
    "brier_skill",
    "chance",
    "chill_by",
    "every_splice",
    "hindcast",
    "others_of",
    "reliability",
]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True)
class Hindcast:
    """Forecasts from one issue date; arrays have the shape (deadline, threshold, season).

    Attributes
    ----------
    forecast : numpy.ndarray
        Chance that the chill is complete by the deadline. [-]
    climatology : numpy.ndarray
        The same from the other winters alone. [-]
    happened : numpy.ndarray of bool
    decided : numpy.ndarray of bool
        Already complete on the issue date: certain, and no test of the forecast.
    years : numpy.ndarray of int, shape (season,)
    """

    forecast: FloatArray
    climatology: FloatArray
    happened: BoolArray
    decided: BoolArray
    years: NDArray[np.int_]


def chill_by(
    temperature: FloatArray,
    moist: BoolArray,
    sown: int,
    deadlines: Sequence[int],
    corners: tuple[float, float, float, float] = (-2.0, 1.0, 7.0, 12.0),
) -> FloatArray:
    """Effective chill gathered from sowing up to each deadline.

    Parameters
    ----------
    temperature, moist : numpy.ndarray, shape (day, season)
        [°C]
    sown : int
        Day index; the day counts. [day]
    deadlines : sequence of int
        Day indices; the day itself does not count. [day]
    corners : tuple of float
        [°C]

    Returns
    -------
    numpy.ndarray, shape (deadline, season)
        [day]
    """
    share = np.where(moist, trapezoid(temperature, *corners), 0.0)
    total = np.concatenate([np.zeros((1, share.shape[1])), np.cumsum(share, axis=0)])
    return np.asarray(total[np.asarray(deadlines)] - total[sown])


def hindcast(
    seasons: Seasons,
    site: Site,
    issued: int,
    sown: int,
    deadlines: Sequence[int],
    thresholds: Sequence[float] = (30.0, 60.0, 90.0, 120.0),
    offsets: Sequence[tuple[float, float]] = ((0.0, 1.0),),
    dry_counts: bool = False,
) -> Hindcast:
    """Forecast every season of a record from the others.

    Parameters
    ----------
    seasons : Seasons
    site : Site
    issued : int
        Day index of the issue; days before it are known. [day]
    sown : int
        Day index of sowing, before the issue. [day]
    deadlines : sequence of int
        Day indices after the issue. [day]
    thresholds : sequence of float
        Effective chill needed. [day]
    offsets : sequence of (float, float)
        Possible errors of the modelled seed zone with their weights, which sum to 1: forecast and climatology are
        averaged over them. [°C, -]
    dry_counts : bool
        Count days with a dry seed zone too, as a thermometer does.
    """
    count = seasons.years.size
    whole = _ground(seasons, site, dry_counts)
    amounts = np.asarray(thresholds, dtype=float)
    happened = _reached(whole, sown, deadlines, amounts)
    known = _reached(whole, sown, [issued], amounts)
    splices = _ground(every_splice(seasons, issued), site, dry_counts)
    shape = (len(deadlines), amounts.size, count, count - 1)
    forecast, climatology = np.zeros(shape[:3]), np.zeros(shape[:3])
    for offset, weight in offsets:
        forecast += weight * chance(_reached(splices, sown, deadlines, amounts, offset).reshape(shape))
        climatology += weight * chance(_reached(whole, sown, deadlines, amounts, offset)[:, :, others_of(count)])
    return Hindcast(
        forecast=forecast,
        climatology=climatology,
        happened=happened,
        decided=np.broadcast_to(known, happened.shape),
        years=seasons.years,
    )


def _ground(seasons: Seasons, site: Site, dry_counts: bool) -> Ground:
    ground = ground_of(seasons, site)
    return replace(ground, moist=np.ones_like(ground.moist)) if dry_counts else ground


def _reached(
    ground: Ground, sown: int, deadlines: Sequence[int], amounts: FloatArray, offset: float = 0.0
) -> BoolArray:
    """Shape (deadline, threshold, season)."""
    chill = chill_by(ground.temperature + offset, ground.moist, sown, deadlines)
    return np.asarray(chill[:, None, :] >= amounts[None, :, None] - 1e-9)


def others_of(count: int) -> NDArray[np.int_]:
    """Indices of the other seasons of each season, shape (season, season - 1)."""
    everyone = np.broadcast_to(np.arange(count), (count, count))
    return everyone[~np.eye(count, dtype=bool)].reshape(count, count - 1)


def every_splice(seasons: Seasons, issued: int) -> Seasons:
    """Every season up to the issue, continued by every other; columns are (season, other) in row order."""
    count = seasons.years.size
    target = np.repeat(np.arange(count), count - 1)
    lent = others_of(count).ravel()
    known = SPIN_UP + issued

    def join(values: NDArray[np.generic], cut: int) -> NDArray[np.generic]:
        return np.concatenate([values[:cut, target], values[cut:, lent]])

    return replace(
        seasons,
        years=seasons.years[lent],
        daily={name: np.asarray(join(values, known), dtype=float) for name, values in seasons.daily.items()},
        observed=np.asarray(join(seasons.observed, issued), dtype=bool),
        day_of_year=np.asarray(join(seasons.day_of_year, known), dtype=int),
    )


@dataclass(frozen=True)
class ReliabilityRow:
    """Forecasts of about the same chance.

    Attributes
    ----------
    low, high : float
        Range of the forecast chance. [-]
    forecasts : int
    mean_forecast, share_observed : float
        [-]
    """

    low: float
    high: float
    forecasts: int
    mean_forecast: float
    share_observed: float


def chance(happened: ArrayLike, axis: int = -1) -> FloatArray:
    """Chance from a count of members, drawn in from 0 and 1 as by the Jeffreys prior.

    Parameters
    ----------
    happened : array_like of bool, shape (..., member)
    axis : int
        Axis of the members.

    Returns
    -------
    numpy.ndarray
        (k + 1/2) / (n + 1), the mean of the Jeffreys posterior. [-]
    """
    values = np.asarray(happened, dtype=bool)
    return np.asarray((values.sum(axis=axis) + 0.5) / (values.shape[axis] + 1.0))


def brier_score(forecast: ArrayLike, happened: ArrayLike) -> float:
    """Mean squared difference between chance and outcome.

    References
    ----------
    Brier (1950), Monthly Weather Review 78:1-3, for two classes halved as is usual now.
    """
    return float(np.mean((np.asarray(forecast, dtype=float) - np.asarray(happened, dtype=float)) ** 2))


def brier_skill(forecast: ArrayLike, reference: ArrayLike, happened: ArrayLike) -> float:
    """Brier skill score: 1 perfect, 0 no better than the reference, below 0 worse; NaN if the reference is perfect."""
    worst = brier_score(reference, happened)
    return 1.0 - brier_score(forecast, happened) / worst if worst > 0.0 else float("nan")


def reliability(forecast: ArrayLike, happened: ArrayLike, classes: int = 10) -> list[ReliabilityRow]:
    """Forecast chance against the share of times it came true, in classes of equal width; empty ones are left out."""
    chances, came = np.asarray(forecast, dtype=float).ravel(), np.asarray(happened, dtype=float).ravel()
    which = np.minimum((chances * classes).astype(int), classes - 1)
    return [
        ReliabilityRow(
            number / classes,
            (number + 1) / classes,
            int((which == number).sum()),
            float(chances[which == number].mean()),
            float(came[which == number].mean()),
        )
        for number in range(classes)
        if (which == number).any()
    ]
