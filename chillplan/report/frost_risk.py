"""Frost after a date, and dates by the normal method, as JSON and in words."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import date_of
from chillplan.report.reader import Reader
from chillplan.seasons.chance import FrostDates, frost_dates

__all__ = ["frost_risk_json", "risk_dates", "risk_words"]

STEP = 10  # days between the dates for which a risk is given
SHARES = {"p10": 0.1, "p50": 0.5, "p90": 0.9}
_FEWEST_DATES = 5
_TOO_LIKELY = 0.75  # a risk above this needs no saying


def risk_dates(dates: FrostDates) -> list[tuple[int, float]]:
    """Day index every ten days from the earliest to the latest frost, and the share of winters with a later one.

    Parameters
    ----------
    dates : FrostDates
        Last frosts of spring.

    Returns
    -------
    list of (int, float)
        Empty where fewer than five winters had frost. [day, -]
    """
    if dates.with_frost < _FEWEST_DATES:
        return []
    first = int(dates.dates[0]) // STEP * STEP
    days = range(first, int(dates.dates[-1]) + STEP + 1, STEP)
    return [(day, dates.chance_after(float(day))) for day in days]


def frost_risk_json(days: NDArray[np.floating], season: int, south: bool, last: bool) -> dict[str, Any]:
    """Chance of frost, dates by the normal method, and for last frosts the risk after single dates.

    Parameters
    ----------
    days : numpy.ndarray, shape (season,)
        Day index; infinite in a winter without frost. [day]
    season : int
        Season in which dates are written.
    south : bool
    last : bool
        Whether these are last frosts of spring.
    """
    dates = frost_dates(days, last)
    normal = {key: _written(_normal(dates, share), season, south) for key, share in SHARES.items()}
    found: dict[str, Any] = {"chance_of_frost": _rounded(dates.chance_of_frost), "normal_method": normal}
    if last:
        found["risk_after"] = [
            {"date": _written(float(day), season, south), "share_of_winters": _rounded(share)}
            for day, share in risk_dates(dates)
        ]
    return found


def risk_words(days: NDArray[np.floating], season: int, south: bool, reader: Reader) -> str:
    """``after 1 May in 62%, after 11 May in 31%``; dates with a risk up to three in four; empty without frost."""
    pieces = []
    for day, share in risk_dates(frost_dates(days, last=True)):
        if 0.0 < share <= _TOO_LIKELY:
            pieces.append(f"after {reader.short(date_of(float(day), season, south))} in {share:.0%}")
    return ", ".join(pieces)


def _normal(dates: FrostDates, share: float) -> float:
    if dates.with_frost < _FEWEST_DATES:
        return math.nan
    return dates.quantile(share, normal=True)


def _written(day: float, season: int, south: bool) -> str | None:
    return date_of(day, season, south).isoformat() if math.isfinite(day) else None


def _rounded(share: float) -> float | None:
    return round(share, 3) if math.isfinite(share) else None
