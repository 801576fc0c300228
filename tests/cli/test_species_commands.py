"""The species book from the command line: lists, pages, and the check of a user's own table."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seeds.page import NEEDS
from tests.cli.command import chillplan, written_record

TODAY = ("--today", "2026-09-01")


def listed(*words: object) -> list[dict]:
    answer = chillplan("species", "list", *words, "--format", "json")
    assert answer.code == 0, answer.err
    return json.loads(answer.out)["species"]


def test_the_whole_book_is_listed_within_80_columns() -> None:
    assert len(listed()) == len(built_in_catalogue())
    table = chillplan("species", "list")
    assert max(map(len, table.out.splitlines())) <= 80
    assert "One in full: chillplan species show NAME" in table.out


@pytest.mark.parametrize("need", NEEDS)
def test_every_need_is_found_somewhere(need: str) -> None:
    found = listed("--need", need)
    assert found
    assert all(need in row["needs"] for row in found)


def test_filters_are_all_to_hold() -> None:
    found = listed("--need", "cold", "--need", "moist", "--use", "edible")
    assert {"Asimina triloba"} <= {row["name"] for row in found}
    assert all({"cold", "moist"} <= set(row["needs"]) and "edible" in row["uses"] for row in found)


def test_a_filter_by_verdict_asks_the_place(tmp_path: Path) -> None:
    record = written_record(tmp_path, mean=8.0)
    place = ("--weather", record, "--latitude", 44, "--longitude", -72, "--elevation", 200, *TODAY)
    found = listed("--need", "shoot", *place)
    assert all(row["verdict"] and 0 <= row["good_winters"] <= row["winters"] for row in found)
    one = found[0]["verdict"]
    only = listed("--need", "shoot", "--verdict", one, *place)
    assert [row["name"] for row in only] == [row["name"] for row in found if row["verdict"] == one]


def test_without_a_place_verdicts_are_those_of_the_demo_and_say_so() -> None:
    answer = chillplan("species", "list", "--need", "double", "--verdict", "two-winters-outdoors", *TODAY)
    assert answer.code == 0
    assert "INVENTED" in answer.err


def test_the_list_as_csv_runs_nothing(tmp_path: Path) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text(
        'name,common_name,phases,uses\nTestus unus,"=HYPERLINK(""x"")",none,"@sum; edible"\n', encoding="utf-8"
    )
    answer = chillplan("species", "list", "--species-file", mine, "--use", "edible", "--format", "csv")
    rows = {row["name"]: row for row in csv.DictReader(io.StringIO(answer.out))}
    assert rows["Testus unus"]["common_name"].startswith("'=")
    assert rows["Testus unus"]["uses"].startswith("'@")


def test_a_page_is_readable_within_80_columns() -> None:
    answer = chillplan("species", "show", "Kentucky coffeetree")
    assert answer.code == 0
    assert max(map(len, answer.out.splitlines())) <= 80
    for part in ("What the seed is waiting for", "Indoors", "Outdoors", "What can go wrong", "Take care", "Sources"):
        assert part in answer.out


def test_a_page_with_a_place_says_what_its_winters_decide(tmp_path: Path) -> None:
    record = written_record(tmp_path, mean=8.0)
    place = ("--weather", record, "--latitude", 44, "--longitude", -72, "--elevation", 200)
    answer = chillplan("species", "show", "Zizia aurea", *place, *TODAY, "--format", "json")
    page = json.loads(answer.out)["page"]
    assert page[0]["title"].startswith("At ")
    text = " ".join(page[0]["lines"])
    assert "Needs 90 to 120 days cold" in text
    assert "2 °C warmer" in text
    assert "plausible range" in text


def test_json_of_a_page_holds_the_facts_with_their_standing() -> None:
    found = json.loads(chillplan("species", "show", "wild leek", "--format", "json").out)["species"]
    assert found["name"] == "Allium tricoccum"
    assert found["germination"]["assumed"] is True
    assert found["evidence"] == "partly read"
    assert found["source"]


def test_check_tells_a_name_that_is_already_taken(tmp_path: Path) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text("name,phases\npawpaw,none\nZizia  aurea,none\n", encoding="utf-8")
    answer = chillplan("species", "check", mine)
    assert "pawpaw: 'pawpaw' is also a name of Asimina triloba" in answer.out
    assert "2 species, no fault; 1 new, 1 over ours" in answer.out


def test_check_says_every_fault_with_its_row(tmp_path: Path) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text(
        'name,phases,light\nA unus,cold,bright\nB duo,"warm, 4000 days",\nA unus,none,\nC tres,cold a while,\n',
        encoding="utf-8",
    )
    answer = chillplan("species", "check", mine)
    assert answer.code == 2
    assert answer.out == ""
    for part in (
        "row 2 ('A unus'): phase 'cold' has no number of days",
        "row 2 ('A unus'): light 'bright' is not understood",
        "row 3 ('B duo'): phase 'warm, 4000 days': 4000 days is longer than two years",
        "row 4 ('A unus'): the same name stands in row 2",
        "row 5 ('C tres'): phase 'cold a while': 'a while' is not understood",
    ):
        assert part in answer.err


def test_check_of_a_large_file_is_refused_in_a_sentence(tmp_path: Path) -> None:
    large = tmp_path / "large.csv"
    large.write_bytes(b"name,phases\n" + b"Testus unus,none\n" * 600_000)
    answer = chillplan("species", "check", large)
    assert answer.code == 2
    assert "10.2 MB, more than 2 MB" in answer.err


def test_a_page_in_us_units_has_no_degree_celsius_of_ours() -> None:
    answer = chillplan("species", "show", "pawpaw", "--units", "us")
    steps = answer.out.split("Figures")[0]
    assert "39 to 41 °F" in steps
    assert "°C" not in steps
    assert " cm" not in steps


def test_a_name_that_several_species_share_is_asked_about() -> None:
    """Four shrubs of this book are called serviceberry, and each wants its own treatment."""
    answer = chillplan("species", "show", "serviceberry")
    assert answer.code == 2
    for name in ("western serviceberry", "downy serviceberry", "eastern serviceberry"):
        assert name in answer.err


def test_a_page_has_the_cautions_of_every_way_it_shows() -> None:
    """Redbud is filed or scalded: whoever reads the page may do either."""
    shown = " ".join(chillplan("species", "show", "redbud").out.split())
    care = shown.partition("Take care")[2]
    assert "Indoors: hot water" in shown and "Boiling water scalds" in care and "cut away from the hand" in care
    assert care.index("Boiling water") < care.index("Mould in the bag") < care.index("Collect wild seed")
    assert care.count("Mould in the bag") == 1
