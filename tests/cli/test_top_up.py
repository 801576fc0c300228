"""Seed begun outdoors and finished in the refrigerator, from the record to everything a grower is handed."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import date, timedelta
from pathlib import Path

import pytest
import vobject
from pypdf import PdfReader

from tests.cli.command import chillplan, written_record

SPECIES = ("--species", "Crataegus douglasii")
ALL_NEED_COLD = """name,lot_days_10,lot_days_50,lot_days_90,seedling_limit_c,trials_source
Crataegus douglasii,90,105,120,-5,a lot made up for this test
"""
HELPED = "start-outdoors-finish-in-fridge"


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> tuple[object, ...]:
    folder = tmp_path_factory.mktemp("top-up")
    record = written_record(folder, mean=8.0, swing=15.0, noise=5.0)
    (folder / "mine.csv").write_text(ALL_NEED_COLD, encoding="utf-8")
    place = ("--latitude", 44, "--longitude", -72, "--elevation", 300)
    return ("--weather", record, *place, "--species-file", folder / "mine.csv", *SPECIES)


@pytest.fixture(scope="module")
def found(asked: tuple[object, ...]) -> dict:
    answer = chillplan("plan", *asked, "--today", "2026-09-01", "--format", "json")
    assert answer.code == 0, answer.err
    return json.loads(answer.out)


def days_owed(found: dict) -> int:
    """Days owed in a median winter, as the reason words them."""
    said = re.search(r"(\d+) days of cold \(in a poor winter", found["species"][0]["reason"])
    assert said is not None
    assert float(said[1]) == pytest.approx(found["species"][0]["top_up"]["owed_days"]["p50"], abs=0.56)
    return int(said[1])


@pytest.fixture(scope="module")
def folder(asked: tuple[object, ...], tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("report") / "plan"
    assert chillplan("plan", *asked, "--today", "2026-09-01", "--out", out).code == 0
    return out


def test_the_plan_gives_the_dates_in_their_order(found: dict) -> None:
    (one,) = found["species"]
    way = one["top_up"]
    assert one["verdict"] == HELPED
    keys = ("sow", "sow_to", "lift_from", "lift", "plant_out")
    days = [date.fromisoformat(way[key]) for key in keys]
    assert days == sorted(set(days))
    assert [(day.year, day.month) for day in days] == [(2026, 10), (2026, 11), (2027, 3), (2027, 4), (2027, 5)]
    assert (days[4] - days[3]).days >= way["owed_days"]["p90"] >= way["owed_days"]["p50"] >= way["owed_days"]["p10"]
    assert way["spared_days"] == pytest.approx(120.0 - way["owed_days"]["p50"], abs=0.11)
    # Weekly on the looking day, from the first week in which it may have been lifted.
    assert days[2] < date.fromisoformat(way["checks"][0]) <= days[2] + timedelta(days=7)
    assert [step["kind"] for step in way["steps"]][-4:] == ["sow", "lift", "cold phase", "plant out"]
    assert one["fridge"] is not None
    assert (one["outdoors"]["sow_from"], one["outdoors"]["sow_to"]) == (way["sow"], way["sow_to"])


def test_the_hill_is_visited_to_sow_to_lift_and_to_plant(found: dict) -> None:
    kinds = [[task["key"].split("/")[1] for task in visit["tasks"]] for visit in found["visits"]]
    assert kinds == [["sow"], ["lift"], ["plant out"]]
    way = found["species"][0]["top_up"]
    assert way["lift_from"] <= found["visits"][1]["date"] <= way["lift"]


def test_the_table_names_lifting_the_days_owed_and_the_planting(asked: tuple[object, ...], found: dict) -> None:
    out = " ".join(chillplan("plan", *asked, "--today", "2026-09-01", "--explain").out.split())
    for words in ("lifted by", f"{days_owed(found)} days of cold (in a poor winter", "planted out", "lift the seed"):
        assert words in out


def test_rows_hold_the_dates_of_this_way_and_not_of_the_refrigerator_alone(
    asked: tuple[object, ...], found: dict
) -> None:
    answer = chillplan("plan", *asked, "--today", "2026-09-01", "--format", "csv")
    (row,) = csv.DictReader(io.StringIO(answer.out))
    way = found["species"][0]["top_up"]
    assert (row["sow_from"], row["sow_to"]) == (way["sow"], way["sow_to"])
    assert (row["into_cold"], row["plant_out"]) == (way["lift"], way["plant_out"])


def test_the_calendar_calls_to_lift_with_the_caution(folder: Path, found: dict) -> None:
    events = vobject.readOne((folder / "calendar.ics").read_text()).vevent_list
    (lift,) = (event for event in events if "lift the seed before" in event.description.value)
    way = found["species"][0]["top_up"]
    assert way["lift_from"] <= lift.dtstart.value.isoformat() <= way["lift"]
    assert lift.dtend.value - lift.dtstart.value == timedelta(days=1)
    assert "Caution: Lifting: wear gloves" in lift.description.value
    assert any("prouts are possible" in event.description.value for event in events)


def test_the_label_says_when_to_lift_and_what_is_owed(folder: Path, found: dict) -> None:
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(folder / "labels.pdf").pages).split())
    assert "Sow in a mesh bag" in text and "Lift by" in text
    assert f"{days_owed(found)} days owed" in text
    assert "bed-then-fridge" in text


def test_the_page_gives_the_steps_and_the_days_spared(folder: Path, found: dict) -> None:
    page = (folder / "report.html").read_text()
    assert "Begun outdoors, finished in the refrigerator" in page
    assert f"{120 - days_owed(found)} days indoors are spared" in page
    assert "lift the seed before the soil warms" in page


def test_in_late_winter_the_season_says_the_same(asked: tuple[object, ...], tmp_path: Path) -> None:
    """The same seed, sown as planned in the winter that the record breaks off in, is to be lifted then too."""
    record = written_record(tmp_path, mean=8.0, swing=15.0, noise=5.0, last="2012-02-14")
    said = chillplan(
        "season", "--weather", record, *asked[2:], "--today", "2012-02-15", "--sown", "2011-11-14", "--format", "json"
    )
    assert said.code == 0, said.err
    (sowing,) = json.loads(said.out)["sowings"]
    assert sowing["actions"][0]["kind"] == "lift"
    assert "2012-03" <= sowing["actions"][0]["by"] <= "2012-04-15"
    assert "give it the cold still owed" in sowing["actions"][0]["text"]
