"""Counts are held against what was expected, the requirement moves, and `plan` uses it and says so."""

from __future__ import annotations

import json
import re
from pathlib import Path
from types import SimpleNamespace

import pytest

from chillplan.cli.batch_sowing import _site_words, _told
from tests.cli.command import Answer, chillplan, written_record

SPECIES = "Asimina triloba"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> tuple[object, ...]:
    folder = tmp_path_factory.mktemp("learn")
    record = written_record(folder, mean=9.0, first="1999-01-01", last="2012-12-31")
    site = folder / "hill.toml"
    site.write_text('name = "the hill"\nlatitude = 44.0\nlongitude = -72.0\nelevation = 300\n', encoding="utf-8")
    return ("--site", site, "--weather", record)


@pytest.fixture
def journal(tmp_path: Path) -> tuple[object, ...]:
    return ("--journal", tmp_path / "j.db", "--today", "2012-12-01")


def counted(journal: tuple[object, ...], place: tuple[object, ...], sown: str, seen: str, emerged: int) -> None:
    words = ("--species", SPECIES, "--seeds", 100, "--site", place[1], "--date", sown)
    number = chillplan("batch", "sow", *words, *journal).out.split()[0]
    assert chillplan("batch", "count", number, emerged, "--date", seen, *journal).code == 0


def plan(place: tuple[object, ...], *words: object) -> Answer:
    return chillplan("plan", *place, "--species", SPECIES, "--today", "2012-09-01", *words)


def test_failures_in_many_winters_lengthen_the_requirement_and_plan_says_so(
    place: tuple[object, ...], journal: tuple[object, ...]
) -> None:
    for year in (2004, 2006, 2008, 2010):
        counted(journal, place, f"{year}-11-01", f"{year + 1}-07-20", 4)
    answer = chillplan("batch", "learn", *place, *journal)
    assert answer.code == 0, answer.err
    assert "S1 sown 2004-11-01: 4 of 100 up (4%), expected" in answer.out
    assert re.search(r"cold needed: \d+ to \d+ days by the species book, \d+ to \d+ learned here", answer.out)
    before = json.loads(plan(place, "--format", "json").out)["species"][0]
    after = json.loads(plan(place, "--format", "json", *journal[:2]).out)["species"][0]
    assert "learned on 2012-12-01 from 4 sowings here, 400 seeds" in after["source"]
    assert any("Planned with what your journal taught" in note for note in after["notes"])
    assert after["requirement"] != before["requirement"]
    assert "what your journal taught" in " ".join(plan(place, *journal[:2], "--explain").out.split())


def test_season_follows_a_sowing_as_learned(place: tuple[object, ...], journal: tuple[object, ...]) -> None:
    for year in (2004, 2006):
        counted(journal, place, f"{year}-11-01", f"{year + 1}-07-20", 4)
    chillplan("batch", "learn", *place, *journal)
    words = ("--species", SPECIES, "--seeds", 40, "--site", place[1], "--date", "2011-11-01", *journal)
    assert chillplan("batch", "sow", *words).code == 0
    answer = chillplan("season", *place, *journal[:2], "--today", "2012-02-01")
    assert answer.code == 0, answer.err
    assert "pawpaw (S3 Asimina triloba, as learned here), sown 1 Nov 2011" in answer.out


def test_a_lesson_is_for_its_site_alone(place: tuple[object, ...], journal: tuple[object, ...], tmp_path: Path) -> None:
    counted(journal, place, "2008-11-01", "2009-07-20", 4)
    assert chillplan("batch", "learn", *place, *journal).code == 0
    elsewhere = tmp_path / "other.toml"
    elsewhere.write_text('name = "elsewhere"\nlatitude = 44.0\nlongitude = -72.0\n', encoding="utf-8")
    there = ("--site", elsewhere, *place[2:])
    assert plan(there, *journal[:2]).out == plan(there).out
    answer = chillplan("batch", "learn", *there, *journal)
    assert (answer.code, "no counted sowing at 'elsewhere'" in answer.err) == (2, True)


def test_chill_measured_indoors_counts_as_credit(place: tuple[object, ...], journal: tuple[object, ...]) -> None:
    chillplan("batch", "start", SPECIES, "--seeds", 100, "--date", "2008-12-01", *journal)
    chillplan("batch", "sow", "B1", "--site", place[1], "--date", "2009-04-20", *journal)
    chillplan("batch", "count", "S1", 75, "--date", "2009-07-20", *journal)
    answer = chillplan("batch", "learn", *place, *journal)
    assert answer.code == 0, answer.err
    expected = int(answer.out.split("expected ")[1].split("%")[0])
    assert expected > 50


def test_what_cannot_be_followed_is_left_out_and_said(place: tuple[object, ...], journal: tuple[object, ...]) -> None:
    counted(journal, place, "2008-11-01", "2010-05-01", 4)
    answer = chillplan("batch", "learn", *place, *journal)
    assert "left out, it was counted after the end of its first season" in answer.out
    assert "Nothing can be learned" in answer.out


def test_a_hard_coat_left_closed_teaches_nothing(place: tuple[object, ...], journal: tuple[object, ...]) -> None:
    started = ("Tilia americana", "--seeds", 100, "--no-coat", "--date", "2008-12-01", *journal)
    assert chillplan("batch", "start", *started).code == 0
    chillplan("batch", "sow", "B1", "--site", place[1], "--date", "2009-04-20", *journal)
    chillplan("batch", "count", "S1", 5, "--date", "2009-07-20", *journal)
    assert "left out, its hard coat was not opened" in chillplan("batch", "learn", *place, *journal).out


def test_a_count_after_the_end_of_the_record_teaches_nothing(place: tuple[object, ...], tmp_path: Path) -> None:
    late = ("--journal", tmp_path / "j.db", "--today", "2013-07-01")
    counted(late, place, "2012-11-01", "2013-06-20", 4)
    answer = chillplan("batch", "learn", *place, *late)
    assert "left out, the record knows the season up to 2012-12-31 only, before the count" in answer.out


def test_learning_can_be_taken_back(place: tuple[object, ...], journal: tuple[object, ...]) -> None:
    counted(journal, place, "2008-11-01", "2009-07-20", 4)
    chillplan("batch", "learn", *place, *journal)
    assert chillplan("batch", "undo", *journal).out.startswith("taken back: learn at the hill")
    assert plan(place, *journal[:2]).out == plan(place).out


def test_learning_needs_a_site_and_its_weather(journal: tuple[object, ...]) -> None:
    answer = chillplan("batch", "learn", *journal)
    assert (answer.code, "pass --site and --weather" in answer.err) == (2, True)


@pytest.mark.parametrize(
    ("offset", "said"),
    [
        (0.5, "the ground is likely warmer than modelled (+0.5 °C, standard deviation 0.5 °C)"),
        (-1.26, "the ground is likely colder than modelled (-1.3 °C, standard deviation 0.5 °C)"),
        (0.4, "the counts do not show whether the ground is warmer or colder than modelled (+0.4 °C, standard"),
        (-0.01, "the counts do not show whether the ground is warmer or colder than modelled (+0.0 °C, standard"),
    ],
)
def test_what_the_counts_tell_of_the_ground(offset: float, said: str) -> None:
    words = _site_words(offset, 0.5)
    assert words.startswith(said)
    assert words.endswith("); a thermometer record with `chillplan soilcheck` settles it.")


def test_what_the_counts_tell_of_a_species() -> None:
    gained = "the counts took away 37% of the doubt about the middle of the lot"
    apart, alike = (
        _told(SimpleNamespace(certainty_gained=0.366, told_apart=told))  # type: ignore[arg-type]
        for told in (True, False)
    )
    assert apart == f"{gained}."
    assert alike == (
        f"{gained}, but cannot tell a different requirement from an error of the site: sow several species or winters, "
        "or seed chilled at a measured temperature."
    )
