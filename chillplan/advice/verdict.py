"""The decision for one species: autumn sowing, refrigerator, both, spring, two winters, or not here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chillplan import verdicts
from chillplan.advice.finish import Begun, Finish, finish_of, finished_share
from chillplan.advice.outlook import (
    SPRING,
    STARTS,
    Ease,
    Spring,
    Window,
    chill_after,
    coarse_outlook,
    outlook,
    planted_out,
    sowing_window,
    spring_date,
)
from chillplan.advice.rules import WAYS, verdict_of, warm_ground, way_of
from chillplan.advice.top_up import begin_window, can_be_lifted, lacks_chill, most_owed, top_up_pays, top_up_wanted
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.simulate import FATES, Fates
from chillplan.seeds.two_winters import TwoWinters
from chillplan.verdicts import VERDICTS

__all__ = ["Case", "Decision", "Judge", "decide"]

FloatArray = NDArray[np.floating]

DORMANT = FATES.index("still dormant")


@dataclass(frozen=True)
class Judge:
    """Everything the decisions of one site share.

    Attributes
    ----------
    winters : TwoWinters
    members : sequence of (float, TwoWinters)
        Weight and winters for each possible error of the seed-zone model; weights sum to 1.
    sides : sequence of TwoWinters
        Winters at one standard deviation of that error to either side; empty where it is not asked for.
    stride : int
        Only every so many candidate dates are looked at; the dates between take the answer of the one before.
    ease : Ease
    lift : mapping of float to int
        Day index by which seed is lifted, by the seed-zone temperature that wakes it. [day]
    accept, target : float
        [-]
    plant_out : int or None
        Day index the user wants. [day]
    """

    winters: TwoWinters
    members: Sequence[tuple[float, TwoWinters]]
    ease: Ease
    lift: Mapping[float, int]
    accept: float
    target: float
    plant_out: int | None = None
    sides: Sequence[TwoWinters] = ()
    stride: int = 1


@dataclass(frozen=True)
class Case:
    """The numbers of one species and one recipe, before a verdict.

    Attributes
    ----------
    autumn, spring_sown : Window
        Best autumn and spring sowing of seed that was not chilled.
    indoors : Spring
        Best planting out after treatment indoors.
    second : Window
        Best autumn sowing where two winters are allowed.
    second_share : numpy.ndarray, shape (start, season that is followed)
        Share up by the second spring. [-]
    finish : Finish or None
        Begun outdoors and finished indoors; None where that is out of the question.
    """

    species: Species
    recipe: Recipe
    fates: Fates
    autumn: Window
    spring_sown: Window
    indoors: Spring
    second: Window
    second_share: FloatArray
    finish: Finish | None
    chill: FloatArray


@dataclass(frozen=True)
class Decision:
    """A verdict with the numbers that carry it."""

    case: Case
    verdict: str
    good: int
    winters: int
    share_up: FloatArray
    chance: float
    chance_range: tuple[float, float]
    borderline: bool


def decide(judge: Judge, species: Species) -> Decision:
    """Weigh every recipe of a species and keep the best verdict.

    Parameters
    ----------
    judge : Judge
    species : Species

    Returns
    -------
    Decision
        Of the first recipe, unless another one works where the first does not.
    """
    decisions = [_decide_recipe(judge, species, recipe) for recipe in species.recipes]
    working = [decision for decision in decisions if decision.verdict != verdicts.NOT_HERE]
    return (working or decisions)[0]


def _decide_recipe(judge: Judge, species: Species, recipe: Recipe) -> Decision:
    case = _case(judge, species, recipe)
    verdict = _verdict(judge, case)
    good, winters, share = _numbers(judge, case, verdict)
    chance, spread = _chances(judge, case, verdict)
    inside = {good >= judge.accept * winters, *(part >= judge.accept for part in spread)}
    return Decision(case, verdict, good, winters, share, chance, spread, borderline=len(inside) > 1)


def _case(judge: Judge, species: Species, recipe: Recipe) -> Case:
    winters, ease = judge.winters, judge.ease
    fates = coarse_outlook(winters, species, recipe, judge.stride)
    risk = (ease, judge.accept, judge.target)
    autumn = sowing_window(fates.share_up, *risk, ease.autumn(species, recipe))
    both = fates.share_up + np.nan_to_num(fates.second_spring)
    followed = winters.followed
    case = Case(
        species=species,
        recipe=recipe,
        fates=fates,
        autumn=autumn,
        second=sowing_window(both[:, followed], *risk, ease.autumn(species, recipe)) if followed.any() else autumn,
        second_share=both[:, followed],
        spring_sown=sowing_window(fates.share_up, *risk, SPRING),
        indoors=spring_date(
            winters, species, recipe, judge.accept, judge.target, ease, fixed=judge.plant_out, stride=judge.stride
        ),
        finish=None,
        chill=chill_after(winters, int(STARTS[autumn.best])),
    )
    return replace(case, finish=_finish(judge, case))


def _finish(judge: Judge, case: Case) -> Finish | None:
    if not top_up_wanted(case.recipe) or case.autumn.meets or not case.indoors.meets:
        return None
    first, last = begin_window(case.autumn.best, judge.ease.cool, case.recipe)
    lift = judge.lift[warm_ground(case.species)]
    if not can_be_lifted(judge.ease.workable, lift) or not lacks_chill(
        case.fates.shares[1:, int(last)].mean(axis=1), DORMANT - 1
    ):
        return None
    begun = Begun(case.species, case.recipe, int(STARTS[first]), int(STARTS[last]), lift)
    risk = (judge.accept, judge.target, judge.ease)
    return finish_of(judge.winters, begun, most_owed(case.recipe), *risk, fixed=judge.plant_out, stride=judge.stride)


def _verdict(judge: Judge, case: Case) -> str:
    pays = False
    if case.finish is not None:
        share, indoors = case.finish.share, float(case.indoors.fates.share_up[0].mean())
        later = case.finish.planting - case.indoors.day
        pays = bool(top_up_pays(share >= judge.target, share, indoors, later, judge.accept))
    position = verdict_of(
        case.species,
        case.recipe,
        autumn=case.autumn.meets,
        spring=case.spring_sown.meets,
        second=case.second.meets,
        indoors=case.indoors.meets,
        top_up=pays,
    )
    return VERDICTS[int(position)]


def _numbers(judge: Judge, case: Case, verdict: str) -> tuple[int, int, FloatArray]:
    """Good winters, winters and share up by winter, of the way the verdict names."""
    winters = case.fates.share_up.shape[1]
    position = way_of(VERDICTS.index(verdict), case.spring_sown.meets, case.autumn.good, case.indoors.good)
    way = WAYS[int(position)]
    if way == "autumn":
        return case.autumn.good, winters, case.fates.share_up[case.autumn.best]
    if way == "spring":
        return case.spring_sown.good, winters, case.fates.share_up[case.spring_sown.best]
    if way == "second":
        return case.second.good, case.second_share.shape[1], case.second_share[case.second.best]
    if way == "top up" and case.finish is not None:
        return int((case.finish.share >= judge.target).sum()), winters, case.finish.share
    return case.indoors.good, winters, case.indoors.fates.share_up[0]


def _chances(judge: Judge, case: Case, verdict: str) -> tuple[float, tuple[float, float]]:
    """Chance of a good winter over the errors of the seed-zone model, and at one standard deviation to either side."""
    shares = [_share_good(judge, case, verdict, winters) for _, winters in judge.members]
    chance = sum(weight * share for (weight, _), share in zip(judge.members, shares, strict=True))
    beside = [_share_good(judge, case, verdict, winters) for winters in judge.sides] or [chance]
    return float(chance), (min(*beside, chance), max(*beside, chance))


def _share_good(judge: Judge, case: Case, verdict: str, winters: TwoWinters) -> float:
    species, recipe = case.species, case.recipe
    if verdict in {verdicts.AUTUMN, verdicts.EITHER, verdicts.TWO_WINTERS} or (
        verdict == verdicts.SPRING and case.spring_sown.meets
    ):
        windows = {verdicts.SPRING: case.spring_sown, verdicts.TWO_WINTERS: case.second}
        position = windows.get(verdict, case.autumn).best
        fates = outlook(winters, species, recipe, STARTS[position : position + 1])
        share = fates.share_up[0]
        if verdict == verdicts.TWO_WINTERS:
            share = (share + fates.second_spring[0])[winters.followed]
        return float((share >= judge.target).mean()) if share.size else float("nan")
    if verdict == verdicts.BEGUN and case.finish is not None:
        share = finished_share(winters, case.finish)
    else:
        share = planted_out(winters, species, recipe, case.indoors.day).share_up[0]
    return float((share >= judge.target).mean())


def with_offsets(winters: TwoWinters, offsets: Sequence[tuple[float, float]]) -> list[tuple[float, TwoWinters]]:
    """Winters for each (offset, weight) of the seed-zone error."""
    return [(weight, winters.shifted(offset) if offset else winters) for offset, weight in offsets]
