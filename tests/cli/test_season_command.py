"""``chillplan season`` answers for the demo, for a record and for the journal."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest

from tests.cli.command import chillplan, written_record


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written_record(tmp_path_factory.mktemp("season"), mean=8.0, last="2012-01-31")


def place(record: Path) -> tuple[object, ...]:
    return ("--weather", record, "--latitude", 44, "--longitude", -72, "--elevation", 300, "--today", "2012-02-01")


def test_the_demo_says_that_its_weather_is_invented() -> None:
    answer = chillplan("season", "--species", "pawpaw")
    assert answer.code == 0, answer.err
    assert "INVENTED" in answer.out
    assert "known to 31 Jan 2026" in answer.out


def test_json_holds_chances_outcomes_and_actions(record: Path) -> None:
    answer = chillplan("season", *place(record), "--species", "pawpaw", "--format", "json")
    assert answer.code == 0, answer.err
    found = json.loads(answer.out)
    (sowing,) = found["sowings"]
    assert (found["season"], found["known_to"]) == (2011, "2012-01-31")
    assert sowing["sown"] == "2011-11-01"
    assert sum(sowing["outcomes"].values()) == pytest.approx(1.0, abs=0.001)
    assert all(0 <= chance["endings"] <= chance["of"] == len(found["endings"]) for chance in sowing["chances"])
    assert sowing["actions"][0]["text"]
    rows = list(
        csv.DictReader(io.StringIO(chillplan("season", *place(record), "--species", "pawpaw", "--format", "csv").out))
    )
    assert [row["date"] for row in rows] == [chance["date"] for chance in sowing["chances"]]


def test_sowings_come_from_the_journal(record: Path, tmp_path: Path) -> None:
    journal = ("--journal", tmp_path / "j.db")
    chillplan(
        "batch", "sow", "--species", "pawpaw", "--seeds", 40, "--date", "2011-10-20", "--today", "2012-01-01", *journal
    )
    answer = chillplan("season", *place(record), *journal)
    assert answer.code == 0, answer.err
    assert "pawpaw (S1 Asimina triloba), sown 20 Oct 2011" in answer.out
    earlier = ("--species", "pawpaw", "--seeds", 40, "--date", "2011-04-20", "--today", "2012-01-01")
    assert chillplan("batch", "sow", *earlier, *journal).code == 0
    both = chillplan("season", *place(record), *journal)
    assert "pawpaw (S2 Asimina triloba), sown 20 Apr 2011" in both.out, both.err
    for day in ("2010-04-20", "2009-04-20"):
        oldest = ("--species", "pawpaw", "--seeds", 40, "--date", day, "--today", "2012-01-01")
        assert chillplan("batch", "sow", *oldest, *journal).code == 0
    told = chillplan("season", *place(record), *journal).out
    assert "pawpaw (S3 Asimina triloba), sown 20 Apr 2010" in told and "sown 20 Apr 2009" not in told


def test_fresh_seed_sown_last_summer_is_followed_spring_by_spring(record: Path) -> None:
    words = ("season", *place(record), "--species", "bloodroot", "--sown", "2011-06-20")
    answer = chillplan(*words)
    assert answer.code == 0, answer.err
    assert "sown 20 Jun 2011" in answer.out
    told = json.loads(chillplan(*words, "--format", "json").out)["sowings"][0]
    assert set(told["up_by_spring"]) <= {"2011", "2012", "2013"} and told["up_by_spring"]["2012"] > 0.3, told
    late = json.loads(chillplan(*words[:-1], "2011-11-20", "--format", "json").out)["sowings"][0]
    assert late["up_by_spring"]["2013"] > 2 * late["up_by_spring"]["2012"]  # its warmth has to wait for the summer


def test_lots_are_followed_by_their_names_and_states(record: Path, tmp_path: Path) -> None:
    (tmp_path / "lots.csv").write_text(
        "species,lot,amount,state,place\nspicebush,creek,200 seeds,fresh moist,upper terrace\nspicebush,shop,,,\n"
    )
    answer = chillplan("season", *place(record), "--list", tmp_path / "lots.csv", "--sown", "2011-09-20")
    assert answer.code == 0, answer.err
    said = " ".join(answer.out.split())
    fresh = "spicebush, creek (Lindera benzoin, creek; 200 seeds, upper terrace), sown 20 Sep 2011: "
    assert fresh in said and "spicebush, shop (Lindera benzoin, shop)" in said, said
    moist, dried = said.split("spicebush, shop (")
    assert "warm moist" not in moist and "warm moist, 30 days" in dried, "each by the recipe of its own state"


def test_a_sowing_in_the_season_before_has_its_days_as_they_were(record: Path) -> None:
    def found(day: str) -> dict:
        words = ("season", *place(record), "--species", "pawpaw", "--sown", day, "--format", "json")
        return json.loads(chillplan(*words).out)["sowings"][0]

    first, last = (
        found("2011-08-01"),
        found("2011-07-31"),
    )  # the first day of this season, and the last of the one before
    assert first["half_up"] == last["half_up"] and first["outcomes"] == pytest.approx(last["outcomes"], abs=0.05)


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["--species", "pawpaw", "--sown", "2009-07-01"], 2, "--sown 2009-07-01 is outside this season"),
        (["--species", "pawpaw", "--accept", "7"], 2, "--accept '7' is outside 0.5 to 1"),
        (["--species", "no such plant"], 2, "no such plant"),
        (["--species", "pawpaw", "--today", "2013-12-01"], 3, "before this season's first day 2013-08-01"),
        (["--journal", "nowhere.db"], 2, "is not there"),
    ],
)
def test_what_is_wrong_is_said(record: Path, words: list[str], code: int, message: str) -> None:
    answer = chillplan("season", *place(record), *words)
    assert (answer.code, answer.out) == (code, "")
    assert message in answer.err


def test_seed_that_needs_no_cold_is_not_said_to_have_it() -> None:
    out = chillplan("season", "--species", "Desmanthus illinoensis").out
    assert "needs no chilling; half is up" in out
    assert "all the chill it needs" not in out


def test_a_record_that_lags_behind_is_said(record: Path) -> None:
    answer = chillplan("season", *place(record)[:-1], "2012-02-20", "--species", "pawpaw")
    assert answer.code == 0
    assert "the record ends 2012-01-31, 19 days ago" in answer.err
    assert chillplan("season", *place(record), "--species", "pawpaw").err == ""


def test_units_and_dates_are_the_readers() -> None:
    us = chillplan("season", "--species", "pawpaw", "--units", "us").out
    assert "known to Jan 31, 2026" in us and "39 to 41 °F" in us and "°C" not in us
    assert "known to 2026-01-31" in chillplan("season", "--species", "pawpaw", "--dates", "iso").out
    refused = chillplan("season", "--species", "pawpaw", "--units", "uk", "--dates", "ydm")
    assert refused.code == 2 and "--units 'uk'" in refused.err and "--dates 'ydm'" in refused.err


def test_what_is_complete_owes_nothing_and_one_date_is_said_once() -> None:
    out = chillplan("season", "--species", "northern red oak").out
    assert "today: all of it has its chill\n" in out
    assert re.search(r"half of it has its chill: \d{1,2} [A-Z][a-z]{2} \d{4};", out)


@pytest.mark.parametrize("today", ["2024-02-29", "2024-07-01", "2024-07-31", "2023-08-02", "2023-12-31"])
def test_every_day_of_a_leap_season_is_answered(tmp_path: Path, today: str) -> None:
    where = ("--weather", written_record(tmp_path, last="2024-12-31"), "--latitude", 44, "--longitude", -72)
    answer = chillplan("season", *where, "--species", "American plum", "--species", "smooth sumac", "--today", today)
    assert answer.code == 0, answer.err
    said = " ".join(answer.out.split())
    assert ("today: not sown yet" in said) == (today == "2023-08-02")


def test_on_the_first_day_of_a_season_nothing_is_known_of_it(tmp_path: Path) -> None:
    where = ("--weather", written_record(tmp_path), "--latitude", 44, "--longitude", -72)
    answer = chillplan("season", *where, "--species", "pawpaw", "--today", "2010-08-01")
    assert (answer.code, answer.out) == (3, "")
    assert "this season begins today, 2010-08-01" in answer.err


def test_seed_that_would_not_come_up_is_not_to_be_sown(tmp_path: Path) -> None:
    where = ("--weather", written_record(tmp_path, last="2012-02-10"), "--latitude", 44, "--longitude", -72)
    asked = ("--species", "black hawthorn", "--today", "2012-02-11")
    late = " ".join(chillplan("season", *where, *asked, "--sown", "2012-05-10").out.split())
    assert "today: not sown yet" in late and "Do not sow it on 10 May 2012" in late
    assert "Leave it where it lies" not in late
    sown = " ".join(chillplan("season", *where, *asked, "--sown", "2011-11-01").out.split())
    assert "today: not sown yet" not in sown and "Do not sow" not in sown
