"""The decision for one species: autumn sowing, refrigerator, both, spring, two winters, or not here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from chillplan import verdicts
from chillplan.advice.decide import Sowings, Ways, ways_of
from chillplan.advice.outlook import Ease, Spring, Window, chill_after, outlook, planted_out
from chillplan.advice.rules import LAST_AUTUMN_START, NEARLY, STARTS, WAYS, Member, warm_ground, way_of
from chillplan.advice.top_up import Begun, Finish, finished_share
from chillplan.lot import OUTDOORS
from chillplan.seasons.cut import MIDWINTER
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.requirement import lot_needing
from chillplan.seeds.simulate import Fates
from chillplan.seeds.two_winters import TwoWinters
from chillplan.verdicts import VERDICTS

__all__ = ["STEP", "Case", "Decision", "Judge", "SeedAt", "decide"]

FloatArray = NDArray[np.floating]

FAIR = 0.5
"""A way that the grower chose is planned, and its figures told, where it serves in so many winters. Assumed. [-]"""
GROUND_SIDES = 2
"""The first of a judge's sides are those of the seed zone."""


class SeedAt(NamedTuple):
    """When seed is there in the season planned for.

    Attributes
    ----------
    ready : int
        Day index from which it is; negative before the season's first day. [day]
    fresh : bool
        Whether it is fresh, and keeps moist or not at all.
    later : int
        Seasons after the one planned for, where this season's seed is gone; -1 for seed in treatment now, while the
        season planned for has not begun. [season]
    chosen : frozenset of str
        Ways chosen for it, words of `chillplan.lot.WAYS`.
    """

    ready: int = 0
    fresh: bool = False
    later: int = 0
    chosen: frozenset[str] = frozenset()

    @property
    def left(self) -> bool:
        """Whether it was chosen to be sown outdoors, for as many springs as it needs."""
        return OUTDOORS in self.chosen


ALL_SEASON = SeedAt()
STEP = int(STARTS[1] - STARTS[0])


@dataclass(frozen=True)
class Judge:
    """Everything the decisions of one site share.

    Attributes
    ----------
    members : sequence of Member
        Cases of the error of the seed zone and of the lot; weights sum to 1.
    sides : sequence of Member
        One standard deviation of either to either side (`sides_of`); empty where it is not asked for.
    lift : mapping of float to int
        Day index by which seed is lifted, by the seed-zone temperature that wakes it. [day]
    accept, target : float
        [-]
    plant_out : int or None
        Day index the user wants. [day]
    seeds : mapping of str to SeedAt
        When the seed of a species is there, by its name; from the season's first day on where nothing is said.
    longer : TwoWinters or None
        The winters with the two seasons that follow each, for seed that was chosen to be left outdoors.
    """

    winters: TwoWinters
    members: Sequence[Member]
    ease: Ease
    lift: Mapping[float, int]
    accept: float
    target: float
    plant_out: int | None = None
    sides: Sequence[Member] = ()
    seeds: Mapping[str, SeedAt] = field(default_factory=dict)
    longer: TwoWinters | None = None

    @property
    def lean(self) -> Judge:
        """The same for verdicts alone, without the errors that chances count over."""
        return replace(self, members=[Member(1.0, self.winters, 0.0)], sides=())

    def is_cool(self, day: int) -> bool:
        """Whether the ground has cooled by a candidate date."""
        return bool(day >= 0 and self.ease.cool[np.searchsorted(STARTS, day)])

    def seed(self, species: Species) -> SeedAt:
        """When the seed of a species is there."""
        return self.seeds.get(species.name, ALL_SEASON)

    def starts(self, species: Species) -> NDArray[np.int32]:
        """Candidate sowing dates: those before the season too where fresh seed is ripe by then. [day]"""
        ready = max(self.seed(species).ready, -self.winters.lead)
        early = np.arange(-(-ready // STEP) * STEP if ready < 0 else 0, 0, STEP, dtype=np.int32)
        return np.concatenate([early, STARTS]).astype(np.int32)


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
    third : Window
        The same where three are, of seed that was chosen to be left outdoors.
    second_share : numpy.ndarray, shape (start, season that is followed)
        Share up by the second spring. [-]
    finish : Finish or None
        Begun outdoors and finished indoors; None where that is out of the question.
    chill : numpy.ndarray, shape (season,)
        Effective chill after the best autumn sowing. [day]
    starts : numpy.ndarray of int, shape (start,)
        Candidate sowing dates. [day]
    """

    species: Species
    recipe: Recipe
    fates: Fates
    autumn: Window
    spring_sown: Window
    indoors: Spring
    second: Window
    second_share: FloatArray
    third: Window
    finish: Finish | None
    chill: FloatArray
    starts: NDArray[np.int32]

    @property
    def left(self) -> tuple[Window, int] | None:
        """Dates of seed sown and left in place as chosen, and the first spring by which it serves.

        Where none serves the one by which it fares best, and None where that is in fewer than `FAIR` of the winters.
        """
        ways = [(self.autumn, 1), (self.spring_sown, 1), (self.second, 2), (self.third, 3)]
        if np.nan_to_num(self.fates.later[0, self.second.best]).mean() < NEARLY:
            del ways[2]  # what a second spring seems to gain are the winters that it is not known of
        met = [way for way in ways if way[0].meets]
        winters = {1: self.fates.share_up.shape[1], 2: self.second_share.shape[1]}
        fair = {way: way[0].good / winters[way[1]] for way in ways[:-1]}
        best = max(fair, key=lambda way: fair[way])
        return met[0] if met else best if fair[best] >= FAIR else None

    def day(self, position: int) -> int:
        """Day index of a candidate sowing date. [day]"""
        return int(self.starts[position])


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

    Returns
    -------
    Decision
        Of the first recipe, unless another one works where the first does not: outdoors or indoors, if one was chosen.
    """
    decisions = [_decide_recipe(judge, species, recipe) for recipe in species.recipes]
    working = [decision for decision in decisions if decision.verdict != verdicts.NOT_HERE]
    chosen = judge.seed(species).chosen
    wanted = [decision for decision in working if chosen and all(_serves(decision.case, way) for way in chosen)]
    return (wanted or working or decisions)[0]


def _serves(case: Case, way: str) -> bool:
    """Whether a chosen way serves with a recipe."""
    return case.left is not None if way == OUTDOORS else case.indoors.meets and bool(case.recipe.phases)


def _decide_recipe(judge: Judge, species: Species, recipe: Recipe) -> Decision:
    fates = outlook(judge.winters, species, recipe, judge.starts(species))
    springs = STARTS[STARTS >= LAST_AUTUMN_START]
    plantings = springs if judge.plant_out is None else np.array([judge.plant_out], dtype=np.int32)
    treated = planted_out(judge.winters, species, recipe, plantings)
    ways = ways_of(species, recipe, _sowings(judge, (species, recipe), fates, plantings, treated))
    case, verdict = _case(judge, (species, recipe), fates, treated, ways), VERDICTS[int(ways.verdict)]
    early = case.autumn.meets and case.day(case.autumn.best) < MIDWINTER
    if judge.seed(species).fresh and early and (verdict == verdicts.SPRING or not recipe.phases):
        verdict = verdicts.AUTUMN  # fresh seed is not kept until spring for nothing
    good, winters, share = _numbers(judge, case, verdict)
    chance, beside = _chances(judge, case, verdict)
    met = {good >= judge.accept * winters, *(part >= judge.accept for part in beside[:GROUND_SIDES])}
    spread = (min(*beside, chance), max(*beside, chance)) if beside else (chance, chance)
    return Decision(case, verdict, good, winters, share, chance, spread, borderline=len(met) > 1)


def _sowings(
    judge: Judge, seed: tuple[Species, Recipe], fates: Fates, plantings: NDArray[np.int32], treated: Fates
) -> Sowings:
    """How the seed of a recipe fares at the site, by its simulation."""
    winters, warm, starts = judge.winters, warm_ground(seed[0]), judge.starts(seed[0])
    longer = judge.longer if judge.seed(seed[0]).left else None
    early = np.zeros(starts.size - STARTS.size, dtype=bool)

    def left(_: NDArray[np.bool_], spring: int) -> tuple[NDArray[np.int_], FloatArray, int]:
        known = fates if spring == 2 or longer is None else outlook(longer, *seed, starts)
        share = known.by_spring(spring)
        good, mean = _counted(judge, share)
        if spring == 3:  # a spring that brings hardly a seed is not waited for, though other winters are counted by it
            good = np.where(np.nan_to_num(known.later[1]).mean(axis=1) >= NEARLY, good, 0)
        return good, mean, share.shape[1]

    def begun(last: NDArray[np.int_]) -> Begun:
        return Begun(*seed, first=int(starts[last]), sown=int(starts[last]), lift=judge.lift[warm])

    def finished(last: Any, planting: Any, _: Any) -> tuple[NDArray[np.bool_], FloatArray]:
        share = finished_share(winters, begun(last), int(planting))
        return share >= judge.target, share

    return Sowings(
        winters=winters.temperature.shape[1],
        accept=judge.accept,
        cool=np.concatenate([early, judge.ease.cool]),
        workable=np.concatenate([~early, judge.ease.workable]),
        warm=np.asarray(judge.ease.warm[warm]),
        lift=np.asarray(judge.lift[warm]),
        plantings=plantings,
        sown=_counted(judge, fates.share_up),
        planted=_counted(judge, treated.share_up),
        left=left,
        lying=lambda last, _: (fates.shares[1:, int(last)].mean(axis=1), begun(last).owed(winters)),
        finished=finished,
        starts=starts,
        there=starts >= judge.seed(seed[0]).ready,
        springs=2 if longer is None else 3,
    )


def _counted(judge: Judge, share: FloatArray) -> tuple[NDArray[np.int_], FloatArray]:
    """Good winters, and mean share up, of each sowing date."""
    return (share >= judge.target).sum(axis=1), share.sum(axis=1) / max(share.shape[1], 1)


def _case(judge: Judge, seed: tuple[Species, Recipe], fates: Fates, treated: Fates, ways: Ways) -> Case:
    winters, planting, starts = judge.winters, int(ways.planting), judge.starts(seed[0])
    finish = None
    if ways.begun.pays:
        first, last = (int(starts[position]) for position in (ways.begun.first, ways.begun.last))
        begun = Begun(*seed, first, last, judge.lift[warm_ground(seed[0])])
        day = int(ways.begun.planted)
        finish = Finish(begun, day, begun.owed(winters), finished_share(winters, begun, day))
    return Case(
        *seed,
        fates=fates,
        autumn=Window.of(ways.autumn),
        spring_sown=Window.of(ways.spring),
        indoors=Spring(int(ways.planted), int(ways.indoors_good), bool(ways.indoors), treated.of_start(planting)),
        second=Window.of(ways.second),
        second_share=fates.by_spring(2),
        third=Window.of(ways.third),
        finish=finish,
        chill=chill_after(winters, int(starts[ways.autumn.best])),
        starts=starts,
    )


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


def _chances(judge: Judge, case: Case, verdict: str) -> tuple[float, list[float]]:
    """Chance of a good winter over the errors of the seed zone and of the lot, and the share good at each side."""
    shares = [_share_good(judge, case, verdict, member) for member in judge.members]
    chance = sum(member.weight * share for member, share in zip(judge.members, shares, strict=True))
    return float(chance), [_share_good(judge, case, verdict, member) for member in judge.sides]


def _share_good(judge: Judge, case: Case, verdict: str, member: Member) -> float:
    species, recipe, winters = case.species, lot_needing(case.recipe, member.lot), member.winters
    if verdict in {verdicts.AUTUMN, verdicts.EITHER, verdicts.TWO_WINTERS} or (
        verdict == verdicts.SPRING and case.spring_sown.meets
    ):
        windows = {verdicts.SPRING: case.spring_sown, verdicts.TWO_WINTERS: case.second}
        position = windows.get(verdict, case.autumn).best
        fates = outlook(winters, species, recipe, case.starts[position : position + 1])
        share = fates.by_spring(2 if verdict == verdicts.TWO_WINTERS else 1)[0]
        return float((share >= judge.target).mean()) if share.size else float("nan")
    if verdict == verdicts.BEGUN and case.finish is not None:
        share = finished_share(winters, replace(case.finish.begun, recipe=recipe), case.finish.planting)
    else:
        share = planted_out(winters, species, recipe, np.array([case.indoors.day], dtype=np.int32)).share_up[0]
    return float((share >= judge.target).mean())
