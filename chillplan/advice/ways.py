"""The dated ways of a decision: outdoors, indoors, begun outdoors and finished indoors."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from chillplan.advice.calendar_dates import count_back, date_of, depth_words, indoor_days
from chillplan.advice.outlook import STARTS, Spring, Window, percentiles_of, spring_date
from chillplan.advice.result import Fridge, Outdoors, Step, TopUp
from chillplan.advice.verdict import Case, Decision, Judge
from chillplan.advice.wording import coat_words
from chillplan.seasons.cut import day_index, season_of
from chillplan.seeds.simulate import FATES

__all__ = ["When", "fridge_way", "outdoor_way", "second_spring_way", "spring_way", "top_up_way"]


@dataclass(frozen=True)
class When:
    """The season planned for and the day it is planned on."""

    season: int
    southern: bool
    today: date

    def day(self, index: int) -> date:
        """Date of a day index in the season planned for."""
        return date_of(index, self.season, self.southern)

    def next(self) -> When:
        """The season after."""
        return When(self.season + 1, self.southern, self.today)

    @property
    def now(self) -> int:
        """Today as a day index of the season planned for; 0 if that season has not begun. [day]"""
        if season_of(self.today, self.southern) < self.season:
            return 0
        years = season_of(self.today, self.southern) - self.season
        return day_index(self.today, self.southern) + 365 * years


def outdoor_way(judge: Judge, case: Case, when: When) -> Outdoors:
    """Autumn sowing with its window, in the season planned for."""
    return _sown(judge, case, case.autumn, when)


def spring_way(judge: Judge, case: Case, when: When) -> Outdoors:
    """Spring sowing of seed that was not chilled."""
    return _sown(judge, case, case.spring_sown, when)


def second_spring_way(judge: Judge, case: Case, when: When) -> Outdoors:
    """Autumn sowing left in place for two winters."""
    return _sown(judge, case, case.second, when)


def _sown(judge: Judge, case: Case, window: Window, when: When) -> Outdoors:
    if when.day(int(STARTS[window.last])) < when.today:
        when = when.next()
    shares = case.fates.shares[:, window.best]
    chill = percentiles_of(case.chill)
    first, last, best = (when.day(int(STARTS[place])) for place in (window.first, window.last, window.best))
    return Outdoors(
        sow_from=first,
        sow_to=last,
        best=best,
        depth_cm=case.species.depth_cm,
        outcomes=dict(zip(FATES, shares.mean(axis=1).tolist(), strict=True)),
        good=window.good,
        winters=shares.shape[1],
        share_up=percentiles_of(shares[0]),
        chill=chill,
        meets=window.meets,
        steps=_sowing_steps(case, first, last),
    )


def _sowing_steps(case: Case, first: date, last: date) -> tuple[Step, ...]:
    steps = []
    if case.recipe.coat:
        words = "; then ".join(coat_words(step) for step in case.recipe.coat)
        steps.append(Step(first, last, "coat", f"{words}, just before sowing"))
    steps.append(
        Step(first, last, "sow", f"sow outdoors, {depth_words(case.species)}; mark the bed with name and date")
    )
    return tuple(steps)


def fridge_way(judge: Judge, case: Case, when: When) -> Fridge:
    """Treatment indoors, counted back; later in the season, or in the next one, where today leaves too little time."""
    indoors = case.indoors
    earliest = when.now + indoor_days(case.recipe)
    if indoors.day < earliest and judge.plant_out is None and earliest <= int(STARTS[-1]):
        risk = (judge.accept, judge.target, judge.ease)
        late = spring_date(judge.winters, case.species, case.recipe, *risk, earliest=earliest)
        if late.meets:
            indoors = late
    if indoors.day < earliest and judge.plant_out is None:
        when = when.next()
    plant_out = when.day(indoors.day)
    dates = count_back(case.species, case.recipe, plant_out)
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


def top_up_way(judge: Judge, decision: Decision, when: When) -> TopUp:
    """Begun outdoors at the best autumn date to come, lifted before the soil warms, finished in the refrigerator."""
    case = decision.case
    if when.day(int(STARTS[case.autumn.best])) < when.today:
        when = when.next()
    sow = when.day(int(STARTS[case.autumn.best]))
    lift, plant_out = when.day(judge.lift), when.day(case.indoors.day)
    owed = percentiles_of(case.owed)
    days = owed[1] if np.isfinite(owed[1]) else 0.0
    steps = (
        *_sowing_steps(case, sow, sow),
        Step(lift, lift, "lift", "lift the seed (sow it in a mesh bag or tray for this) before the soil warms"),
        Step(
            lift,
            lift + timedelta(days=round(days)),
            "cold phase",
            f"into the refrigerator for the days still owed, {days:.0f} in a middling winter",
        ),
        Step(plant_out, plant_out, "plant out", f"plant out, {depth_words(case.species)}"),
    )
    return TopUp(sow, lift, plant_out, owed, decision.good, decision.winters, steps)
