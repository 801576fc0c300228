"""The seed-zone model against a thermometer: error, chill, agreement, and what is wrong with the record.

Definitions. Error: daily mean at the given depth, every day with an observation. Winter: 1 September to 31 May (six
months later in the south) with at most 3 % of its soil values missing. Chill: effective chill with the default
response, on model and thermometer alike, over the days that both have. Agreement: share of (winter, threshold) pairs,
thresholds 30, 60, 90 and 120 days, on which both say reached or both say not reached. Chill and agreement are given
twice: ground near freezing lies on the cold edge of the response, of which nobody knows where it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.seasons.chill import effective_chill
from chillplan.seasons.response import EDGES, USUAL, Corners

__all__ = ["COLD_EDGE", "THRESHOLDS", "SoilCheck", "WinterChill", "best_lag", "compare", "winter_spans"]

FloatArray = NDArray[np.floating]

THRESHOLDS = (30.0, 60.0, 90.0, 120.0)
"""Effective chill on which model and thermometer must agree. [day]"""

MISSING_ALLOWED = 0.03
"""Share of a winter's soil values that may be missing. [-]"""

FIRST_MONTH = {False: 9, True: 3}
"""First of a winter's nine months, by "southern"."""

WINTER_MONTHS = 9

LONGEST_LAG = 3
"""Days by which the dates of air and soil are tried against each other. [day]"""

FEWEST_PAIRS = 60
"""Days needed to tell a lag. [day]"""


COLD_EDGE = next(edge for edge in EDGES if edge.side == "cold")
"""Where the cold edge of the response may as well lie."""


@dataclass(frozen=True)
class WinterChill:
    """Effective chill of winters by model and by thermometer.

    Attributes
    ----------
    model, soil : numpy.ndarray, shape (winter,)
        [day]
    """

    model: FloatArray
    soil: FloatArray

    @property
    def error(self) -> float:
        """Mean absolute error of a winter; NaN without a winter. [day]"""
        return float(np.abs(self.model - self.soil).mean()) if self.model.size else float("nan")

    @property
    def agreed(self) -> tuple[int, int]:
        """Pairs of winter and threshold agreed on, and all pairs."""
        limits = np.asarray(THRESHOLDS)[:, None]
        same = (self.model >= limits) == (self.soil >= limits)
        return int(same.sum()), int(same.size)

    @property
    def agreement(self) -> float:
        """Share agreed on; NaN without a winter. [-]"""
        agreed, pairs = self.agreed
        return agreed / pairs if pairs else float("nan")


@dataclass(frozen=True)
class SoilCheck:
    """Model against thermometer at one station.

    Attributes
    ----------
    days : int
        Days with both. [day]
    rmse, bias : float
        Of model less thermometer; NaN without a day. [°C]
    winters : tuple of int
        The year in which each usable winter begins.
    chill : WinterChill
        With the usual response.
    chill_to_cold_edge : WinterChill
        With the cold edge of the response where it may as well lie.
    lag : int or None
        Days by which the soil record follows the model best: 0 is right, 1 means that the soil is dated a day later
        than the air; None where there are too few days to tell. [day]
    """

    days: int
    rmse: float
    bias: float
    winters: tuple[int, ...]
    chill: WinterChill
    chill_to_cold_edge: WinterChill
    lag: int | None


def compare(dates: ArrayLike, model: ArrayLike, soil: ArrayLike, southern: bool) -> SoilCheck:
    """Compare a modelled with an observed soil temperature.

    Parameters
    ----------
    dates : array_like of datetime64, shape (day,)
        Consecutive days.
    model, soil : array_like, shape (day,)
        NaN where missing. [°C]
    southern : bool
        South of the equator, where winters are cut six months later.

    Returns
    -------
    SoilCheck
    """
    modelled, observed = np.asarray(model, dtype=float), np.asarray(soil, dtype=float)
    error = modelled - observed
    known = np.isfinite(error)
    spans = winter_spans(dates, observed, southern)

    def chill(corners: Corners) -> WinterChill:
        return WinterChill(
            *(
                np.array([float(effective_chill(series[span], known[span], corners)) for _, span in spans])
                for series in (modelled, observed)
            )
        )

    return SoilCheck(
        days=int(known.sum()),
        rmse=float(np.sqrt(np.mean(error[known] ** 2))) if known.any() else float("nan"),
        bias=float(np.mean(error[known])) if known.any() else float("nan"),
        winters=tuple(year for year, _ in spans),
        chill=chill(USUAL),
        chill_to_cold_edge=chill(COLD_EDGE.moved(USUAL)),
        lag=best_lag(modelled, observed),
    )


def winter_spans(dates: ArrayLike, soil: ArrayLike, southern: bool) -> list[tuple[int, slice]]:
    """Winters that lie wholly in the record with at most 3 % of the soil values missing.

    Parameters
    ----------
    dates : array_like of datetime64, shape (day,)
        Consecutive days.
    soil : array_like, shape (day,)
        [°C]
    southern : bool

    Returns
    -------
    list of (int, slice)
        Year in which the winter begins, and its days.
    """
    days = np.asarray(dates, dtype="datetime64[D]")
    known = np.isfinite(np.asarray(soil, dtype=float))
    found = []
    years = days[[0, -1]].astype("datetime64[Y]").astype(int) + 1970
    for year in range(int(years[0]), int(years[1]) + 1):
        month = np.datetime64(f"{year}-{FIRST_MONTH[southern]:02d}", "M")
        first = int((month.astype("datetime64[D]") - days[0]).astype(int))
        end = int(((month + WINTER_MONTHS).astype("datetime64[D]") - days[0]).astype(int))
        if first < 0 or end > days.size:
            continue
        if known[first:end].sum() >= (1 - MISSING_ALLOWED) * (end - first):
            found.append((year, slice(first, end)))
    return found


def best_lag(model: ArrayLike, soil: ArrayLike, longest: int = LONGEST_LAG) -> int | None:
    """Days by which the soil record follows the model best, judged by day-to-day changes.

    Parameters
    ----------
    model, soil : array_like, shape (day,)
        NaN where missing. [°C]
    longest : int
        [day]

    Returns
    -------
    int or None
        None where fewer than 60 changes can be compared, or nothing changes.
    """
    change_model, change_soil = np.diff(np.asarray(model, dtype=float)), np.diff(np.asarray(soil, dtype=float))
    fit = {}
    for lag in range(-longest, longest + 1):
        early = change_model[max(0, -lag) : change_model.size - max(0, lag)]
        late = change_soil[max(0, lag) : change_soil.size - max(0, -lag)]
        known = np.isfinite(early) & np.isfinite(late)
        if known.sum() < FEWEST_PAIRS or not early[known].std() or not late[known].std():
            return None
        fit[lag] = float(np.corrcoef(early[known], late[known])[0, 1])
    return max(fit, key=lambda lag: fit[lag])
