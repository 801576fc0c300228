"""What is due comes on its day, the urgent first."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from chillplan.journal.due import batch_states, due_items
from chillplan.journal.entries import add_count, add_readings, add_sowing, close_batch, next_phase, start_batch
from chillplan.journal.records import Reading, SowingEntry, Treatment
from chillplan.journal.store import Journal
from tests.journal.samples import COLD, NOW, TODAY, a_batch, add_check

START = date(2026, 12, 1)


def told(journal: Journal, today: date, days: int = 7) -> list[tuple[date, str, str]]:
    return [(item.on, item.subject, item.action) for item in due_items(journal, today, days)]


def test_a_batch_is_looked_at_weekly_and_closer_towards_the_end(journal: Journal) -> None:
    start_batch(journal, a_batch(), NOW)
    look = "look: moist, clean, sprouts?"
    assert (START + timedelta(7), "B1", look) in told(journal, START)
    add_check(journal, "B1", "fine", NOW, day=date(2027, 1, 5))
    assert batch_states(journal, date(2027, 1, 6))[0].next_check == date(2027, 1, 12)
    add_check(journal, "B1", "fine", NOW, day=date(2027, 2, 1))
    assert batch_states(journal, date(2027, 2, 1))[0].next_check == date(2027, 2, 4)


@pytest.mark.parametrize(("finding", "days"), [("fine", 7), ("dry", 2), ("mould", 2)])
def test_trouble_is_looked_at_again_soon(journal: Journal, finding: str, days: int) -> None:
    start_batch(journal, a_batch(), NOW)
    add_check(journal, "B1", finding, NOW, day=date(2026, 12, 10))
    assert batch_states(journal, date(2026, 12, 10))[0].next_check == date(2026, 12, 10 + days)


def test_sprouts_are_urgent_and_come_first_until_the_next_look(journal: Journal) -> None:
    for _ in range(2):
        start_batch(journal, a_batch(), NOW)
    add_check(journal, "B2", "sprouted", NOW, sprouted=7, day=date(2027, 1, 5))
    first = due_items(journal, date(2027, 1, 6))[0]
    assert (first.subject, first.action, first.urgent) == ("B2", "pot up, hold or sow the sprouts", True)
    add_check(journal, "B2", "fine", NOW, day=date(2027, 1, 6))
    assert not any(item.urgent for item in due_items(journal, date(2027, 1, 6)))


def test_the_finish_falls_due_on_measured_chill(journal: Journal) -> None:
    start_batch(journal, a_batch(), NOW)
    finish = "cold is done: sow, or hold near freezing until it can be sown"
    assert (START + timedelta(90), "B1", finish) in told(journal, date(2027, 2, 26))
    warm = [Reading(datetime(2027, 1, 1) + timedelta(days=day), 9.5) for day in range(10)]
    add_readings(journal, "fridge", warm, NOW)
    assert (START + timedelta(95), "B1", finish) in told(journal, date(2027, 2, 28))


def test_the_usual_setting_is_not_too_cold_for_seed_tried_at_five_degrees(journal: Journal) -> None:
    start_batch(journal, a_batch(treatments=(replace(COLD, temperature=(5.0, 5.0)),)), NOW)
    (state,) = batch_states(journal, TODAY)
    assert state.progress is not None and state.progress.spells == ()
    add_readings(journal, "fridge", [Reading(datetime(2027, 1, 5, 9), 2.5)], NOW)
    (state,) = batch_states(journal, TODAY)
    assert state.progress is not None and [spell.side for spell in state.progress.spells] == ["cold"]


def test_a_batch_whose_seed_is_all_sown_is_no_longer_due(journal: Journal) -> None:
    start_batch(journal, a_batch(seeds=200), NOW)
    add_sowing(journal, SowingEntry(date(2027, 2, 1), 150, batch=1), NOW)
    assert {item[1] for item in told(journal, TODAY)} == {"B1", "fridge"}
    add_sowing(journal, SowingEntry(date(2027, 2, 9), 50, batch=1), NOW)
    assert told(journal, TODAY) == []


def test_a_warm_phase_is_followed_by_its_cold(journal: Journal) -> None:
    warm = replace(
        COLD, kind="warm", days=(20.0, 30.0), response=(10.0, 15.0, 25.0, 32.0), temperature=None, reversal=None
    )
    start_batch(journal, a_batch(treatments=(warm, replace(COLD, started_on=None)), set_temperature=20.0), NOW)
    assert (START + timedelta(30), "B1", "warm is done: begin cold") in told(journal, START + timedelta(25))
    next_phase(journal, "B1", NOW, START + timedelta(31))
    state = batch_states(journal, START + timedelta(40))[0]
    assert (state.phase, state.following) == ("cold", "")
    assert state.progress is not None
    assert (state.progress.done, state.progress.elapsed) == (0.0, 9)


def test_the_thermometer_is_asked_for_weekly(journal: Journal) -> None:
    start_batch(journal, a_batch(), NOW)
    assert (START, "fridge", "read the thermometer") in told(journal, START)
    add_readings(journal, "fridge", [Reading(datetime(2026, 12, 4, 9), 4.0)], NOW)
    assert (date(2026, 12, 11), "fridge", "read the thermometer") in told(journal, date(2026, 12, 5))


def test_seedlings_are_counted_from_when_they_are_expected(journal: Journal) -> None:
    add_sowing(journal, SowingEntry(date(2026, 10, 1), 50, species="Acer", expected_on=date(2027, 1, 20)), NOW)
    assert told(journal, date(2027, 1, 1)) == []
    assert told(journal, date(2027, 1, 15)) == [(date(2027, 1, 20), "S1", "count what is up")]
    add_count(journal, "S1", 3, NOW, date(2027, 1, 22))
    assert told(journal, date(2027, 1, 23)) == [(date(2027, 1, 29), "S1", "count what is up")]
    assert told(journal, date(2027, 6, 1)) == []


def test_planting_falls_due_and_a_closed_batch_never(journal: Journal) -> None:
    start_batch(journal, a_batch(), NOW)
    assert (date(2027, 4, 20), "B1", "plant out") in told(journal, date(2027, 4, 15))
    close_batch(journal, "B1", "planted out", NOW)
    assert told(journal, date(2027, 4, 15)) == []


def test_a_batch_without_phases_is_only_looked_at(journal: Journal) -> None:
    start_batch(journal, a_batch(treatments=(Treatment("soak", START, START),), plant_out=None), NOW)
    assert {item.action for item in due_items(journal, TODAY)} == {"look: moist, clean, sprouts?"}


def test_all_is_looked_at_on_one_day_a_week_but_mould_does_not_wait(journal: Journal) -> None:
    for begun in (date(2026, 12, 1), date(2026, 12, 4)):
        start_batch(journal, a_batch(started_on=begun, treatments=(replace(COLD, started_on=begun),)), NOW)
    today = date(2026, 12, 5)
    looks = [item.on for item in due_items(journal, today, looking_day=6) if item.action.startswith("look")]
    assert looks == [date(2026, 12, 6)] * 2  # the first Sunday
    add_check(journal, "B1", "fine", NOW, day=date(2026, 12, 6))
    add_check(journal, "B2", "mould", NOW, day=date(2026, 12, 6))
    looks = [item.on for item in due_items(journal, date(2026, 12, 7), looking_day=6) if "look" in item.action]
    assert looks == [date(2026, 12, 8), date(2026, 12, 13)]


AGAIN = "put it back in the cold, or sow it: it falls asleep again"


def test_a_finished_batch_in_a_warm_place_asks_for_the_cold(journal: Journal) -> None:
    start_batch(journal, a_batch(plant_out=None), NOW)
    finished = START + timedelta(days=int(COLD.days[1])) if COLD.days else START
    moved = datetime.combine(finished, NOW.time())
    next_phase(journal, "B1", moved, finished, "windowsill", 21.0)
    assert AGAIN not in {action for _, _, action in told(journal, finished)}
    later = finished + timedelta(days=30)
    (item,) = [item for item in due_items(journal, later) if item.action == AGAIN]
    assert item.urgent and item.on == later
    assert item.reason == f"21 of {COLD.days[1]:.0f} cold days undone since it was finished, in windowsill"
    (state,) = batch_states(journal, later)
    assert (state.phase, state.progress) == ("", None)
    assert state.undone == pytest.approx(21.0)


def test_a_finished_batch_that_stays_cold_loses_nothing(journal: Journal) -> None:
    start_batch(journal, a_batch(plant_out=None), NOW)
    finished = START + timedelta(days=int(COLD.days[1])) if COLD.days else START
    next_phase(journal, "B1", datetime.combine(finished, NOW.time()), finished)
    assert AGAIN not in {action for _, _, action in told(journal, finished + timedelta(60))}


def test_a_refrigerator_that_fails_after_the_cold_is_told_too(journal: Journal) -> None:
    start_batch(journal, a_batch(plant_out=None), NOW)
    finished = START + timedelta(days=int(COLD.days[1])) if COLD.days else START
    readings = [Reading(datetime.combine(finished + timedelta(day), NOW.time()), 21.0) for day in range(10)]
    add_readings(journal, "fridge", readings, datetime.combine(finished + timedelta(10), NOW.time()))
    (state,) = batch_states(journal, finished + timedelta(10))
    assert state.undone == pytest.approx(7.0) and state.phase == "cold"
