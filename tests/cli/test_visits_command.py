from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from chillplan.advice.visits import _wrong_day
from chillplan.cli.place import with_time_zone
from chillplan.cli.planning import CrewText, crew_of
from chillplan.errors import Problems
from chillplan.site import Site
from tests.cli.command import chillplan, written_record

TODAY = ("--today", "2026-09-01")


@pytest.fixture(scope="module")
def answer() -> dict:
    found = chillplan("visits", *TODAY, "--format", "json")
    assert found.code == 0, found.err
    return json.loads(found.out)


def test_json_has_visits_within_daylight_and_windows(answer: dict) -> None:
    assert answer["visits"] and answer["proven"] is True and answer["uncovered"] == []
    assert answer["weather"]["invented"] is True
    for visit in answer["visits"]:
        assert visit["daylight_from"] < visit["daylight_to"]
        assert 0 < visit["minutes"] <= 8 * 60
        assert 0.0 <= visit["frost_risk"] <= 1.0
        for task in visit["tasks"]:
            assert task["place"] == "hill"
            assert task["date_from"] <= visit["date"] <= task["date_to"] or task["date_from"] < "2026-09-01"


def test_a_plan_carries_the_same_visits(answer: dict) -> None:
    plan = json.loads(chillplan("plan", *TODAY, "--format", "json").out)
    assert [visit["date"] for visit in plan["visits"]] == [visit["date"] for visit in answer["visits"]]


def test_weekdays_and_dates_away_are_kept(answer: dict) -> None:
    first = answer["visits"][0]["date"]
    found = json.loads(
        chillplan("visits", *TODAY, "--weekdays", "saturday,sun", "--away", first, "--format", "json").out
    )
    days = [date.fromisoformat(visit["date"]) for visit in found["visits"]]
    assert all(day.weekday() in {5, 6} for day in days)
    assert date.fromisoformat(first) not in days


def test_what_cannot_be_covered_is_said_with_what_frees_it() -> None:
    found = chillplan("visits", *TODAY, "--away", "2026-08-01..2028-12-31", "--format", "json")
    answer = json.loads(found.out)
    assert found.code == 0 and answer["visits"] == [] and answer["uncovered"]
    for one in answer["uncovered"]:
        assert "date that does not work" in one["reason"]
        assert one["what_would_free_it"] == ["one of the dates that do not work"]
    table = chillplan("visits", *TODAY, "--away", "2026-08-01..2028-12-31")
    assert "No visit covers" in table.out and "what would free it" in table.out


def test_csv_has_a_row_for_every_task(answer: dict) -> None:
    rows = list(csv.DictReader(io.StringIO(chillplan("visits", *TODAY, "--format", "csv").out)))
    assert len(rows) == sum(len(visit["tasks"]) for visit in answer["visits"])


def test_the_table_fits_the_terminal_and_speaks_the_readers_units() -> None:
    found = chillplan("visits", *TODAY, "--units", "us")
    assert found.code == 0
    assert max(map(len, found.out.splitlines())) <= 80
    assert "INVENTED" in found.out and "°F" in found.out and "°C" not in found.out


def test_every_bad_value_is_told_at_once() -> None:
    found = chillplan(
        "visits", *TODAY, "--people", "0", "--hours", "x", "--travel", "25", "--weekdays", "sat,caturday",
        "--away", "2027-03-01..2027-02-01", "--snow-share", "3", "--dates", "ymd",
    )  # fmt: skip
    assert found.code == 2 and found.out == ""
    for words in (
        "--people '0'",
        "--hours 'x'",
        "--travel '25'",
        "'caturday'",
        "--away",
        "--snow-share '3'",
        "--dates",
    ):
        assert words in found.err


def test_the_first_and_third_weekend_of_a_month() -> None:
    """October 2026 begins on a Thursday: the first weekend is the 3rd and 4th, the third the 17th and 18th."""
    problems = Problems()
    crew = crew_of(problems, CrewText(weekdays="1st and 3rd weekend"))
    assert crew is not None and not problems.found
    days = [date(2026, 10, day) for day in range(1, 32)]
    assert [day.day for day in days if not _wrong_day(day, crew)] == [3, 4, 17, 18]
    assert [day for day in (1, 2) if not _wrong_day(date(2026, 11, day), crew)] == []  # its Saturday was in October


def test_light_is_told_in_the_clock_of_the_place(tmp_path: Path) -> None:
    record = written_record(tmp_path)
    where = ("--weather", record, "--latitude", 41.786, "--longitude", -73.741, "--today", "2026-09-01")
    found = chillplan("visits", *where, "--species", "smooth sumac")
    assert "time of America/New_York" in found.out, found.err
    hill = tmp_path / "hill.toml"
    hill.write_text('latitude = 41.786\nlongitude = -73.741\ntime_zone = "Europe/Rome"\n')
    stated = chillplan("visits", "--site", hill, "--weather", record, *where[6:], "--species", "smooth sumac")
    assert "time of Europe/Rome" in stated.out, stated.err


def test_the_zone_is_that_of_the_map_and_is_looked_up_only_where_it_is_wanted() -> None:
    for latitude, longitude, zone in ((47.45, -122.31, "America/Los_Angeles"), (-41.3, 174.8, "Pacific/Auckland")):
        assert with_time_zone(Site(latitude, longitude)).time_zone == zone
    quiet = "import sys; from chillplan.cli import app; import chillplan.cli.planning; sys.exit('tzfpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", quiet], check=False).returncode == 0


def test_away_closes_its_first_and_its_last_day_and_those_between() -> None:
    problems = Problems()
    crew = crew_of(problems, CrewText(away=("2027-04-29..2027-05-02", "2027-05-09")))
    problems.raise_if_any()
    assert crew is not None
    days = {date(2027, 4, 29), date(2027, 4, 30), date(2027, 5, 1), date(2027, 5, 2), date(2027, 5, 9)}
    assert crew.away == days
