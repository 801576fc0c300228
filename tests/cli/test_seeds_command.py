"""How much seed, from the command line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.command import chillplan, written_record

SHARE = ("--share-up", "0.6")


def amounts(*words: object) -> dict:
    answer = chillplan("seeds", *words, "--format", "json")
    assert answer.code == 0, answer.err
    return json.loads(answer.out)


def test_a_bed_of_chokecherry_needs_more_than_the_average_weight() -> None:
    # The worked example of the sowing-rate formula, 3.97 kg on average (20,000 seedlings of 5,040 per kg): with a
    # stated chance of reaching them the weight must lie a little above it.
    words = ("--species", "chokecherry", "--area", 100, "--density", 200, "--losses", "0.4", "--viability", "0.8")
    found = amounts(*words, "--share-up", "1")["seeds"][0]
    assert found["plants"] == 20_000
    assert 3970 < found["grams"] < 3970 * 1.03


def test_packets_and_cells() -> None:
    found = amounts(
        "--species", "redbud", "--plants", 30, *SHARE, "--losses", "0", "--viability", "1", "--packet-seeds", 40
    )
    row = found["seeds"][0]
    assert row["seeds_per_cell"] == 4  # ln(0.05) / ln(0.4), rounded up
    assert row["packets"] == -(-row["seeds"] // 40)
    assert "as given" in found["basis"]


def test_the_plan_gives_the_share_by_winter(tmp_path: Path) -> None:
    record = written_record(tmp_path, mean=8.0)
    place = ("--weather", record, "--latitude", 44, "--longitude", -72, "--elevation", 200, "--today", "2026-09-01")
    found = amounts("--species", "Zizia aurea", "--species", "white oak", "--plants", 25, *place)
    assert all(row["seeds"] >= 25 for row in found["seeds"])
    assert "by winter" in found["basis"]


def test_old_seed_that_must_stay_moist_is_out_of_reach() -> None:
    answer = chillplan("seeds", "--species", "pawpaw", "--plants", 10, *SHARE, "--age", 2)
    assert answer.code == 0
    assert "hardly a seed of this lot is alive" in answer.out
    assert max(map(len, answer.out.splitlines())) <= 80


def test_unknown_seeds_per_gram_leaves_the_weight_open_until_counted() -> None:
    row = amounts("--species", "ramps", "--plants", 10, *SHARE)["seeds"][0]
    assert row["grams"] is None
    counted = amounts("--species", "ramps", "--plants", 10, *SHARE, "--seeds-per-gram", 50)["seeds"][0]
    assert counted["grams"] == pytest.approx(counted["seeds"] / 50, abs=0.001)


def test_a_packet_may_hold_a_single_seed() -> None:
    row = amounts("--species", "redbud", "--plants", 3, *SHARE, "--packet-seeds", 1)["seeds"][0]
    assert row["packets"] == row["seeds"] > 3


def test_csv_has_one_row_a_species() -> None:
    answer = chillplan("seeds", "--species", "redbud", "--species", "pawpaw", "--plants", 5, *SHARE, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(answer.out)))
    assert [row["name"] for row in rows] == ["Cercis canadensis", "Asimina triloba"]


def test_ounces_are_grams_by_definition_of_the_ounce() -> None:
    words = ("seeds", "--species", "pawpaw", "--plants", 2000, *SHARE)
    grams = float(chillplan(*words).out.split("pawpaw")[1].split()[4])
    ounces = float(chillplan(*words, "--units", "us").out.split("pawpaw")[1].split()[4])
    assert grams / ounces == pytest.approx(28.3495, rel=0.01)


def test_a_percentage_is_told_how_to_be_written_and_the_columns_are_explained() -> None:
    wrong = chillplan("seeds", "--species", "chokecherry", "--plants", "5", "--share-up", "60", "--viability", "80")
    assert wrong.code == 2
    assert "write 80 % as 0.8" in wrong.err and "write 60 % as 0.6" in wrong.err
    right = chillplan("seeds", "--species", "chokecherry", "--plants", "5", "--share-up", "0.6").out
    assert "those that become plants" in " ".join(right.split())


def test_an_amount_states_what_it_assumes_and_keeps_below_the_ceiling_of_the_species(tmp_path: Path) -> None:
    own = tmp_path / "mine.csv"
    own.write_text(
        'name,common_name,phases,ceiling_share,ceiling_source\nRara lenta,slow one,"cold moist, 60 days",0.25,a trial\n'
    )
    wanted = ("--species-file", own, "--species", "slow one", "--plants", "50", "--format", "json", "--share-up")
    high, low = (json.loads(chillplan("seeds", *wanted, share).out) for share in ("0.9", "0.25"))
    assert high["seeds"][0]["seeds"] == low["seeds"][0]["seeds"]
    assert "slow one: never more than 25% came up (a trial)." in high["notes"]
    assert not any("never more" in note for note in low["notes"])
    assert high["notes"][0].startswith("Assumed unless you say otherwise: 80% alive")
