"""The fewest visits to the hill that cover every outdoor task."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from chillplan import verdicts
from chillplan.advice.result import Plan, Task, Visit
from chillplan.errors import Problems
from chillplan.physics.sun_times import sun_times
from chillplan.seasons.cut import DAYS, day_index

if TYPE_CHECKING:
    from chillplan.advice.visit_solver import Job, Roster

__all__ = [
    "WEEKDAYS",
    "Crew",
    "HillDay",
    "Uncovered",
    "VisitPlan",
    "cover",
    "hill_days",
    "outdoor_tasks",
    "plan_visits",
    "uncovered_words",
    "with_visits",
]

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
FROST = -2.0  # planning warning for seedlings, at their height [°C]
LONGEST_DAY = 24.0


@dataclass(frozen=True)
class Crew:
    """Who can work when.

    Attributes
    ----------
    hours : float
        Longest work of one person in a day. [h]
    travel : float
        Way to the hill and back; it is spent within daylight too. [h]
    weekdays : tuple of int
        Days of the week that work, 0 for Monday.
    weeks : tuple of int
        Which of them in a month, 1 for the first; empty for all. A Sunday goes with its Saturday where both work.
    away : frozenset of date
        Dates that do not work.
    snow_limit : float
        Snow deeper than this closes the way. [mm]
    snow_share : float
        A date on which the way is closed in more than this share of winters is not planned. [-]
    """

    people: int = 1
    hours: float = 8.0
    travel: float = 2.0
    weekdays: tuple[int, ...] = tuple(range(7))
    away: frozenset[date] = field(default_factory=frozenset)
    snow_limit: float = 200.0
    snow_share: float = 0.5
    weeks: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        problems = Problems()
        if self.people < 1:
            problems.add(f"{self.people} people cannot work: give at least 1")
        if not 0.0 < self.hours <= LONGEST_DAY:
            problems.add(f"hours of work {self.hours:g} is outside 0 to 24: give the hours one person works in a day")
        if not 0.0 <= self.travel <= LONGEST_DAY:
            problems.add(f"travel {self.travel:g} hours is outside 0 to 24: give the hours there and back")
        if not self.weekdays or not set(self.weekdays) <= set(range(7)):
            problems.add("no day of the week is left to work on: leave at least one weekday open")
        if not 0.0 <= self.snow_share <= 1.0:
            problems.add(f"share of winters {self.snow_share:g} is outside 0 to 1: give for example 0.5")
        if not self.snow_limit >= 0.0:
            problems.add(f"snow limit {self.snow_limit:g} mm is below 0: give the depth that closes the way")
        problems.raise_if_any()


@dataclass(frozen=True)
class HillDay:
    """One date on the hill.

    Attributes
    ----------
    daylight_from, daylight_to : str
        Civil dawn and dusk, ``HH:MM`` in the site's clock.
    daylight : int
        [minute]
    frost_risk : float
        Share of winters with a minimum of -2 °C or lower at seedling height on that date. [-]
    snow_risk : float
        Share of winters with more snow lying than the limit. [-]
    """

    date: date
    daylight_from: str
    daylight_to: str
    daylight: int
    frost_risk: float
    snow_risk: float


@dataclass(frozen=True)
class Uncovered:
    """A task that no visit covers, why, and what would free it."""

    task: Task
    reason: str
    frees: tuple[str, ...]


@dataclass(frozen=True)
class VisitPlan:
    """The visits, and what they leave undone.

    Attributes
    ----------
    proven : bool
        No smaller number of visits, and no lower sum of frost risk with as many, is possible.
    frost_risk : mapping of date to float
        Of each visit, as in `HillDay`. [-]
    """

    visits: tuple[Visit, ...]
    uncovered: tuple[Uncovered, ...]
    proven: bool
    frost_risk: Mapping[date, float] = field(default_factory=dict)


def outdoor_tasks(plan: Plan) -> tuple[Task, ...]:
    """Tasks on the hill, each cut to what is still to come.

    A species that can go either way is counted once, with the way whose work on the hill is done sooner.
    """
    hill = [replace(task, date_from=max(task.date_from, plan.today)) for task in plan.tasks if task.place == "hill"]
    either = {advice.species.name for advice in plan.species if advice.verdict == verdicts.EITHER}
    done: dict[tuple[str, str], date] = {}
    for task in hill:
        way = (task.species, _way(task))
        done[way] = max(done.get(way, task.date_to), task.date_to)
    sooner = {
        name: min((last, way) for (species, way), last in done.items() if species == name)[1]
        for name in either & {species for species, _ in done}
    }
    return tuple(task for task in hill if _way(task) == sooner.get(task.species, _way(task)))


def _way(task: Task) -> str:
    return task.key.partition("/")[0]


def hill_days(plan: Plan, crew: Crew, tasks: Iterable[Task]) -> tuple[HillDay, ...]:
    """Daylight, frost and snow of every date from the first window to the last.

    Parameters
    ----------
    plan : Plan
        Frost and snow are counted over its winters.

    Raises
    ------
    InputError
        If the site's time zone is not known.
    """
    windows = [(task.date_from, task.date_to) for task in tasks]
    if not windows:
        return ()
    first, last = min(start for start, _ in windows), max(end for _, end in windows)
    frost = (plan.ground.minimum <= FROST).mean(axis=1)
    snow = (plan.ground.snow_depth > crew.snow_limit).mean(axis=1)
    site = plan.site
    found = []
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        sun = sun_times(site.latitude, site.longitude, day, site.time_zone)
        index = min(day_index(day, plan.seasons.southern), DAYS - 1)
        found.append(HillDay(day, *sun.words, sun.minutes, float(frost[index]), float(snow[index])))
    return tuple(found)


def plan_visits(plan: Plan, crew: Crew) -> VisitPlan:
    """Cover the outdoor tasks of a plan."""
    tasks = outdoor_tasks(plan)
    return cover(tasks, hill_days(plan, crew, tasks), crew)


def with_visits(plan: Plan, crew: Crew) -> Plan:
    """The plan with its visits, and a sentence for every task that no visit covers."""
    found = plan_visits(plan, crew)
    late = () if found.proven else ("The solver ran out of time: fewer visits may be possible than are planned.",)
    uncovered = tuple(uncovered_words(one, plan) for one in found.uncovered)
    return replace(plan, visits=found.visits, uncovered=uncovered, notes=(*plan.notes, *late))


def uncovered_words(uncovered: Uncovered, plan: Plan) -> str:
    """Which task, why, and what would free it, as a sentence."""
    task = uncovered.task
    names = {advice.species.name: advice.species.common_name for advice in plan.species}
    name = names.get(task.species) or task.species
    free = f"; what would free it: {', or '.join(uncovered.frees)}" if uncovered.frees else "; nothing would free it"
    return f"No visit covers {name} ({task.action}): {uncovered.reason}{free}."


def cover(tasks: Sequence[Task], days: Sequence[HillDay], crew: Crew) -> VisitPlan:
    """Cover tasks with the fewest visits, of these the ones on the dates of lowest frost risk.

    Parameters
    ----------
    days : sequence of HillDay
        Consecutive dates that hold every window.

    Returns
    -------
    VisitPlan
        As many tasks as possible are covered; each of the others says what would free it.
    """
    if not tasks:
        return VisitPlan((), (), proven=True)
    from chillplan.advice.visit_solver import Job, roster

    origin = days[0].date
    jobs = [Job((task.date_from - origin).days, (task.date_to - origin).days, task.minutes) for task in tasks]
    room = _room(days, crew)
    risk = np.array([day.frost_risk for day in days])
    found = roster(jobs, room, risk)
    chosen = sorted(set(found.day_of) - {-1})
    places = _earliest(jobs, chosen, room, found)
    visits = tuple(_visit(days[day], [tasks[n] for n, place in enumerate(places) if place == day]) for day in chosen)
    left = [number for number, day in enumerate(found.day_of) if day < 0]
    uncovered = tuple(_uncovered(tasks[number], jobs[number], days, crew, room) for number in left)
    return VisitPlan(visits, uncovered, found.proven, {days[day].date: days[day].frost_risk for day in chosen})


def _room(days: Sequence[HillDay], crew: Crew) -> np.ndarray[tuple[int], np.dtype[np.int_]]:
    """Working minutes of all people on each day; 0 where the day is closed. [minute]"""
    return np.array([0 if _closed(day, crew) else _minutes(day, crew) for day in days], dtype=int)


def _minutes(day: HillDay, crew: Crew) -> int:
    light = day.daylight - crew.travel * 60.0
    return max(0, int(min(light, crew.hours * 60.0))) * crew.people


def _closed(day: HillDay, crew: Crew) -> bool:
    return _wrong_day(day.date, crew) or day.date in crew.away or day.snow_risk > crew.snow_share


def _wrong_day(day: date, crew: Crew) -> bool:
    """Whether people do not work on such a day of the week, or not in that week of the month."""
    if day.weekday() not in crew.weekdays:
        return True
    anchor = day - timedelta(days=1) if day.weekday() == 6 and 5 in crew.weekdays else day
    return bool(crew.weeks) and (anchor.day - 1) // 7 + 1 not in crew.weeks


def _visit(day: HillDay, tasks: list[Task]) -> Visit:
    return Visit(day.date, day.daylight_from, day.daylight_to, tuple(sorted(tasks, key=lambda task: task.species)))


def _earliest(jobs: Sequence[Job], chosen: list[int], room: Sequence[int] | np.ndarray, found: Roster) -> list[int]:
    """The same visits with the work done as early as it fits; the solver's own spread where that does not work out."""
    left = {day: int(room[day]) for day in chosen}
    places = list(found.day_of)
    for number in sorted(range(len(jobs)), key=lambda number: (jobs[number].last, jobs[number].first)):
        if found.day_of[number] < 0:
            continue
        job = jobs[number]
        fits = [day for day in chosen if job.first <= day <= job.last and left[day] >= job.minutes]
        if not fits:
            return list(found.day_of)
        places[number] = fits[0]
        left[fits[0]] -= job.minutes
    return places if set(places) - {-1} == set(chosen) else list(found.day_of)


def _uncovered(
    task: Task, job: Job, days: Sequence[HillDay], crew: Crew, room: np.ndarray[tuple[int], np.dtype[np.int_]]
) -> Uncovered:
    window = days[job.first : job.last + 1]
    span = _span(window)
    longest = int(room[job.first : job.last + 1].max())
    if longest >= job.minutes:
        return Uncovered(
            task,
            f"the days that work {span} are full with other tasks",
            ("one more person", "longer working days", "a wider window for this task or for those beside it"),
        )
    if longest > 0:
        return Uncovered(
            task,
            f"needs {job.minutes} minutes of work in one day, the longest day {span} gives {longest}",
            _freeing(job, window, crew) or ("splitting the task",),
        )
    return Uncovered(task, f"no day works {span}: {_why_closed(window, crew)}", _freeing(job, window, crew))


def _span(window: Sequence[HillDay]) -> str:
    first, last = window[0].date, window[-1].date
    return f"on {first}" if first == last else f"between {first} and {last}"


def _why_closed(window: Sequence[HillDay], crew: Crew) -> str:
    causes: tuple[tuple[str, Callable[[HillDay], bool]], ...] = (
        ("wrong day of the week", lambda day: _wrong_day(day.date, crew)),
        ("date that does not work", lambda day: day.date in crew.away),
        ("way usually closed by snow", lambda day: day.snow_risk > crew.snow_share),
        ("too little daylight after the travel", lambda day: _minutes(day, crew) == 0),
    )
    counts = [(sum(1 for day in window if holds(day)), words) for words, holds in causes]
    return ", ".join(f"{words} ({count} of {len(window)})" for count, words in counts if count)


def _freeing(job: Job, window: Sequence[HillDay], crew: Crew) -> tuple[str, ...]:
    """Changes that, each alone, would make a day of the window long enough and open."""
    changes = (
        ("letting every day of the week count", replace(crew, weekdays=tuple(range(7)), weeks=())),
        ("one of the dates that do not work", replace(crew, away=frozenset())),
        ("going in spite of the snow", replace(crew, snow_share=1.0)),
        ("one more person", replace(crew, people=crew.people + 1)),
        ("longer working days", replace(crew, hours=LONGEST_DAY)),
        ("staying overnight, so that no travel is spent in daylight", replace(crew, travel=0.0)),
    )
    alone = tuple(words for words, other in changes if (_room(window, other) >= job.minutes).any())
    if alone:
        return alone
    free = replace(
        crew, weekdays=tuple(range(7)), weeks=(), away=frozenset(), snow_share=1.0, hours=LONGEST_DAY, travel=0.0
    )
    return ("several of these limits at once",) if (_room(window, free) >= job.minutes).any() else ()
