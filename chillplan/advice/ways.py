"""The dated ways of a decision: outdoors, indoors, begun outdoors and finished indoors."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import count_back, count_on, date_of, depth_words, indoor_days, weekly
from chillplan.advice.finish import Begun, Finish, owed_range
from chillplan.advice.outlook import STARTS, Spring, Window, outlook, percentiles_of, spring_date
from chillplan.advice.result import Fridge, Outdoors, Step, TopUp
from chillplan.advice.top_up import LIFT_WITHIN
from chillplan.advice.verdict import STEP, Case, Decision, Judge
from chillplan.advice.wording import coat_words, number_range, winters_words
from chillplan.lot import COLD_STORE, OUTDOORS
from chillplan.seeds.recipe import Recipe
from chillplan.seeds.simulate import FATES

__all__ = [
    "When",
    "begun_way",
    "chosen_notes",
    "fridge_way",
    "left_way",
    "outdoor_way",
    "second_spring_way",
    "spring_way",
    "top_up_way",
]

MARKED = "mark the bed with name and date"
LIFT_WORDS = "lift the seed before the soil warms, bag or tray whole; home the same day, moist and cool"


@dataclass(frozen=True)
class When:
    """The season planned for and the day it is planned on."""

    season: int
    southern: bool
    today: date

    def day(self, index: int) -> date:
        """Date of a day index in the season planned for."""
        return date_of(index, self.season, self.southern)

    def later(self, seasons: int = 1) -> When:
        """The season after, or some seasons after."""
        return When(self.season + seasons, self.southern, self.today)

    @property
    def now(self) -> int:
        """Today as a day index of the season planned for; below zero if that season has not begun. [day]"""
        return (self.today - self.day(0)).days


def outdoor_way(judge: Judge, case: Case, when: When) -> Outdoors:
    """Autumn sowing with its window, in the season planned for."""
    return _sown(judge, case, case.autumn, when)


def spring_way(judge: Judge, case: Case, when: When) -> Outdoors:
    """Spring sowing of seed that was not chilled, with the dates of autumn that serve as well."""
    way = _sown(judge, case, case.spring_sown, when)
    if not case.autumn.meets:
        return way
    autumn = outdoor_way(judge, case, when)
    return replace(way, autumn=(autumn.sow_from, autumn.sow_to))


def second_spring_way(judge: Judge, case: Case, when: When) -> Outdoors:
    """Autumn sowing left in place for two winters."""
    return _sown(judge, case, case.second, when, 2)


def left_way(judge: Judge, case: Case, when: When) -> Outdoors:
    """Sown and left in place as chosen, for as many springs as the seed needs; what autumn gives where none serves."""
    window, spring = case.left or (case.autumn, 1)
    return _sown(judge, case, window, when, spring)


def chosen_notes(judge: Judge, case: Case, outdoors: Outdoors) -> list[str]:
    """What comes of the way that was chosen, where it is not the plain one."""
    chosen, notes = judge.seed(case.species).chosen, []
    winters = case.fates.share_up.shape[1]
    first, indoors = (winters_words(good, winters) for good in (case.autumn.good, case.indoors.good))
    if OUTDOORS in chosen and outdoors.spring > 1:
        notes.append(f"Outdoors as chosen, {outdoors.left_words} winters; in the first spring in {first}.")
    elif OUTDOORS in chosen and not outdoors.meets:
        kept = "fewer than you accept" if case.left is not None else "so it is not planned"
        notes.append(
            f"Outdoors was chosen: half of it is up in {winters_words(outdoors.good, outdoors.winters)}, {kept}."
        )
    if COLD_STORE in chosen and not (case.recipe.phases and case.indoors.meets):
        why = f"planted out after it half is up in only {indoors}" if case.recipe.phases else "this seed needs none"
        notes.append(f"The cold store was chosen, but {why}, so it is not planned.")
    return notes


def _share_by(judge: Judge, case: Case, window: Window, spring: int) -> NDArray[np.floating]:
    """Share up by a spring, of the winters that are known so long."""
    winters, best = judge.longer if spring > 2 and judge.longer else judge.winters, window.best
    found = outlook(winters, case.species, case.recipe, case.starts[best : best + 1]).by_spring(spring)
    return np.asarray(found[0])


def begun_way(judge: Judge, case: Case, begun: Begun, when: When) -> Outdoors:
    """Autumn sowing of seed that is to be lifted: what would become of it if it were left in place."""
    first, last = (int(place) for place in np.searchsorted(case.starts, (begun.first, begun.sown)))
    good = int((case.fates.share_up[last] >= judge.target).sum())
    return _sown(judge, case, Window(first, last, last, good, meets=False), when)


def _sown(judge: Judge, case: Case, window: Window, when: When, spring: int = 1) -> Outdoors:
    if when.day(case.day(window.last)) < when.today:
        when = when.later()
    shares = case.fates.shares[:, window.best]
    share_up = shares[0] if spring == 1 else _share_by(judge, case, window, spring)
    chill = percentiles_of(case.chill)
    up_in = when.season + spring - (1 if when.southern else 0)
    first, last, best = (when.day(case.day(place)) for place in (window.first, window.last, window.best))
    seed = judge.seed(case.species)
    if 0 < case.day(window.first) - seed.ready < STEP:
        first = when.day(seed.ready)  # candidate dates lie some days apart
    if seed.fresh:
        best = max(first, min(when.today, last))  # fresh seed is sown as soon as it may be
    return Outdoors(
        sow_from=first,
        sow_to=last,
        best=best,
        depth_cm=case.species.depth_cm,
        outcomes=dict(zip(FATES, shares.mean(axis=1).tolist(), strict=True)),
        good=window.good,
        winters=share_up.size,
        share_up=percentiles_of(share_up),
        chill=chill,
        meets=window.meets,
        steps=_sowing_steps(case, first, last, MARKED if spring == 1 else f"{MARKED}; up by spring {up_in}: leave it"),
        spring=spring,
        up_in=up_in,
    )


def _sowing_steps(case: Case, first: date, last: date, rest: str = MARKED) -> tuple[Step, ...]:
    steps = []
    if case.recipe.coat:
        words = "; then ".join(coat_words(step) for step in case.recipe.coat)
        steps.append(Step(first, last, "coat", f"{words}, just before sowing"))
    steps.append(Step(first, last, "sow", f"sow outdoors, {depth_words(case.species)}; {rest}"))
    return tuple(steps)


def fridge_way(judge: Judge, case: Case, when: When) -> Fridge:
    """Treatment indoors, counted back; later in the season, or in the next one, where today leaves too little time."""
    indoors, seed = case.indoors, judge.seed(case.species)
    there = max(when.now, seed.ready)
    earliest = there + indoor_days(case.recipe)
    if indoors.day < earliest and judge.plant_out is None and earliest <= int(STARTS[-1]):
        risk = (judge.accept, judge.target, judge.ease)
        late = spring_date(judge.winters, case.species, case.recipe, *risk, earliest=earliest)
        if late.meets:
            indoors = late
    begin = when.day(there)
    if indoors.day < earliest and judge.plant_out is None:
        when = when.later()
    plant_out = when.day(indoors.day)
    dates = count_back(case.species, case.recipe, plant_out)
    if seed.fresh and dates.prepare > begin:
        dates = count_on(case.species, case.recipe, begin, plant_out)
    return _fridge(indoors, plant_out, dates.prepare, dates.into_cold, dates.checks, dates.steps)


def _fridge(
    indoors: Spring,
    plant_out: date,
    prepare: date,
    into_cold: date | None,
    checks: tuple[date, ...],
    steps: tuple[Step, ...],
) -> Fridge:
    shares = indoors.fates.shares[:, 0]
    return Fridge(
        prepare=prepare,
        into_cold=into_cold,
        checks=checks,
        plant_out=plant_out,
        steps=steps,
        good=indoors.good,
        winters=shares.shape[1],
        share_up=percentiles_of(shares[0]),
        outcomes=dict(zip(FATES, shares.mean(axis=1).tolist(), strict=True)),
        meets=indoors.meets,
    )


def top_up_way(finish: Finish, decision: Decision, when: When) -> TopUp:
    """Begun outdoors in the autumn to come, lifted before the soil warms, finished in the refrigerator."""
    case, begun = decision.case, finish.begun
    if when.day(begun.sown) < when.today:
        when = when.later()
    sow, sow_to = max(when.day(begun.first), when.today), when.day(begun.sown)
    lift, plant_out = when.day(begun.lift), when.day(finish.planting)
    lift_from = max(lift - timedelta(days=LIFT_WITHIN), sow_to)
    owed = owed_range(finish)
    steps = (
        *_sowing_steps(case, sow, sow_to, "in a mesh bag or a tray, to be lifted again"),
        Step(lift_from, lift, "lift", LIFT_WORDS),
        Step(lift, plant_out, "cold phase", _owed_words(case.recipe, owed)),
        Step(plant_out, plant_out, "plant out", f"plant out, {depth_words(case.species)}"),
    )
    return TopUp(
        sow=sow,
        sow_to=sow_to,
        lift_from=lift_from,
        lift=lift,
        checks=weekly(lift_from, plant_out),
        plant_out=plant_out,
        owed_days=owed,
        spared_days=case.recipe.total_days[1] - owed[1],
        good=decision.good,
        winters=decision.winters,
        share_up=percentiles_of(decision.share_up),
        steps=steps,
    )


def _owed_words(recipe: Recipe, owed: tuple[float, float, float]) -> str:
    _, median, most = owed
    temperature = recipe.phases[-1].temperature
    cold = f", {number_range(*temperature, '°C')}" if temperature else ""
    return (
        f"into the refrigerator for the cold still owed, {median:.0f} days in a median winter and {most:.0f} in a "
        f"poor one{cold}, moist; what is done earlier stays there until planting out"
    )
