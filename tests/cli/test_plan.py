from __future__ import annotations

import csv
import io
import json
from datetime import date
from itertools import pairwise
from pathlib import Path

import pytest

from chillplan.verdicts import VERDICTS
from tests.cli.command import chillplan, written_record

TODAY = ("--today", "2026-09-01")
PLACE = ("--latitude", "44.0", "--longitude", "-72.0", "--elevation", "300")


@pytest.fixture(scope="module")
def demo() -> dict:
    answer = chillplan("plan", *TODAY, "--format", "json")
    assert answer.code == 0, answer.err
    return json.loads(answer.out)


def test_the_demo_says_that_its_weather_is_invented(demo: dict) -> None:
    assert demo["weather"]["invented"] is True
    table = chillplan("demo", *TODAY)
    assert table.code == 0
    assert "INVENTED" in table.out
    assert max(map(len, table.out.splitlines())) <= 80
    for command in ("plan", "visits", "winter", "season"):
        answer = chillplan(command, "--format", "csv", *(("--species", "pawpaw") if command != "winter" else ()))
        assert answer.code == 0 and "INVENTED" in answer.err and "INVENTED" not in answer.out


def test_json_has_the_keys_of_the_contract(demo: dict) -> None:
    assert {"schema", "site", "weather", "winter", "species", "tasks", "visits"} <= set(demo)
    assert set(demo["site"]) >= {
        "name", "latitude", "longitude", "elevation_m", "slope_deg", "aspect_deg", "cover", "depth_cm",
    }  # fmt: skip
    assert set(demo["weather"]) >= {
        "source", "station", "first", "last", "winters", "coverage", "distance_km", "height_difference_m", "invented",
    }  # fmt: skip
    assert set(demo["winter"]) >= {
        "chill_days", "effective_chill", "cold_days_at_or_below_5c", "by_season", "last_spring_frost",
        "first_autumn_frost", "soil_warm", "trend_per_decade",
    }  # fmt: skip
    assert set(demo["winter"]["chill_days"]) == {"p10", "p50", "p90"}
    for one in demo["species"]:
        assert set(one) >= {
            "name", "common_name", "verdict", "good_winters", "winters", "interval", "share_up", "reason",
            "requirement", "source", "outdoors", "fridge", "top_up", "cautions",
        }  # fmt: skip
        assert one["verdict"] in VERDICTS
        assert 0 <= one["good_winters"] <= one["winters"]
        assert one["reason"].endswith(".")
    for task in demo["tasks"]:
        assert set(task) >= {"date_from", "date_to", "species", "action", "place", "minutes"}


def test_demo_shows_different_verdicts_for_ten_to_fifteen_species(demo: dict) -> None:
    assert 10 <= len(demo["species"]) <= 15
    assert len({one["verdict"] for one in demo["species"]}) >= 4


def test_fridge_dates_count_back_from_planting_out(demo: dict) -> None:
    fridges = [one for one in demo["species"] if one["fridge"]]
    assert fridges
    for one in fridges:
        way = one["fridge"]
        prepare, out = date.fromisoformat(way["prepare"]), date.fromisoformat(way["plant_out"])
        cold = sum(phase["days"][1] for phase in one["requirement"]["phases"])
        assert (out - prepare).days >= cold
        checks = [date.fromisoformat(day) for day in way["checks"]]
        assert {(b - a).days for a, b in pairwise(checks)} <= {7}
        assert all(prepare < day < out for day in checks)


def test_tasks_are_in_the_order_of_their_dates_and_none_is_past(demo: dict) -> None:
    begins = [task["date_from"] for task in demo["tasks"]]
    assert begins == sorted(begins)
    assert all(task["date_to"] >= "2026-09-01" for task in demo["tasks"])


def test_csv_has_one_row_a_species(tmp_path: Path) -> None:
    record = written_record(tmp_path)
    answer = chillplan(
        "plan",
        "--weather",
        record,
        *PLACE,
        *TODAY,
        "--species",
        "Zizia aurea",
        "--species",
        "redbud",
        "--format",
        "csv",
    )
    assert answer.code == 0, answer.err
    rows = list(csv.DictReader(io.StringIO(answer.out)))
    assert [row["species"] for row in rows] == ["Zizia aurea", "Cercis canadensis"]


def test_southern_plan_mirrors_the_northern_one(tmp_path: Path) -> None:
    north = written_record(tmp_path, "north.csv", noise=0.0)
    south = written_record(tmp_path, "south.csv", noise=0.0, southern=True)
    found = []
    for record, latitude, today in ((north, 44, "2026-09-01"), (south, -44, "2026-03-03")):
        answer = chillplan(
            "plan", "--weather", record, "--latitude", latitude, "--longitude", 10, "--today", today,
            "--species", "Eryngium yuccifolium", "--format", "json",
        )  # fmt: skip
        assert answer.code == 0, answer.err
        found.append(json.loads(answer.out)["species"][0])
    assert found[0]["verdict"] == found[1]["verdict"]
    begin = [date.fromisoformat(one["outdoors"]["sow_from"]) for one in found]
    assert abs((begin[0] - begin[1]).days - 181) <= 6


def test_warming_takes_chill_away(tmp_path: Path) -> None:
    record = written_record(tmp_path, mean=11.0)
    chill = []
    for warming in ("0", "3"):
        answer = chillplan("winter", "--weather", record, *PLACE, "--warming", warming, "--format", "json")
        assert answer.code == 0, answer.err
        chill.append(json.loads(answer.out)["winter"]["cold_days_at_or_below_5c"]["p50"])
    assert chill[1] < chill[0]


def test_winters_without_frost_are_an_answer(tmp_path: Path) -> None:
    record = written_record(tmp_path, mean=22.0, swing=5.0, noise=1.0)
    answer = chillplan("winter", "--weather", record, "--latitude", "10", "--longitude", "0", "--format", "json")
    assert answer.code == 0, answer.err
    winter = json.loads(answer.out)["winter"]
    assert winter["winters_without_frost"] == 13
    assert winter["last_spring_frost"]["p50"] is None
    assert winter["soil_warm"]["10"]["earlier_than_any"] == 13
    assert "no frost" in chillplan("winter", "--weather", record, "--latitude", "10", "--longitude", "0").out


def test_a_plant_out_date_is_kept(tmp_path: Path) -> None:
    record = written_record(tmp_path)
    answer = chillplan(
        "plan", "--weather", record, *PLACE, *TODAY, "--species", "Eryngium yuccifolium",
        "--plant-out", "2027-05-20", "--format", "json",
    )  # fmt: skip
    assert answer.code == 0, answer.err
    assert json.loads(answer.out)["species"][0]["fridge"]["plant_out"] == "2027-05-20"


def test_frosts_of_the_users_choice_and_the_last_winters(tmp_path: Path) -> None:
    record = written_record(tmp_path)
    answer = chillplan("winter", "--weather", record, *PLACE, "--frost", "-6", "--format", "json")
    assert answer.code == 0, answer.err
    winter = json.loads(answer.out)["winter"]
    dates = [winter["last_spring_frost"]["by_threshold_c"][limit]["p50"] for limit in ("0", "-2", "-4", "-6")]
    assert dates == sorted(dates, reverse=True)
    assert winter["recent"]["winters"] == 13
    assert 0.0 <= winter["trend_per_decade"]["effective_chill_probability"] <= 1.0


def test_a_window_of_spring_names_the_autumn_that_serves_as_well() -> None:
    """Wild bergamot needs no cold; growers sow it from November to March (common practice, no source)."""
    words = ("plan", "--species", "wild bergamot", "--today", "2026-09-01")
    found = json.loads(chillplan(*words, "--format", "json").out)["species"][0]
    first, last = (date.fromisoformat(day) for day in found["outdoors"]["autumn_as_well"])
    assert found["verdict"] == "sow-in-spring"
    assert date(2026, 10, 1) <= first < last < date.fromisoformat(found["outdoors"]["sow_from"])
    assert "works as well" in " ".join(chillplan(*words).out.split())


def test_several_warmings_list_only_what_changes() -> None:
    words = ("plan", "--today", "2026-09-01", "--species", "blue flag iris", "--species", "smooth sumac")
    found = json.loads(chillplan(*words, "--warming", "0,8", "--format", "json").out)
    alone = [
        json.loads(chillplan(*words, "--warming", degrees, "--format", "json").out)["species"] for degrees in ("0", "8")
    ]
    differ = [cool["name"] for cool, warm in zip(*alone, strict=True) if cool["verdict"] != warm["verdict"]]
    assert "Iris versicolor" in differ
    assert next(one["name"] for one in found["changes"]) == "blue flag iris"
    assert found["unchanged"] + len(found["changes"]) == 2 and len(found["changes"][0]["verdicts"]) == 2
    table = chillplan(*words, "--warming", "0, 8").out
    assert "blue flag iris" in table and "+8.0 °C" in table and "Caution" not in table
    rows = list(csv.DictReader(io.StringIO(chillplan(*words, "--warming", "0,8", "--format", "csv").out)))
    assert [list(row.values()) for row in rows] == [[one["name"], *one["verdicts"]] for one in found["changes"]]
    refused = chillplan(*words, "--warming", "0,2", "--out", "folder")
    assert refused.code == 2 and "neither kept nor written" in refused.err
    assert chillplan(*words, "--warming", "0,x").code == 2


def test_seed_of_three_ways_says_so() -> None:
    said = " ".join(chillplan("plan", "--today", "2026-09-01", "--species", "wild bergamot").out.split())
    assert "refrigerator" in said and "all serve" in said


def test_days_in_a_list_are_counted_from_the_day_asked_about(tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text("species,picked\nZizia aurea,3 days ago\npawpaw,28 Aug\n", encoding="utf-8")
    answer = chillplan("plan", "--list", tmp_path / "list.csv", "--today", "2025-09-10", "--format", "json")
    assert answer.code == 0, answer.err
    assert [one["lot"]["picked"] for one in json.loads(answer.out)["species"]] == ["2025-09-07", "2025-08-28"]


def test_planting_out_today_is_planned_and_yesterday_refused() -> None:
    words = ("plan", "--today", "2027-04-20", "--species", "golden Alexanders", "--format", "json")
    answer = chillplan(*words, "--plant-out", "2027-04-20")
    assert answer.code == 0, answer.err
    late = chillplan(*words, "--plant-out", "2027-04-19")
    assert late.code == 2 and "--plant-out 2027-04-19 is before today, 2027-04-20" in late.err
