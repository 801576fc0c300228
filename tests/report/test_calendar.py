"""The calendar read by vobject, a library that had no part in writing it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
import vobject

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.advice.visits import Crew, with_visits
from chillplan.report.calendar import calendar_bytes
from chillplan.report.provenance import Source
from chillplan.report.reader import Reader
from chillplan.seasons.cut import Seasons
from chillplan.site import Site
from tests.report.conftest import SPECIES


@pytest.fixture(scope="module")
def raw(plan: Plan, source: Source) -> bytes:
    return calendar_bytes(plan, source, Reader())


@pytest.fixture(scope="module")
def events(raw: bytes) -> list:
    return vobject.readOne(raw.decode()).vevent_list


def test_every_task_and_visit_is_an_event(events: list, plan: Plan) -> None:
    starts = sorted(event.dtstart.value for event in events)
    for task in plan.tasks:
        assert task.date_from in starts
    assert sum(event.summary.value.startswith("Visit the hill") for event in events) == len(plan.visits)
    assert any(event.summary.value.startswith("Sprouts possible") for event in events)
    assert any(event.summary.value.startswith("Seedlings expected") for event in events)


def test_dates_are_all_day_with_an_exclusive_end(events: list, raw: bytes) -> None:
    """RFC 5545, 3.6.1: DATE values have no time and no zone, and DTEND is the day after the last."""
    assert b"TZID" not in raw
    for event in events:
        first, after = event.dtstart.value, event.dtend.value
        assert type(first) is date and type(after) is date
        assert after > first


def test_lines_are_folded_at_75_octets_and_end_as_the_standard_says(raw: bytes) -> None:
    """RFC 5545, 3.1."""
    assert raw.endswith(b"END:VCALENDAR\r\n")
    lines = raw.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert not [line for line in lines if b"\n" in line or b"\r" in line]


def test_alarms_have_what_the_standard_asks_for(events: list) -> None:
    """RFC 5545, 3.6.6: ACTION, TRIGGER, and DESCRIPTION for a DISPLAY alarm."""
    for event in events:
        assert event.valarm_list
        for alarm in event.valarm_list:
            assert alarm.action.value == "DISPLAY"
            assert alarm.description.value
            assert isinstance(alarm.trigger.value, timedelta)


def test_identifiers_are_unique_and_stay_when_the_plan_is_made_again(
    seasons: Seasons, site: Site, source: Source, plan: Plan, events: list
) -> None:
    first = {event.uid.value: event for event in events}
    assert len(first) == len(events)
    later = with_visits(make_plan(seasons, site, SPECIES, Request(date(2026, 10, 20))), Crew())
    again = {
        event.uid.value: event
        for event in vobject.readOne(calendar_bytes(later, source, Reader()).decode()).vevent_list
    }
    tasks = [event for event in again.values() if not event.summary.value.startswith("Visit")]
    assert tasks and all(event.uid.value in first for event in tasks)
    assert all(int(event.sequence.value) > int(events[0].sequence.value) for event in again.values())
    assert all(isinstance(event.dtstamp.value, datetime) for event in again.values())


def test_another_season_or_site_has_other_identifiers(plan: Plan, source: Source, events: list) -> None:
    known = {event.uid.value for event in events}
    for other in (replace(plan, season=plan.season + 1), replace(plan, site=replace(plan.site, latitude=45.0))):
        found = vobject.readOne(calendar_bytes(other, source, Reader()).decode()).vevent_list
        assert not known & {event.uid.value for event in found}


def test_an_opened_event_says_what_to_look_for_and_what_stands_on_the_label(events: list) -> None:
    cold = next(event for event in events if event.summary.value.startswith("Into the cold"))
    assert "Look for:" in cold.description.value
    assert "Label: Quaesita" in cold.description.value
    check = next(event for event in events if event.summary.value.startswith("Check"))
    assert "sprouts" in check.description.value and "-fridge" in check.description.value
    coat = next(event for event in events if event.summary.value.startswith("Prepare the seed of"))
    assert "Caution: " in coat.description.value


def test_any_name_survives_the_way_through_the_calendar(nasty_plan: Plan, source: Source) -> None:
    found = vobject.readOne(calendar_bytes(nasty_plan, source, Reader()).decode()).vevent_list
    assert {"Sow ورد جوري", "Sow 🌱🌳 sprout"} & {event.summary.value.split(" (")[0] for event in found}
    assert not any("\n" in event.summary.value for event in found)


def test_seed_whose_coat_is_not_opened_is_looked_over_for_soundness(plan: Plan, source: Source) -> None:
    events = vobject.readOne(calendar_bytes(plan, source, Reader()).decode()).vevent_list
    found = [event for event in events if event.summary.value.startswith("Prepare the seed of")]
    assert found
    for event in found:
        assert "clean, firm seed" in event.description.value and "stay hard" not in event.description.value
