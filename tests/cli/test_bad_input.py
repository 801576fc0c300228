"""Each bad input is one clear sentence and the documented exit code, never a traceback; nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command import Answer, chillplan, written_record
from tests.records import wave_weather

PLACE = ("--latitude", "44", "--longitude", "-72")


def refused(answer: Answer, code: int, *words: str) -> None:
    assert answer.code == code, (answer.code, answer.err)
    assert answer.out == ""
    assert "Traceback" not in answer.err
    for word in words:
        assert word in answer.err, answer.err


def test_no_such_file(tmp_path: Path) -> None:
    refused(chillplan("plan", "--weather", tmp_path / "none.csv", *PLACE), 2, "none.csv")


def test_empty_file(tmp_path: Path) -> None:
    path = tmp_path / "empty.csv"
    path.write_text("")
    refused(chillplan("plan", "--weather", path, *PLACE), 2, "empty")


def test_not_a_weather_file(tmp_path: Path) -> None:
    path = tmp_path / "poem.csv"
    path.write_text("the,quick\nbrown,fox\njumps,over\n")
    refused(chillplan("plan", "--weather", path, *PLACE), 2, "poem.csv")


def test_unlabelled_fahrenheit(tmp_path: Path) -> None:
    path = tmp_path / "hot.csv"
    (wave_weather() * 1.8 + 32.0).round(1).rename_axis("date").to_csv(path)
    refused(chillplan("plan", "--weather", path, *PLACE), 2, "fahrenheit")


def test_kelvin(tmp_path: Path) -> None:
    path = tmp_path / "kelvin.csv"
    (wave_weather() + 273.15).round(1).rename_axis("date").to_csv(path)
    refused(chillplan("plan", "--weather", path, *PLACE), 2, "kelvin")


def test_swapped_columns(tmp_path: Path) -> None:
    path = tmp_path / "swapped.csv"
    wave_weather().rename(columns={"tmin": "tmax", "tmax": "tmin"}).round(1).rename_axis("date").to_csv(path)
    refused(chillplan("plan", "--weather", path, *PLACE), 2, "exchanged")


def test_dates_in_two_formats(tmp_path: Path) -> None:
    path = tmp_path / "dates.csv"
    lines = wave_weather().round(1).rename_axis("date").to_csv().splitlines()
    year, month, day = lines[500].split(",")[0].split("-")
    lines[500] = f"{month}/{day}/{year}," + lines[500].split(",", 1)[1]
    path.write_text("\n".join(lines))
    refused(chillplan("plan", "--weather", path, *PLACE), 2, "date")


def test_contradictory_doubled_dates(tmp_path: Path) -> None:
    path = tmp_path / "doubled.csv"
    lines = wave_weather().round(1).rename_axis("date").to_csv().splitlines()
    lines.insert(500, lines[499].split(",")[0] + ",-3.0,7.0")
    path.write_text("\n".join(lines))
    refused(chillplan("plan", "--weather", path, *PLACE), 2)


def test_two_winters_only(tmp_path: Path) -> None:
    record = written_record(tmp_path, first="2001-08-01", last="2003-07-31")
    refused(chillplan("plan", "--weather", record, *PLACE), 3, "at least 3 are needed")


def test_all_wrong_values_are_told_at_once(tmp_path: Path) -> None:
    answer = chillplan(
        "plan", "--weather", tmp_path / "none.csv", "--latitude", "120", "--longitude", "west", "--accept", "7",
        "--today", "2026-02-31", "--years", "2010-1990", "--units", "stone", "--species", "Zizia aureaa",
    )  # fmt: skip
    refused(answer, 2, "120", "west", "--accept", "2026-02-31", "2010-1990", "stone", "Zizia aurea", "none.csv")


def test_unknown_species_with_near_matches(tmp_path: Path) -> None:
    refused(chillplan("plan", "--species", "wild bergamott"), 2, "wild bergamott", "did you mean wild bergamot")


@pytest.mark.parametrize("day", ["2026-02-31", "31 February", "soon"])
def test_impossible_plant_out_date(day: str) -> None:
    refused(chillplan("plan", "--plant-out", day), 2, "is not a date")


def test_plant_out_date_in_the_past() -> None:
    refused(chillplan("plan", "--plant-out", "2020-05-01", "--today", "2026-09-01"), 2, "is before today")


def test_plant_out_date_outside_the_season() -> None:
    refused(chillplan("plan", "--plant-out", "2028-10-01", "--today", "2026-09-01"), 2, "outside the planting time")


def test_a_list_with_5000_rows(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    path.write_text("name\n" + "Zizia aurea\n" * 5000)
    refused(chillplan("plan", "--list", path), 2, "has 5000 rows, at most 1000")


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "Zizia,\naurea", "x" * 10_000, "=1+1"])
def test_hostile_names_are_quoted_and_cut(name: str) -> None:
    answer = chillplan("plan", "--species", name)
    refused(answer, 2)
    assert len(answer.err) < 1000
    assert answer.err.count("\n") <= 2


def test_southern_latitude_and_odd_site_file(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text('latitude = 120\nlongitude = "east"\nslop = 3\n')
    refused(chillplan("plan", "--site", path, "--weather", written_record(tmp_path)), 2, "slop", "east")


def test_weather_without_coordinates_asks_for_them(tmp_path: Path) -> None:
    refused(chillplan("winter", "--weather", written_record(tmp_path)), 2, "--latitude")


def test_every_fault_of_a_site_file_is_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text('latitude = 95\nlongitude = "west"\nslope = -3\ncover = "moss"\nbogus = 1\n')
    refused(
        chillplan("plan", "--site", path), 2, "latitude 95", "longitude 'west'", "slope -3", "cover 'moss'", "'bogus'"
    )


def test_a_place_that_is_not_said_is_asked_for_whole(tmp_path: Path) -> None:
    refused(chillplan("plan", "--weather", written_record(tmp_path)), 2, "--latitude is missing", "--longitude is")


def test_words_for_cover_and_terrain_are_told_beside_other_faults(tmp_path: Path) -> None:
    given = ("--cover", "moss", "--terrain", "moon", "--slope", "90")
    answer = chillplan("plan", "--weather", written_record(tmp_path), *PLACE, *given)
    refused(answer, 2, "--cover 'moss'", "--terrain 'moon'", "--slope '90'")


@pytest.mark.parametrize(
    "text", ["name;notes\nZizia aurea;1\n", "Zizia aurea\tnew\n", "name,notes\nZizia aurea,a; b\n"]
)
def test_a_seed_list_with_semicolons_or_tabs_is_read(tmp_path: Path, text: str) -> None:
    path = tmp_path / "list.csv"
    path.write_text(text)
    answer = chillplan("plan", "--list", path, "--format", "csv", "--today", "2026-09-01")
    assert answer.code == 0 and answer.out.splitlines()[1].startswith("Zizia aurea,")


@pytest.mark.parametrize(("text", "said"), [("species\n", "is empty"), ("name,notes\n,old seed\n", "names no species")])
def test_a_seed_list_without_a_species(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "list.csv"
    path.write_text(text)
    refused(chillplan("plan", "--list", path), 2, said)


def test_a_season_that_is_over_is_not_planned() -> None:
    refused(chillplan("plan", "--season", "2020", "--today", "2026-09-01"), 2, "season 2020 ended on 2021-07-31")
    assert chillplan("plan", "--season", "2020", "--today", "2021-07-31", "--species", "pawpaw").code == 0
