"""The whole chain for many places: from daily weather to verdicts, windows and percentiles, group by group."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from chillplan.physics.lanes import LANES
from chillplan.region.chance import cases_of
from chillplan.region.decide import Answers, decide_places
from chillplan.region.ground import FROSTS, GroundCounts, Sums, ground_counts, inputs_of, sums_of
from chillplan.region.places import Ask, Places
from chillplan.seasons.chance import jeffreys_intervals, percentiles
from chillplan.seasons.cut import UNKNOWN_WATER_ALLOWED
from chillplan.seasons.season_rows import DAYS, FEWEST, MISSING_ALLOWED, SPIN_UP, SeasonRows

__all__ = ["GROUP", "SHARES", "answers_of", "empty_answers"]

GROUP = 4 * LANES
"""Places walked through together; what is kept of their days fits in the processor's cache."""

SHARES = (0.1, 0.5, 0.9)
"""Percentiles of winters that are mapped. [-]"""

WINTER_NUMBERS = ("chill_days", "effective_chill", "cold_days")
FloatArray = NDArray[np.floating]


def empty_answers(ask: Ask, places: int) -> dict[str, FloatArray]:
    """Answers of places without data: all NaN."""
    species, shares = len(ask.species), len(SHARES)
    shapes: dict[str, tuple[int, ...]] = {one.name: (species, places) for one in fields(Answers)}
    shapes |= dict.fromkeys(("interval_low", "interval_high"), (species, places))
    shapes |= dict.fromkeys(WINTER_NUMBERS, (shares, places))
    shapes |= {name: (len(FROSTS), shares, places) for name in ("last_spring_frost", "first_autumn_frost")}
    shapes["seasons"] = (places,)
    return {name: np.full(shape, np.nan, np.float32) for name, shape in shapes.items()}


def answers_of(places: Places, rows: SeasonRows, ask: Ask) -> dict[str, FloatArray]:
    """Answer for places of one hemisphere.

    Parameters
    ----------
    places : Places
    rows : SeasonRows
    ask : Ask

    Returns
    -------
    dict of str to numpy.ndarray, shape (..., place)
        NaN where a place has fewer than 3 usable seasons.
    """
    result = empty_answers(ask, len(places))
    for begin, count, group in _groups(places):
        for kept, ready, used in _evenly(group, count, rows, ask):
            found = _group_answers(ready, used, ask)
            for name, values in found.items():
                result[name][..., begin + kept] = values[..., : kept.size]
    return result


def _groups(places: Places) -> Iterator[tuple[int, int, Places]]:
    """First place, number of places, and the places of each group, in whole blocks.

    The last block takes in places before it once more where there are some, or else is filled up with copies.
    """
    whole = len(places) - len(places) % LANES
    for begin in range(0, whole, GROUP):
        end = min(begin + GROUP, whole)
        yield begin, end - begin, places.window(begin, end)
    if 0 < whole < len(places):
        yield len(places) - LANES, LANES, places.window(len(places) - LANES, len(places))
    elif whole < len(places):
        yield 0, len(places), places.at(_whole_lanes(np.arange(len(places))))


def _whole_lanes(where: NDArray[np.int_]) -> NDArray[np.int_]:
    """Indices filled up to whole blocks with copies of the last."""
    missing = -where.size % LANES
    return np.concatenate([where, np.repeat(where[-1:], missing)])


class _Ready:
    """A group with its arrays and sums, all places with the same seasons, with or without precipitation alike."""

    def __init__(self, places: Places, rows: SeasonRows, ask: Ask, gaps: bool) -> None:
        self.inputs = inputs_of(places, rows, gaps)
        self.sums: Sums = sums_of(self.inputs, rows, ask.warming)

    @property
    def whole(self) -> bool:
        """No temperature is missing anywhere."""
        return not np.isnan(self.sums.totals[:, 0]).any()


def _evenly(
    places: Places, count: int, rows: SeasonRows, ask: Ask
) -> Iterator[tuple[NDArray[np.int_], _Ready, SeasonRows]]:
    """Split a group into parts whose places have the same usable seasons; nearly always there is one part."""
    water = None if places.precipitation is None else places.own(places.precipitation)
    if water is None or not np.isnan(water).any():
        ready = _Ready(places, rows, ask, gaps=False)
        if ready.whole:
            yield np.arange(count), ready, rows
            return
    usable = _usable(places, rows)[:, :count]
    rain = np.zeros(count, dtype=bool)
    if water is not None:
        known = ~np.isnan(places.own(places.tmin) + places.own(places.tmax))[:, :count]
        unknown = known & np.isnan(water[:, :count])
        rain = np.asarray(unknown.sum(axis=0) <= UNKNOWN_WATER_ALLOWED * known.sum(axis=0))
        usable &= _missing_days(unknown, rows) <= np.where(rain, UNKNOWN_WATER_ALLOWED, 1.0) * DAYS
    kinds, which = np.unique(np.vstack([usable, rain]), axis=1, return_inverse=True)
    for number in range(kinds.shape[1]):
        keep = kinds[:-1, number]
        if keep.sum() < FEWEST:
            continue
        kept = np.flatnonzero(which.reshape(-1) == number)
        part = places.at(_whole_lanes(kept))
        used = rows.only(keep)
        yield kept, _Ready(part.filled() if kinds[-1, number] else part.dry(), used, ask, gaps=True), used


def _usable(places: Places, rows: SeasonRows) -> NDArray[np.bool_]:
    """Seasons with at most 5 % missing days, shape (season, place)."""
    missing = np.isnan(places.own(places.tmin)) | np.isnan(places.own(places.tmax))
    absent = (rows.row[:, SPIN_UP:] < 0).sum(axis=1)[:, None]
    return np.asarray(_missing_days(missing, rows) + absent <= MISSING_ALLOWED * DAYS)


def _missing_days(missing: NDArray[np.bool_], rows: SeasonRows) -> NDArray[np.int_]:
    """Days of each season on which something is missing, shape (season, place)."""
    return np.stack([missing[row[row >= 0]].sum(axis=0) for row in rows.row[:, SPIN_UP:]])


def _group_answers(ready: _Ready, rows: SeasonRows, ask: Ask) -> dict[str, FloatArray]:
    limits = tuple(dict.fromkeys(one.seedling_limit for one in ask.species))
    ground = ground_counts(ready.inputs, rows, ready.sums, ask, limits)
    result = _winter_answers(ground)
    result["seasons"] = np.full(ground.cold_days.shape[1], len(rows.years), np.float32)
    cases = cases_of(ready.inputs.dry, bool(ask.calibration))
    each = [
        decide_places(ground, rows.following, one, limits.index(one.seedling_limit), ask, cases) for one in ask.species
    ]
    for part in fields(Answers):
        rows_of = [getattr(answer, part.name) for answer in each]
        result[part.name] = np.stack(rows_of) if each else np.empty((0, ground.cold_days.shape[1]))
    result["interval_low"], result["interval_high"] = jeffreys_intervals(result["good"], result["winters"])
    return result


def _winter_answers(ground: GroundCounts) -> dict[str, FloatArray]:
    result: dict[str, FloatArray] = {name: percentiles(getattr(ground, name), SHARES) for name in WINTER_NUMBERS}
    for name, dates in (("last_spring_frost", ground.last_frost), ("first_autumn_frost", ground.first_frost)):
        result[name] = np.stack([percentiles(each, SHARES) for each in dates])
    return result
