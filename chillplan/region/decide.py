"""From daily weather of many places to verdicts, windows and percentiles, by the same rules as for a single site."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from chillplan import verdicts
from chillplan.advice.decide import DORMANT, Sowings, Ways, ways_of
from chillplan.advice.rules import STARTS, WAYS, warm_ground, warm_ground_day, way_of
from chillplan.advice.top_up import lift_day
from chillplan.physics.lanes import LANES
from chillplan.region.counts import (
    PLANTING,
    Group,
    Shifted,
    cases_of,
    chance_over,
    counts_of,
    good_begun,
    good_on,
    left_of,
    lifted,
    second_counts,
)
from chillplan.region.ground import FROSTS, WARM, GroundCounts, Sums, ground_counts, inputs_of, sums_of
from chillplan.region.places import Ask, Needs, Places, needs_of
from chillplan.seasons.chance import jeffreys_intervals, percentiles
from chillplan.seasons.cut import DAYS, FEWEST, MISSING_ALLOWED, SPIN_UP, UNKNOWN_WATER_ALLOWED, SeasonRows
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.requirement import QUANTILES, lot_needing
from chillplan.seeds.two_winters import deadline_of
from chillplan.verdicts import VERDICTS

__all__ = ["GROUP", "SHARES", "Answers", "answers_of", "decide_places", "empty_answers"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int_]
BoolArray = NDArray[np.bool_]

NOT_HERE = VERDICTS.index(verdicts.NOT_HERE)


@dataclass(frozen=True)
class Answers:
    """What is answered for a species; every array has the shape (place,)."""

    verdict: IntArray  # position in `VERDICTS`
    # good winters and all winters of the way the verdict names
    good: IntArray
    winters: IntArray
    # window outdoors, NaN where there is none [day]
    sow_from: FloatArray
    sow_to: FloatArray
    # best planting after treatment indoors, or after finishing there what was begun outdoors; NaN where treatment
    # indoors does not meet the accepted risk [day]
    plant_out: FloatArray
    chance: FloatArray  # chance of a good winter with the error of the seed-zone model counted in [-]


def decide_places(
    ground: GroundCounts,
    following: NDArray[np.int64],
    species: Species,
    limit: int,
    ask: Ask,
    cases: tuple[Shifted, ...],
) -> Answers:
    """Decide, with the first recipe, or another one where the first does not work.

    Parameters
    ----------
    ground : GroundCounts
    following : numpy.ndarray of int, shape (season,)
        Index of the season after each, -1 where it is not usable.
    species : Species
    limit : int
        Position of the species' seedling limit among those of `ground`.
    ask : Ask
    cases : tuple of Shifted
        What the chance is counted over.
    """
    group = Group(
        ground,
        following,
        deadline_of(ground.first_killing).astype(np.int32),
        lift_day(ground.soil_warm[WARM.index(warm_ground(species))]).astype(np.int32),
        np.ascontiguousarray(ground.last_killing[limit]),
        ask,
        cases,
    )
    answer = _decide_recipe(group, species, species.recipes[0], np.ones(group.deadline.size, dtype=bool))
    for recipe in species.recipes[1:]:
        open_question = answer.verdict == NOT_HERE
        if not open_question.any():
            break
        other = _decide_recipe(group, species, recipe, open_question)
        better = open_question & (other.verdict != NOT_HERE)
        answer = Answers(
            *(np.where(better, getattr(other, one.name), getattr(answer, one.name)) for one in fields(Answers))
        )
    return answer


def _decide_recipe(group: Group, species: Species, recipe: Recipe, asked: BoolArray) -> Answers:
    """Decide everywhere; the chance of a good winter is worked out where it is asked for."""
    needs = needs_of(species, recipe, group.ask.target)
    sowings = _sowings(group, species, recipe, needs)
    ways = ways_of(species, recipe, sowings)
    return _answers(ways, sowings, group.followed, _chance(group, (species, recipe, needs), ways, sowings, asked))


def _sowings(group: Group, species: Species, recipe: Recipe, needs: Needs) -> Sowings:
    """How the seed of a recipe fares at every place, by the counts of the kernels."""
    ground, opened = group.ground, needs.open_share
    winters, followed = ground.chill_days.shape[0], group.followed
    good, total, good_in, total_in, ups = counts_of(group, needs)
    lot = QUANTILES.size

    def left(wanted: BoolArray, _: int) -> tuple[IntArray, FloatArray, int]:
        both, once, later = second_counts(group, needs, wanted, ups)
        share = (once * (opened + (1.0 - opened) * opened) + later * opened) / (lot * max(followed, 1))
        return both, share, followed

    def lying(last: IntArray, wanted: BoolArray) -> tuple[FloatArray, FloatArray]:
        sown = STARTS[last].astype(np.int32)
        found = lifted(group, needs, recipe, sown, np.zeros_like(sown), wanted)
        losses = found.lost / (lot * winters) * opened
        losses[DORMANT] += 1.0 - opened
        return losses, found.owed

    def finished(last: IntArray, planting: IntArray, wanted: BoolArray) -> tuple[BoolArray, FloatArray]:
        found = left_of(group, needs, recipe, STARTS[last].astype(np.int32), planting, wanted)
        return needs.once[found] > 0, found / lot * opened

    return Sowings(
        winters,
        group.ask.accept,
        ground.cool,
        ground.workable,
        warm_ground_day(ground.soil_warm[WARM.index(warm_ground(species))]),
        group.lift.astype(int),
        STARTS[PLANTING:],
        (good, total / (lot * winters) * opened),
        (good_in, total_in / (lot * winters) * opened),
        left,
        lying,
        finished,
    )


def _answers(ways: Ways, sowings: Sowings, followed: int, chance: FloatArray) -> Answers:
    """Take each place's numbers from the way its verdict names, and its window from where it sows outdoors."""
    verdict = ways.verdict
    autumn, spring, second, begun = ways.autumn, ways.spring, ways.second, ways.begun
    way = way_of(verdict, spring.meets, autumn.good, ways.indoors_good)
    good = np.choose(way, [autumn.good, spring.good, second.good, begun.good, ways.indoors_good])
    names = {name: verdict == number for number, name in enumerate(VERDICTS)}
    helped = names[verdicts.BEGUN]
    outdoors = [names[verdicts.SPRING], names[verdicts.TWO_WINTERS], helped]
    shown = autumn.meets | names[verdicts.TWO_WINTERS] | helped
    shown = np.where(names[verdicts.SPRING], spring.meets, shown)

    def day(end: str) -> FloatArray:
        position = np.select(outdoors, [getattr(each, end) for each in (spring, second, begun)], getattr(autumn, end))
        return np.where(shown, STARTS[position], np.nan)

    return Answers(
        verdict,
        good,
        np.where(way == WAYS.index("second"), followed, sowings.winters),
        day("first"),
        day("last"),
        np.where(helped, begun.planted, np.where(ways.indoors, ways.planted, np.nan)),
        chance,
    )


def _chance(
    group: Group, seed: tuple[Species, Recipe, Needs], ways: Ways, sowings: Sowings, asked: BoolArray
) -> FloatArray:
    """Chance of a good winter by the way the verdict names, over what is not known; 0 where not asked for."""
    species, recipe, needs = seed
    names = {name: asked & (ways.verdict == number) for number, name in enumerate(VERDICTS)}
    in_autumn, in_spring = names[verdicts.AUTUMN] | names[verdicts.EITHER], names[verdicts.SPRING] & ways.spring.meets
    twice, helped = names[verdicts.TWO_WINTERS], names[verdicts.BEGUN]
    start = np.select(
        [in_autumn, in_spring], [STARTS[ways.autumn.best], STARTS[ways.spring.best]], ways.planted
    ).astype(np.int32)
    once = asked & ~twice & ~helped
    code, treated = group.ground.code, ~in_autumn & ~in_spring

    def share_good(shift: int, lot: float) -> FloatArray:
        wanting = lot_needing(recipe, lot)
        if shift == 0 and wanting is recipe:
            known = [ways.autumn.good, ways.spring.good, ways.second.good, ways.begun.good]
            good = np.select([in_autumn, in_spring, twice, helped], known, ways.indoors_good)
        else:
            own = needs if wanting is recipe else needs_of(species, wanting, group.ask.target)
            good = good_on(code, shift, own, group.deadline, group.killing, start, treated, once)
            if twice.any():
                table = second_counts(group, own, twice, None, shift)[0]
                good += np.where(twice, np.take_along_axis(table, ways.second.best[None], axis=0)[0], 0)
            if helped.any():
                good += np.where(helped, good_begun(group, own, wanting, ways.begun, helped, shift), 0)
        return good / np.where(twice, max(group.followed, 1), sowings.winters)

    return chance_over(group.cases, share_good)


GROUP = 4 * LANES
"""Places walked through together; what is kept of their days fits in the processor's cache."""

SHARES = (0.1, 0.5, 0.9)
"""Percentiles of winters that are mapped. [-]"""

WINTER_NUMBERS = ("chill_days", "effective_chill", "cold_days")


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
        self.sums: Sums = sums_of(self.inputs, ask.warming)

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
    ground = ground_counts(ready.inputs, ready.sums, ask, limits)
    result = _winter_answers(ground)
    result["seasons"] = np.full(ground.cold_days.shape[1], len(rows.years), np.float32)
    cases = cases_of(ready.inputs.whole.dry, bool(ask.calibration))
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
