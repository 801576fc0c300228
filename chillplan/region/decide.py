"""Decides for one species at every place of a group, by the same rules as for a single site."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from chillplan import verdicts
from chillplan.advice.decide import DORMANT, Sowings, Ways, ways_of
from chillplan.advice.rules import STARTS, WAYS, warm_ground, warm_ground_day, way_of
from chillplan.advice.top_up import lift_day
from chillplan.region.begun import good_begun, left_of, lifted
from chillplan.region.chance import Shifted, chance_over, good_on
from chillplan.region.counts import PLANTING, counts_of, second_counts
from chillplan.region.ground import WARM, GroundCounts
from chillplan.region.group import Group
from chillplan.region.needs import Needs, needs_of
from chillplan.region.places import Ask
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.requirement import QUANTILES, lot_needing
from chillplan.seeds.two_winters import deadline_of
from chillplan.verdicts import VERDICTS

__all__ = ["Answers", "decide_places"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int_]
BoolArray = NDArray[np.bool_]

NOT_HERE = VERDICTS.index(verdicts.NOT_HERE)


@dataclass(frozen=True)
class Answers:
    """What is answered for a species; every array has the shape (place,).

    Attributes
    ----------
    verdict : numpy.ndarray of int
        Position in `VERDICTS`.
    good, winters : numpy.ndarray of int
        Good winters and all winters of the way the verdict names.
    sow_from, sow_to : numpy.ndarray
        Window outdoors, NaN where there is none. [day]
    plant_out : numpy.ndarray
        Best planting after treatment indoors, or after finishing there what was begun outdoors; NaN where treatment
        indoors does not meet the accepted risk. [day]
    chance : numpy.ndarray
        Chance of a good winter with the error of the seed-zone model counted in. [-]
    """

    verdict: IntArray
    good: IntArray
    winters: IntArray
    sow_from: FloatArray
    sow_to: FloatArray
    plant_out: FloatArray
    chance: FloatArray


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
    return _answers(ways, sowings, _chance(group, (species, recipe, needs), ways, sowings, asked))


def _sowings(group: Group, species: Species, recipe: Recipe, needs: Needs) -> Sowings:
    """How the seed of a recipe fares at every place, by the counts of the kernels."""
    ground, opened = group.ground, needs.open_share
    winters, followed = ground.chill_days.shape[0], int((group.following >= 0).sum())
    good, total, good_in, total_in, ups = counts_of(group, needs)
    lot = QUANTILES.size

    def left(wanted: BoolArray) -> tuple[IntArray, FloatArray]:
        both, once, later = second_counts(group, needs, wanted, ups)
        return both, (once * (opened + (1.0 - opened) * opened) + later * opened) / (lot * followed)

    def lying(last: IntArray, wanted: BoolArray) -> tuple[FloatArray, FloatArray]:
        sown = STARTS[last].astype(np.int32)
        found = lifted(group, needs, recipe, sown, np.zeros_like(sown), wanted)
        losses = found.lost.T / (lot * winters) * opened
        losses[DORMANT] += 1.0 - opened
        return losses, found.owed

    def finished(last: IntArray, planting: IntArray, wanted: BoolArray) -> tuple[BoolArray, FloatArray]:
        found = left_of(group, needs, recipe, STARTS[last].astype(np.int32), planting, wanted)
        return needs.once[found] > 0, found / lot * opened

    return Sowings(
        winters,
        followed,
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


def _answers(ways: Ways, sowings: Sowings, chance: FloatArray) -> Answers:
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
        np.where(way == WAYS.index("second"), sowings.followed, sowings.winters),
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
        return good / np.where(twice, max(sowings.followed, 1), sowings.winters)

    return chance_over(group.cases, share_good)
