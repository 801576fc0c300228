"""Fewest visits: against counting every choice, and in words where it cannot be done."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chillplan.advice.result import Task
from chillplan.advice.visit_solver import Job, roster
from chillplan.advice.visits import Crew, HillDay, cover
from chillplan.errors import InputError

MONDAY = date(2026, 3, 2)


def day(offset: int, *, light: int = 720, frost: float = 0.0, snow: float = 0.0) -> HillDay:
    return HillDay(MONDAY + timedelta(days=offset), "06:00", "18:00", light, frost, snow)


def task(first: int, last: int, minutes: int = 60, species: str = "Tilia cordata") -> Task:
    start, end = MONDAY + timedelta(days=first), MONDAY + timedelta(days=last)
    return Task(start, end, species, "sow outdoors", "hill", minutes)


def packs(jobs: list[Job], days: tuple[int, ...], room: list[int]) -> bool:
    """Whether some assignment of every job to one of the days keeps within the room."""
    allowed = [[d for d in days if job.first <= d <= job.last] for job in jobs]
    for choice in product(*allowed):
        load = dict.fromkeys(days, 0)
        for job, where in zip(jobs, choice, strict=True):
            load[where] += job.minutes
        if all(load[d] <= room[d] for d in days):
            return True
    return False


def brute_force(jobs: list[Job], room: list[int], risk: list[float]) -> tuple[int, int, float]:
    """Most jobs done, fewest days, lowest risk, by trying everything."""
    for done in range(len(jobs), -1, -1):
        for count in range(len(room) + 1):
            sums = [
                sum(risk[d] for d in days)
                for days in combinations(range(len(room)), count)
                for kept in combinations(jobs, done)
                if packs(list(kept), days, room)
            ]
            if sums:
                return done, count, min(sums)
    raise AssertionError("nothing to do is always possible")


@st.composite
def cases(draw: st.DrawFn) -> tuple[list[Job], list[int], list[float]]:
    length = draw(st.integers(1, 7))
    room = draw(st.lists(st.sampled_from([0, 30, 60, 90, 120]), min_size=length, max_size=length))
    risk = draw(st.lists(st.sampled_from([0.0, 0.1, 0.25, 0.5]), min_size=length, max_size=length))
    jobs = []
    for _ in range(draw(st.integers(1, 5))):
        first = draw(st.integers(0, length - 1))
        jobs.append(Job(first, draw(st.integers(first, length - 1)), draw(st.sampled_from([20, 30, 45, 60]))))
    return jobs, room, risk


@settings(max_examples=120, deadline=None)
@given(cases())
def test_no_choice_of_days_beats_it(case: tuple[list[Job], list[int], list[float]]) -> None:
    jobs, room, risk = case
    found = roster(jobs, np.array(room), np.array(risk))
    used = sorted(set(found.day_of) - {-1})
    load = dict.fromkeys(used, 0)
    for job, where in zip(jobs, found.day_of, strict=True):
        if where >= 0:
            assert job.first <= where <= job.last
            load[where] += job.minutes
    assert all(load[d] <= room[d] for d in used)
    done, count, lowest = brute_force(jobs, room, risk)
    assert (sum(d >= 0 for d in found.day_of), len(used)) == (done, count)
    assert sum(risk[d] for d in used) == pytest.approx(lowest, abs=1e-9)
    assert found.proven


def test_one_visit_where_windows_share_a_day_and_it_is_the_least_frosty() -> None:
    days = [day(n, frost=f) for n, f in enumerate([0.4, 0.3, 0.1, 0.2, 0.0])]
    found = cover([task(0, 3), task(1, 3), task(2, 4)], days, Crew())
    assert [visit.date for visit in found.visits] == [MONDAY + timedelta(days=2)]
    assert len(found.visits[0].tasks) == 3
    assert found.proven and not found.uncovered


def test_daylight_less_travel_limits_the_work_of_a_day() -> None:
    days = [day(n, light=300) for n in range(3)]  # five hours of light, three on the way: 120 minutes of work
    found = cover([task(0, 2, 60, f"species {n}") for n in range(3)], days, Crew(travel=3.0))
    assert len(found.visits) == 2
    assert len(cover([task(0, 2, 60, f"species {n}") for n in range(3)], days, Crew(travel=3.0, people=2)).visits) == 1


def test_polar_night_is_an_answer() -> None:
    found = cover([task(0, 1)], [day(n, light=0) for n in range(2)], Crew())
    assert found.visits == ()
    assert found.uncovered[0].reason == (
        "no day works between 2026-03-02 and 2026-03-03: too little daylight after the travel (2 of 2)"
    )
    assert found.uncovered[0].frees == ()


def test_snow_and_weekdays_are_named_with_what_frees_them() -> None:
    days = [day(n, snow=0.9 if n < 5 else 0.0) for n in range(7)]
    weekdays_only = Crew(weekdays=(0, 1, 2, 3, 4))
    found = cover([task(0, 6)], days, weekdays_only)
    assert found.uncovered[0].reason == (
        "no day works between 2026-03-02 and 2026-03-08: wrong day of the week (2 of 7), "
        "way usually closed by snow (5 of 7)"
    )
    assert found.uncovered[0].frees == ("letting every day of the week count", "going in spite of the snow")


def test_a_full_day_leaves_a_task_over_and_says_so() -> None:
    found = cover([task(0, 0, 300, "A"), task(0, 0, 300, "B")], [day(0)], Crew())
    assert len(found.visits) == 1 and len(found.uncovered) == 1
    assert "full with other tasks" in found.uncovered[0].reason
    assert "one more person" in found.uncovered[0].frees


def test_a_task_longer_than_any_day_needs_more_hands() -> None:
    found = cover([task(0, 0, 700)], [day(0)], Crew())
    assert found.uncovered[0].reason == "needs 700 minutes of work in one day, the longest day on 2026-03-02 gives 480"
    assert found.uncovered[0].frees == ("one more person",)


@pytest.mark.parametrize(
    ("window", "reason"),
    [
        ((1, 1), "needs 200 minutes of work in one day, the longest day on 2026-03-03 gives 120"),
        ((1, 2), "needs 200 minutes of work in one day, the longest day between 2026-03-03 and 2026-03-04 gives 180"),
    ],
)
def test_longer_days_beside_the_window_of_a_task_do_not_count(window: tuple[int, int], reason: str) -> None:
    days = [day(n, light=light) for n, light in enumerate((720, 240, 300, 720))]
    found = cover([task(*window, 200)], days, Crew())
    assert (found.visits, found.uncovered[0].reason) == ((), reason)
    assert found.uncovered[0].frees == ("one more person", "staying overnight, so that no travel is spent in daylight")


def test_each_cause_of_a_closed_day_is_counted_and_each_change_that_opens_it_is_named() -> None:
    days = [day(0), day(1, snow=0.6), day(2, light=120), day(3, snow=0.5)]
    crew = Crew(weekdays=(1, 2, 3), away=frozenset({MONDAY + timedelta(days=3)}))
    (left,) = cover([task(0, 3)], days, crew).uncovered
    assert left.reason == (
        "no day works between 2026-03-02 and 2026-03-05: wrong day of the week (1 of 4), date that does not work (1 of "
        "4), way usually closed by snow (1 of 4), too little daylight after the travel (1 of 4)"
    )
    assert left.frees == (
        "letting every day of the week count",
        "one of the dates that do not work",
        "going in spite of the snow",
        "staying overnight, so that no travel is spent in daylight",
    )


def test_where_no_single_change_opens_a_day_all_at_once_may() -> None:
    shut = [day(0, snow=0.6, light=120)]
    (left,) = cover([task(0, 0)], shut, Crew()).uncovered
    assert left.frees == ("several of these limits at once",)
    (left,) = cover([task(0, 0, 1500)], [day(0)], Crew()).uncovered
    assert left.frees == ("splitting the task",)


def test_tasks_that_fill_a_day_together_say_what_would_make_room() -> None:
    found = cover([task(0, 0, 300, "A"), task(0, 0, 300, "B")], [day(0)], Crew())
    assert found.uncovered[0].reason == "the days that work on 2026-03-02 are full with other tasks"
    assert found.uncovered[0].frees == (
        "one more person",
        "longer working days",
        "a wider window for this task or for those beside it",
    )


def test_nothing_to_do_needs_no_visit() -> None:
    assert cover([], [], Crew()).visits == ()


def test_all_impossible_crew_values_are_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        Crew(people=0, hours=0.0, travel=24.5, weekdays=(), snow_share=1.1, snow_limit=-1.0)
    assert caught.value.problems == (
        "0 people cannot work: give at least 1",
        "hours of work 0 is outside 0 to 24: give the hours one person works in a day",
        "travel 24.5 hours is outside 0 to 24: give the hours there and back",
        "no day of the week is left to work on: leave at least one weekday open",
        "share of winters 1.1 is outside 0 to 1: give for example 0.5",
        "snow limit -1 mm is below 0: give the depth that closes the way",
    )
    assert Crew(people=1, hours=24.0, travel=0.0, weekdays=(6,), snow_share=1.0, snow_limit=0.0).people == 1
    with pytest.raises(InputError, match="no day of the week is left"):
        Crew(weekdays=(0, 7))
