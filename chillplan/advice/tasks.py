"""The ways of a species with their dates, and the tasks that they make."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import count_back, count_on, date_of, depth_words, indoor_days, weekly
from chillplan.advice.outlook import STARTS, Spring, Window, outlook, percentiles_of, spring_date
from chillplan.advice.result import Fridge, Outdoors, SpeciesAdvice, Step, Task, TopUp
from chillplan.advice.top_up import LIFT_WITHIN, Begun, Finish, owed_range
from chillplan.advice.verdict import STEP, Case, Decision, Judge
from chillplan.advice.wording import coat_words, number_range, winters_words
from chillplan.errors import counted
from chillplan.lot import COLD_STORE, OUTDOORS
from chillplan.seeds.recipe import Recipe
from chillplan.seeds.simulate import FATES

__all__ = [
    "When",
    "begun_way",
    "chosen_notes",
    "fridge_way",
    "in_order",
    "left_way",
    "outdoor_way",
    "second_spring_way",
    "spring_way",
    "tasks_of",
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
        f"into the refrigerator for the cold still owed, {counted(median, 'day')} in a median winter and {most:.0f} in "
        f"a poor one{cold}, moist; what is done earlier stays there until planting out"
    )


# Working minutes by kind of step; assumptions, meant to be changed by the user's own experience.
MINUTES = {"coat": 30, "sow": 30, "lift": 20, "cold phase": 20, "warm phase": 20, "plant out": 45, "check": 10}
PLACES = {
    "coat": "shed",
    "sow": "hill",
    "lift": "hill",
    "cold phase": "refrigerator",
    "warm phase": "shed",
    "plant out": "hill",
}
ORDER = ("pick", "store", *MINUTES)  # of steps on one day
WAIT_DAYS = 7  # treated seed waits so long for a day that suits, in the cold; common practice, no source
LOOK_FOR = "look for mould and drying; plant at once what has sprouted"


def label_of(advice: SpeciesAdvice, step: Step) -> str:
    """Text for the bag or the bed: name and date started; the date is left open where there is a choice of dates."""
    open_date = step.kind == "sow" and step.date_from != step.date_to
    started = "sown on ________" if open_date else f"started {step.date_from}"
    return f"{advice.species.name} ({advice.species.common_name}); {started}"


def tasks_of(advices: Iterable[SpeciesAdvice], today: date) -> tuple[Task, ...]:
    """All tasks that are not yet past; what could have begun before today begins today.

    Returns
    -------
    tuple of Task
        By first date, then species, in the order of the work.
    """
    found: list[Task] = []
    for advice in advices:
        found += _tasks_of(advice)
    return in_order(found, today)


def in_order(tasks: Iterable[Task], today: date) -> tuple[Task, ...]:
    """Tasks that are not past, by first date, then species, in the order of the work; none begins before today."""
    kept = [replace(task, date_from=max(task.date_from, today)) for task in tasks if task.date_to >= today]
    return tuple(sorted(kept, key=lambda task: (task.date_from, task.species, _turn(task), task.action)))


def _turn(task: Task) -> tuple[str, int]:
    """Way, picking first, and place among the kinds of its steps: the coat is treated before the seed goes on."""
    way, kind, _ = task.key.split("/")
    return "" if way == "seed" else way, ORDER.index(kind)


def _tasks_of(advice: SpeciesAdvice) -> list[Task]:
    name = advice.species.name
    tasks: list[Task] = []
    if "outdoors" in advice.ways and advice.outdoors:
        tasks += _numbered("outdoors", [(step.kind, _task(advice, step)) for step in advice.outdoors.steps])
    if "fridge" in advice.ways and advice.fridge:
        tasks += _numbered("fridge", [(step.kind, _task(advice, step)) for step in advice.fridge.steps])
        cold = advice.fridge.into_cold or advice.fridge.plant_out
        tasks += _checks("fridge", name, advice.fridge.checks, _late_from(advice), cold)
    if "top-up" in advice.ways and advice.top_up:
        tasks += _numbered("top-up", [(step.kind, _task(advice, step)) for step in advice.top_up.steps])
        tasks += _checks("top-up", name, advice.top_up.checks, advice.top_up.lift)
    return tasks


def _checks(way: str, name: str, days: Iterable[date], late: date | None, cold: date = date.min) -> list[Task]:
    """Weekly looks, on the warm shelf until the first cold."""
    checks = [
        Task(
            day,
            day + timedelta(days=2),
            name,
            f"check: {LOOK_FOR}{_often(day, late)}",
            PLACES["cold phase" if day >= cold else "warm phase"],
            10,
        )
        for day in days
    ]
    return _numbered(way, [("check", check) for check in checks])


def _numbered(way: str, tasks: list[tuple[str, Task]]) -> list[Task]:
    """Tasks with their keys: way, kind, and number among those of the kind."""
    seen: Counter[str] = Counter()
    found = []
    for kind, task in tasks:
        seen[kind] += 1
        found.append(replace(task, key=f"{way}/{kind}/{seen[kind]}"))
    return found


def _task(advice: SpeciesAdvice, step: Step) -> Task:
    begin = step.kind in {"warm phase", "cold phase"}
    last = step.date_from if begin else step.date_to
    if step.kind == "plant out":
        last += timedelta(days=WAIT_DAYS)
    return Task(
        date_from=step.date_from,
        date_to=last,
        species=advice.species.name,
        action=step.text,
        place=PLACES[step.kind],
        minutes=MINUTES[step.kind],
        label=label_of(advice, step) if step.kind in {"warm phase", "cold phase", "sow"} else "",
    )


def _late_from(advice: SpeciesAdvice) -> date | None:
    """From two thirds of the time on sprouts come quickly."""
    if not advice.fridge or not advice.fridge.checks:
        return None
    begin, end = advice.fridge.prepare, advice.fridge.plant_out
    return begin + (end - begin) * 2 / 3


def _often(day: date, late: date | None) -> str:
    return " (from now on every 2 to 3 days)" if late and day >= late else ""
