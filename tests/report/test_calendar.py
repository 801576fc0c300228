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
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.seasons.cut import Seasons
from chillplan.site import Site
from tests.report.conftest import SPECIES


@pytest.fixture(scope="module")
def raw(plan: Plan, source: Source) -> bytes:
    return calendar_bytes(plan, source, Reader())


@pytest.fixture(scope="module")
def events(raw: bytes) -> list:
    return vobject.readOne(raw.decode()).vevent_list


def test_every_task_stands_in_one_event(events: list, plan: Plan) -> None:
    """Work on the hill in its visit, work at home in the list of its week; no event twice for one day of looking."""
    said = "\n".join(event.description.value for event in events)
    for task in plan.tasks:
        if not task.action.startswith("check"):
            assert task.action in said.replace("Sow", "sow"), task
    assert sum(event.summary.value.startswith("Visit the hill") for event in events) == len(plan.visits)
    looks = [event for event in events if "in the cold" in event.summary.value]
    weeks = {task.date_from.isocalendar()[:2] for task in plan.tasks if task.action.startswith("check")}
    told = [day for event in looks for day in event.getrruleset() or [event.dtstart.value]]
    assert (
        len(told) == len({day.isocalendar()[:2] for day in told}) and {day.isocalendar()[:2] for day in told} == weeks
    )
    assert any("prouts are possible" in event.description.value for event in looks)
    assert any(event.summary.value.startswith("Seedlings expected") for event in events)


def test_alarms_ring_only_where_a_missed_date_costs(events: list) -> None:
    """The day before and on the day for what is begun; three days and a day before a visit; none for a mere look."""
    begins = next(event for event in events if "Into the cold" in event.summary.value.replace("into", "Into"))
    hours = sorted(alarm.trigger.value / timedelta(hours=1) for alarm in begins.valarm_list)
    assert hours == [-16.0, 8.0]
    visit = next(event for event in events if event.summary.value.startswith("Visit the hill"))
    assert sorted(alarm.trigger.value / timedelta(hours=1) for alarm in visit.valarm_list) == [8.0 - 72, 8.0 - 24]
    mere = next(event for event in events if event.summary.value.startswith("Look at"))
    assert not hasattr(mere, "valarm")


def test_a_long_window_is_called_again_from_its_end(plan: Plan, source: Source) -> None:
    """RFC 5545, 3.8.6.3: RELATED=END counts from the end of the event."""
    events = vobject.readOne(calendar_bytes(replace(plan, visits=()), source, Reader()).decode()).vevent_list
    sown = next(
        event
        for event in events
        if event.summary.value.startswith("Sow") and (event.dtend.value - event.dtstart.value).days >= 14
    )
    (closing,) = [alarm for alarm in sown.valarm_list if alarm.description.value.startswith("closes in 3 days")]
    assert closing.trigger.params["RELATED"] == ["END"]
    assert closing.trigger.value == timedelta(days=-3, hours=8)


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
        for alarm in getattr(event, "valarm_list", ()):
            assert alarm.action.value == "DISPLAY"
            assert alarm.description.value
            assert isinstance(alarm.trigger.value, timedelta)


def home(event: object) -> bool:
    return event.location.value == "home"


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
    weeks = {(event.dtstart.value.isocalendar()[:2], event.uid.value) for event in events if home(event)}
    moved = {(event.dtstart.value.isocalendar()[:2], event.uid.value) for event in again.values() if home(event)}
    known = dict(weeks)
    assert moved and all(known.get(week, uid) == uid for week, uid in moved)
    looks = [{event.uid.value for event in some if hasattr(event, "rrule")} for some in (events, again.values())]
    assert looks[0] == looks[1] != set()
    assert all(int(event.sequence.value) > int(events[0].sequence.value) for event in again.values())
    assert all(isinstance(event.dtstamp.value, datetime) for event in again.values())


def test_another_season_or_site_has_other_identifiers(plan: Plan, source: Source, events: list) -> None:
    known = {event.uid.value for event in events}
    for other in (replace(plan, season=plan.season + 1), replace(plan, site=replace(plan.site, latitude=45.0))):
        found = vobject.readOne(calendar_bytes(other, source, Reader()).decode()).vevent_list
        assert not known & {event.uid.value for event in found}


def test_an_opened_event_says_what_to_look_for_and_what_stands_on_the_label(events: list) -> None:
    cold = next(event for event in events if "nto the cold" in event.summary.value)
    assert "Look for:" in cold.description.value
    assert "Label: Quaesita" in cold.description.value and "-fridge" in cold.description.value
    check = next(event for event in events if event.summary.value.startswith("Look at"))
    assert "sprouts" in check.description.value
    coat = next(event for event in events if "repare the seed of" in event.summary.value)
    assert "Caution: " in coat.description.value


def test_any_name_survives_the_way_through_the_calendar(nasty_plan: Plan, source: Source) -> None:
    plan = replace(nasty_plan, visits=())
    found = vobject.readOne(calendar_bytes(plan, source, Reader()).decode()).vevent_list
    assert {"Sow ورد جوري", "Sow 🌱🌳 sprout"} & {event.summary.value.split(" (")[0] for event in found}
    assert not any("\n" in event.summary.value for event in found)


def test_seed_whose_coat_is_not_opened_is_looked_over_for_soundness(plan: Plan, source: Source) -> None:
    events = vobject.readOne(calendar_bytes(plan, source, Reader()).decode()).vevent_list
    found = [event for event in events if "repare the seed of" in event.summary.value]
    assert found
    for event in found:
        assert "clean, firm seed" in event.description.value and "stay hard" not in event.description.value


def test_every_caution_of_a_species_stands_in_the_event_of_its_work(plan: Plan, source: Source) -> None:
    hazards = ("seeds are deadly poisonous", "sap blisters the skin", "protected: check your own")
    warned = replace(plan, species=tuple(replace(one, cautions=hazards) for one in plan.species))
    events = vobject.readOne(calendar_bytes(warned, source, Reader()).decode()).vevent_list
    said = [event.description.value for event in events]
    assert any(hazards[0] in each for each in said)
    assert all(hazard in each for each in said if hazards[0] in each for hazard in hazards)


def test_a_calendar_from_invented_weather_says_so_on_itself_and_on_each_event(plan: Plan, source: Source) -> None:
    for invented in (True, False):
        calendar = vobject.readOne(calendar_bytes(plan, replace(source, invented=invented), Reader()).decode())
        said = calendar.contents["description"][0].value if "description" in calendar.contents else ""
        assert ("a demo, for no real place" in said) == invented
        assert {"is invented (demo)" in event.description.value for event in calendar.vevent_list} == {invented}


def test_work_outside_a_visit_rings_the_day_before_and_on_the_day(plan: Plan, source: Source) -> None:
    """A day's notice, and the morning itself."""
    alone = vobject.readOne(calendar_bytes(replace(plan, visits=()), source, Reader()).decode()).vevent_list
    sowing = [event for event in alone if event.summary.value.startswith("Sow ")]
    assert sowing
    for event in sowing:
        hours = {alarm.trigger.value / timedelta(hours=1) for alarm in event.valarm_list if not _ends(alarm)}
        assert hours == {-16.0, 8.0}
        closing = [alarm for alarm in event.valarm_list if _ends(alarm)]
        assert bool(closing) == (event.dtend.value - event.dtstart.value >= timedelta(days=14))
        assert all(alarm.trigger.value == timedelta(days=-3, hours=8) for alarm in closing)


def _ends(alarm) -> bool:
    return alarm.trigger.params.get("RELATED") == ["END"]
