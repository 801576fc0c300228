"""``plan --sites``: many places, one table."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.command import chillplan, written_record

HEADER = "name,latitude,longitude,elevation,weather\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("sites")
    written_record(place, "cold.csv", mean=6.0)
    written_record(place, "mild.csv", mean=15.0, swing=6.0)
    (place / "sites.csv").write_text(HEADER + "high field,47.0,11.0,900,cold.csv\ncoast,38.0,-9.0,,mild.csv\n")
    return place


def test_one_table_equals_the_plans_one_by_one(folder: Path) -> None:
    common = ("--species", "Asclepias syriaca", "--species", "Tilia americana", "--today", "2026-09-01")
    answer = chillplan("plan", "--sites", folder / "sites.csv", *common, "--format", "csv")
    assert answer.code == 0, answer.err
    rows = list(csv.DictReader(io.StringIO(answer.out)))
    assert [row["site"] for row in rows] == ["high field", "high field", "coast", "coast"]
    alone = chillplan(
        "plan", "--latitude", "38", "--longitude=-9", "--weather", folder / "mild.csv", *common, "--format", "json"
    )
    for row, one in zip(rows[2:], json.loads(alone.out)["species"], strict=True):
        assert (row["species"], row["verdict"]) == (one["name"], one["verdict"])
        assert int(row["good_winters"]) == one["good_winters"]
        assert row["sow_from"] == ((one["outdoors"] or {}).get("sow_from") or "")


def test_as_json_and_as_a_table(folder: Path) -> None:
    common = ("plan", "--sites", folder / "sites.csv", "--species", "Tilia americana", "--today", "2026-09-01")
    said = json.loads(chillplan(*common, "--format", "json").out)
    assert [row["site"] for row in said["sites"]] == ["high field", "coast"]
    assert "high field" in chillplan(*common).out


def test_faults_of_every_site_at_once(folder: Path) -> None:
    bad = folder / "bad.csv"
    bad.write_text(HEADER + "a,147.0,11.0,900,cold.csv\nb,38.0,-9.0,,none.csv\n")
    answer = chillplan("plan", "--sites", bad, "--species", "Tilia americana")
    assert answer.code == 2
    assert "a: --latitude '147.0' is outside -90 to 90" in answer.err
    assert "b: " in answer.err
    assert "none.csv" in answer.err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "has no rows"),
        ("name,breadth\nx,1\n", "column 'breadth' of"),
        ("name,longitude\nx,1\n", "has no column latitude"),
        ("name,latitude,longitude\nx,,\ny,40,-70\n", "x: no latitude is given"),
        ("name,latitude\nx,40,a hill, north\n", "x: the row has more cells than the header"),
    ],
)
def test_tables_that_do_not_fit(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "sites.csv").write_text(text)
    answer = chillplan("plan", "--sites", tmp_path / "sites.csv", "--species", "Tilia americana")
    assert answer.code == 2
    assert said in answer.err


def test_a_table_that_is_not_there_and_options_that_do_not_go_with_it(tmp_path: Path) -> None:
    assert "cannot be read" in chillplan("plan", "--sites", tmp_path / "none.csv").err
    assert (
        "--out writes the report of one site" in chillplan("plan", "--sites", tmp_path / "s.csv", "--out", tmp_path).err
    )
