"""Ties a station to the site by the grower's own readings of some weeks or months.

The offset between site and station is a mean and one yearly wave, for tmin and tmax apart. A short overlap says
little about a year: every coefficient is drawn toward zero, that is toward the lapse-rate estimate, the more the
shorter the overlap and the more one day resembles the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from chillplan.errors import DataGapError
from chillplan.weather.history import History

__all__ = ["FEWEST_DAYS", "Tie", "fit_tie", "tie_offset"]

FloatArray = NDArray[np.floating]

FEWEST_DAYS = 14
# How far a site commonly lies from its lapse-rate estimate: mean, and yearly wave. [°C] Assumed; the order of size is
# that of the differences between neighbouring stations in rough country.
_PRIOR = np.array([2.0, 1.0, 1.0])
_BLOCKS = 5
_YEAR = 365.25
_TERMS = ("mean", "cosine", "sine")


@dataclass(frozen=True)
class Tie:
    """A fitted offset, site less station."""

    # ``tmin_mean``, ``tmin_cosine``, ``tmin_sine`` and the same for tmax: what the table ``[tie]`` of a site file
    # holds [°C]
    coefficients: dict[str, float]
    days: int  # days compared
    # root mean square difference on days that were not used for fitting, without and with the tie [°C]
    error_before: dict[str, float]
    error_after: dict[str, float]

    @property
    def helps(self) -> bool:
        """Whether the tie lowers the error on days not used, for tmin and tmax together."""
        return sum(self.error_after.values()) < sum(self.error_before.values())


def tie_offset(tie: Mapping[str, float], name: str, day_of_year: ArrayLike) -> FloatArray:
    """Offset on days of the year.

    Parameters
    ----------
    tie : mapping of str to float
        As `Tie.coefficients`; terms that are missing count as zero.
    name : {'tmin', 'tmax'}
    day_of_year : array_like
        1 on 1 January. [day]

    Returns
    -------
    numpy.ndarray
        [°C]
    """
    coefficients = np.array([float(tie.get(f"{name}_{term}", 0.0)) for term in _TERMS])
    return np.asarray(_terms(day_of_year) @ coefficients)


def fit_tie(station: History, readings: History) -> Tie:
    """Fit the offset between the site's own readings and the station moved to the site.

    Parameters
    ----------
    station : History
        Moved to the site without a tie.
    readings : History
        The site's own daily tmin and tmax.

    Returns
    -------
    Tie
        The errors come from five stretches of days, each left out in turn.

    Raises
    ------
    DataGapError
        If fewer than 14 days have all four temperatures observed.
    """
    pairs = _common_days(station, readings)
    if len(pairs) < FEWEST_DAYS:
        raise DataGapError(
            f"station and readings share {len(pairs)} days with tmin and tmax: at least {FEWEST_DAYS} are needed; "
            "give longer readings or a station record that reaches to the same days"
        )
    days = pd.DatetimeIndex(pairs.index).day_of_year.to_numpy()
    coefficients: dict[str, float] = {}
    before, after = {}, {}
    for name in ("tmin", "tmax"):
        difference = (pairs[f"{name}_site"] - pairs[f"{name}_station"]).to_numpy(dtype=float)
        fitted = _fit(difference, days)
        # Zero is added so that no minus stands before a zero in a site file.
        coefficients |= {
            f"{name}_{term}": round(float(value), 3) + 0.0 for term, value in zip(_TERMS, fitted, strict=True)
        }
        before[name] = float(np.sqrt(np.mean(difference**2)))
        after[name] = _held_out_error(difference, days)
    return Tie(coefficients, len(pairs), before, after)


def _terms(day_of_year: ArrayLike) -> FloatArray:
    angle = 2.0 * np.pi * np.asarray(day_of_year, dtype=float) / _YEAR
    return np.stack([np.ones_like(angle), np.cos(angle), np.sin(angle)], axis=-1)


def _common_days(station: History, readings: History) -> pd.DataFrame:
    tables = []
    for history, label in ((station, "station"), (readings, "site")):
        daily = history.daily
        good = (daily["tmin_flag"] == "") & (daily["tmax_flag"] == "")
        tables.append(daily.loc[good, ["tmin", "tmax"]].add_suffix(f"_{label}"))
    return tables[0].join(tables[1], how="inner").dropna()


def _fit(difference: FloatArray, days: NDArray[np.int_]) -> FloatArray:
    """Ridge solution: each coefficient has a normal prior around zero; days count as fewer when they resemble."""
    design = _terms(days)
    centred = difference - difference.mean()
    variance = max(float(centred.var()), 0.01)
    likeness = float(np.clip((centred[1:] * centred[:-1]).mean() / variance, 0.0, 0.95)) if len(centred) > 2 else 0.0
    weight = (1.0 - likeness) / (1.0 + likeness) / variance
    return np.asarray(
        np.linalg.solve(weight * design.T @ design + np.diag(1.0 / _PRIOR**2), weight * design.T @ difference)
    )


def _held_out_error(difference: FloatArray, days: NDArray[np.int_]) -> float:
    parts = np.array_split(np.arange(len(difference)), _BLOCKS)
    squares = []
    for part in parts:
        rest = np.setdiff1d(np.arange(len(difference)), part)
        left = difference[part] - _terms(days[part]) @ _fit(difference[rest], days[rest])
        squares.append(left**2)
    return float(np.sqrt(np.concatenate(squares).mean()))
