"""What is told about a record: where it came from, what was left out, how often it froze late, how chill changes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from math import asin, cos, radians, sin, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.outlook import percentiles_of
from chillplan.errors import counted
from chillplan.report.reader import Reader
from chillplan.seasons.chance import FrostDates, frost_dates
from chillplan.seasons.cut import Seasons, season_label
from chillplan.seasons.summary import Winters
from chillplan.seasons.trend import trend
from chillplan.site import Site
from chillplan.weather.history import History

__all__ = [
    "RECENT",
    "TAKEN_MOIST",
    "Source",
    "frost_risk_json",
    "guessed_water_line",
    "left_out_lines",
    "risk_words",
    "source_of",
    "trend_words",
    "what_if",
]

EARTH_RADIUS_KM = 6371.0


@dataclass(frozen=True)
class Source:
    """Provenance of a history beside the site it is used for.

    Attributes
    ----------
    coverage : float
        Share of days observed, 0 to 1.
    distance_km, height_difference_m : float or None
        Site minus station; None where either is not known. [km, m]
    """

    source: str
    station: str
    first: date
    last: date
    coverage: float
    distance_km: float | None
    height_difference_m: float | None
    invented: bool
    licence: str
    notes: tuple[str, ...]

    @property
    def air(self) -> str:
        """What kind of number the air temperatures are: ``observed``, or ``invented`` in the demo."""
        return "invented" if self.invented else "observed"


TAKEN_MOIST = (
    "The record has no precipitation: the seed zone is taken to be moist all year. In dry autumns chilling begins "
    "later."
)


def what_if(warming: float, reader: Reader) -> str:
    """A sentence that says by how much every temperature was moved."""
    return (
        f"Every temperature was moved by {reader.units.difference(warming)} as asked: this is a what-if, not a record."
    )


def distance_km(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Great-circle distance between two (latitude, longitude) pairs. [km]"""
    lat1, lon1, lat2, lon2 = map(radians, (*first, *second))
    chord = sin((lat2 - lat1) / 2) ** 2 + cos(lat1) * cos(lat2) * sin((lon2 - lon1) / 2) ** 2
    return 2.0 * EARTH_RADIUS_KM * asin(min(1.0, sqrt(chord)))


def source_of(history: History, site: Site) -> Source:
    """What the reader is told about a history."""
    origin = history.provenance
    away = None
    if origin.latitude is not None and origin.longitude is not None:
        away = distance_km((site.latitude, site.longitude), (origin.latitude, origin.longitude))
    both = site.elevation is not None and origin.elevation is not None
    higher = (site.elevation or 0.0) - (origin.elevation or 0.0) if both else None
    return Source(
        source=origin.source,
        station=origin.station,
        first=history.daily.index[0].date(),
        last=history.daily.index[-1].date(),
        coverage=history.coverage,
        distance_km=away,
        height_difference_m=higher,
        invented=origin.invented,
        licence=origin.licence,
        notes=origin.notes,
    )


def guessed_water_line(seasons: Seasons) -> str | None:
    """Tell of the days whose precipitation is a guess; None where there are none."""
    guessed = seasons.guessed_water
    if not guessed:
        return None
    worst = max(guessed, key=lambda year: guessed[year])
    missing, most = counted(sum(guessed.values()), "day"), counted(guessed[worst], "day")
    return (
        f"Precipitation is missing on {missing} of {counted(len(guessed), 'winter')}, most in {season_label(worst)} "
        f"({most}): guessed there from the daily range of temperature, scaled to this record, and with it the snow."
    )


def left_out_lines(seasons: Seasons) -> list[str]:
    """``1970/71 to 1982/83, 365 of 365 days missing``: a line a run."""
    runs: list[tuple[int, int, str]] = []
    for year, why in sorted(seasons.left_out.items()):
        if runs and runs[-1][1] == year - 1 and runs[-1][2] == why:
            runs[-1] = (runs[-1][0], year, why)
        else:
            runs.append((year, year, why))
    return [
        f"{season_label(first)}{f' to {season_label(last)}' if last > first else ''}, {why}"
        for first, last, why in runs
    ]


RECENT = 15  # winters shown beside the whole record
SMALLEST = 0.01  # probability below which no figure is told


def trend_words(winters: Winters) -> str:
    """Trend of the chill, and the last winters beside the whole record."""
    change = trend(winters.effective_chill, winters.years.astype(float))
    if not math.isfinite(change.per_decade):
        said = "Too few winters for a trend"
    else:
        clear = "a clear trend" if change.clear else "not told from chance"
        chance = "p < 0.01" if change.probability < SMALLEST else f"p = {change.probability:.2f}"
        said = f"Effective chill changes by {change.per_decade:+.1f} days a decade ({clear}, {chance})"
    latest = winters.latest(RECENT)
    middle = percentiles_of(latest.effective_chill)[1]
    return (
        f"{said}; the median of the last {latest.years.size} winters is {middle:.0f}. "
        f"Verdicts rest on all {winters.years.size} winters used."
    )


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
