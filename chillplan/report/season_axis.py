"""A season on the axis of a chart, and percentiles of a day over winters."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.result import Plan
from chillplan.report.look import Json, axis
from chillplan.report.reader import Reader
from chillplan.seasons.cut import DAYS, season_start

__all__ = ["NARROW_MONTHS", "STEP", "band", "days_of", "month_axis", "plain", "when"]

FloatArray = NDArray[np.floating]

STEP = 3  # every third day is drawn [day]
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NARROW_MONTHS = {"xaxis.labelalias": {month: month[0] for month in MONTHS}}  # first letters, for narrow screens


def days_of(plan: Plan, step: int = STEP) -> tuple[NDArray[np.int_], list[str]]:
    """Day indices that are drawn, and their dates in the season planned for."""
    index = np.arange(0, DAYS, step)
    start = season_start(plan.season, plan.seasons.southern)
    return index, [(start + timedelta(days=int(day))).isoformat() for day in index]


def when(plan: Plan, index: float) -> date:
    """Date of a day index in the season planned for."""
    return date_of(round(index), plan.season, plan.seasons.southern)


def month_axis(plan: Plan, reader: Reader, first: int = 0, last: int = DAYS - 1) -> Json:
    """Months of the season planned for, named in the middle of each."""
    return axis(
        type="date",
        range=[when(plan, first).isoformat(), when(plan, last).isoformat()],
        dtick="M1",
        tickformat="%b",
        ticklabelmode="period",
        hoverformat=reader.hover,
    )


def band(values: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """10th, 50th and 90th percentile of each day over the winters; `values` has the shape (day, season)."""
    low, middle, high = np.quantile(values, (0.1, 0.5, 0.9), axis=1, method="weibull")
    return low, middle, high


def plain(values: FloatArray, digits: int = 1) -> list[float]:
    """Numbers short enough to be stored in a page."""
    rounded: list[float] = np.round(np.asarray(values, dtype=float), digits).tolist()
    return rounded
