"""Which tasks are still to be done, and until when."""

from __future__ import annotations

from datetime import date, timedelta

from chillplan.advice.result import Task
from chillplan.advice.tasks import in_order
from chillplan.seeds.recipe import CoatStep
from tests.advice.test_verdicts import WARM, cold, planned, species

TODAY = date(2027, 3, 10)


def task(first: date, last: date, action: str) -> Task:
    return Task(first, last, "Planta exempli", action, "hill", 30, key="outdoors/sow/1")


def test_work_that_ends_today_is_still_to_be_done_and_begins_today() -> None:
    week = timedelta(7)
    past = task(TODAY - week, TODAY - timedelta(1), "ended yesterday")
    last_day = task(TODAY - week, TODAY, "ends today")
    to_come = task(TODAY + week, TODAY + week, "next week")
    kept = in_order([to_come, past, last_day], TODAY)
    assert [(each.action, each.date_from) for each in kept] == [("ends today", TODAY), ("next week", TODAY + week)]


def test_treated_seed_waits_a_week_for_a_day_to_plant_it() -> None:
    """Common practice, no source: sprouting seed is held a week in the cold, no longer."""
    plan = planned(WARM, species(cold(30, 60), coat=(CoatStep("soak", (24.0, 24.0)),)))
    fridge = plan.species[0].fridge
    assert fridge is not None
    (planting,) = [each for each in plan.tasks if "/plant out/" in each.key]
    assert (planting.date_from, planting.date_to - planting.date_from) == (fridge.plant_out, timedelta(7))
