"""How good a forecast of chances was: Brier score, skill over a reference, reliability."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["ReliabilityRow", "brier_score", "brier_skill", "chance", "reliability"]

FloatArray = NDArray[np.floating]


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
