"""The soil check from the command line: the three formats, what it refuses, and what it writes."""

import json
import re
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from chillplan.cli.soilcheck_command import _draw, _keep
from chillplan.physics.parameters import COVER_TABLE
from tests.cli.command import chillplan
from tests.seasons.test_calibrate import TRUTH, made


@pytest.fixture(scope="module")
def record(tmp_path_factory):
    station = made("garden", TRUTH, days=1100)
    table = pd.DataFrame(
        {
            "date": station.dates,
            "tmin": station.tmin.round(1),
            "tmax": station.tmax.round(1),
            "precipitation_mm": station.precipitation.round(1),
            "soil_temp_5cm_c": station.soil.round(1),
        }
    )
    path = tmp_path_factory.mktemp("soil") / "garden.csv"
    table.to_csv(path, index=False)
    return path


PLACE = ("--latitude", "45", "--longitude", "-70")


def test_json_keeps_the_contract(record):
    answer = chillplan("soilcheck", "--weather", record, *PLACE, "--format", "json")
    assert answer.code == 0, answer.err
    found = json.loads(answer.out)
    assert {"stations", "median_rmse_c", "mean_rmse_c", "p90_rmse_c", "chill_mae_days", "agreement"} <= set(found)
    row = found["stations"][0]
    assert {"station", "days", "rmse_c", "bias_c", "chill_mae_days", "agreement"} <= set(row)
    assert row["days"] == 1100
    assert row["lag_days"] == 0
    assert row["precipitation_used"] is True
    assert [each["cover"] for each in row["covers"]["tried"]] == [cover.name for cover in COVER_TABLE]
    for figures in (found, row):
        assert figures["chill_mae_days"] != figures["cold_edge"]["chill_mae_days"] >= 0
        assert 0 <= figures["cold_edge"]["agreement"] <= 1
    dry = chillplan("soilcheck", "--weather", record, *PLACE, "--format", "json", "--ignore-precipitation")
    assert json.loads(dry.out)["stations"][0]["precipitation_used"] is False


def test_table_and_csv(record):
    table = chillplan("soilcheck", "--weather", record, *PLACE)
    assert table.code == 0, table.err
    assert "at 5 cm, with precipitation" in table.out
    words = " ".join(table.out.split())
    assert "best lag (days)" in words
    assert "winters chill to -5 agree lag" in words
    assert "it may as well count down to -5 °C (1 from 0), and the chill error is given for both" in words
    assert max(map(len, table.out.splitlines())) <= 80
    rows = chillplan("soilcheck", "--weather", record, *PLACE, "--format", "csv").out.splitlines()
    assert rows[0].startswith("station,days,rmse_c,bias_c,chill_mae_days,agreement")
    assert len(rows) == 2


def test_calibration_is_written_into_the_site_file_and_then_used(record, tmp_path):
    site = tmp_path / "site.toml"
    site.write_text('# my slope\nname = "slope"\nlatitude = 45.0\nlongitude = -70.0\n', encoding="utf-8")
    words = ("soilcheck", "--weather", record, "--site", site, "--format", "json")
    first = json.loads(chillplan(*words, "--calibrate").out)
    tuned = first["calibrated"]
    assert tuned["after"]["median_rmse_c"] < 0.6 * tuned["before"]["median_rmse_c"]
    text = site.read_text(encoding="utf-8")
    assert text.startswith("# my slope")
    assert re.search(r"\[calibration\]\nshift = ", text)
    values = re.findall(r"= (-?\d+(?:\.\d+)?)$", text.partition("[calibration]")[2], re.MULTILINE)
    assert len(values) > 3 and all(len(value.partition(".")[2]) <= 4 for value in values), "a thermometer says no more"
    again = json.loads(chillplan(*words).out)
    assert again["median_rmse_c"] < 0.6 * first["median_rmse_c"]


@pytest.mark.parametrize(("after", "told"), [(11.3, True), (4.5, False), (float("nan"), False)])
def test_a_calibration_that_spoils_the_chill_is_told(after: float, told: bool) -> None:
    said: list[str] = []
    fit = SimpleNamespace(
        parameters={"shift": 0.1},
        before=SimpleNamespace(chill=SimpleNamespace(error=4.1)),
        after=SimpleNamespace(chill=SimpleNamespace(error=after)),
    )
    _keep(None, [fit], [SimpleNamespace(station=SimpleNamespace(name="slope"))], said.append)  # type: ignore[list-item]
    assert any("makes the chill of a winter worse, 4 to 11 days off" in line for line in said) == told
    assert any("shift = 0.1000" in line for line in said)


def test_what_becomes_of_each_calibration_is_told() -> None:
    chill = SimpleNamespace(chill=SimpleNamespace(error=3.0))
    fit = SimpleNamespace(parameters={"shift": 0.12345}, before=chill, after=chill)
    beds = [SimpleNamespace(station=SimpleNamespace(name=name)) for name in ("bed", "slope", "short")]

    def told(*fits: object) -> list[str]:
        said: list[str] = []
        _keep(None, list(fits), beds[: len(fits)], said.append)  # type: ignore[arg-type]
        return said

    short = "fewer than 60 good soil values, not calibrated"
    several = "several stations were calibrated, so no site file was written: pass --station and --site for one"
    assert told(None) == [f"bed: {short}"]
    assert told(fit, fit, None) == [f"short: {short}", several]
    assert told(None, fit) == [
        f"bed: {short}",
        "no site file was given; to use the calibration, put this into one:\n[calibration]\nshift = 0.1235",
    ]


@pytest.mark.parametrize(
    ("asked", "south", "calibrated", "title", "first"),
    [
        (None, False, False, "my bed/1: ground in winter 2016/17", date(2016, 9, 1)),
        (2015, False, True, "my bed/1: ground in winter 2015/16, calibrated", date(2015, 9, 1)),
        (2015, True, False, "my bed/1: ground in winter 2015/16", date(2015, 3, 1)),
    ],
)
def test_a_picture_shows_the_winter_asked_for_with_its_days_and_its_model(
    tmp_path, monkeypatch, asked, south, calibrated, title, first
):
    station = replace(made("my bed/1", TRUTH, days=1100), latitude=-45.0 if south else 45.0)
    drawn = []
    monkeypatch.setattr("chillplan.report.soilcheck.winter_picture", lambda *given: drawn.append(given) or "picture")
    one = SimpleNamespace(station=station, model=station.soil + 1.0)
    fit = SimpleNamespace(model=station.soil + 2.0) if calibrated else None
    said: list[str] = []
    _draw(tmp_path / "new" / "folder", [one], [fit], asked, said.append)
    ((told_title, begin, air, model, soil),) = drawn
    assert (told_title, begin) == (title, first)
    days = slice((first - date(2015, 1, 1)).days, (first.replace(year=first.year + 1) - date(2015, 1, 1)).days)
    assert len(air) == len(model) == len(soil) in range(270, 277)
    assert np.array_equal(soil, station.soil[days][: len(soil)])
    assert np.array_equal(air, ((station.tmin + station.tmax) / 2)[days][: len(soil)])
    assert np.allclose(model - soil, 2.0 if calibrated else 1.0)
    path = tmp_path / "new" / "folder" / f"soil_my_bed_1_{first.year}.svg"
    assert path.read_text(encoding="utf-8") == "picture" and said == [f"picture written: {path}"]


def test_a_record_without_a_whole_winter_is_not_drawn(tmp_path):
    station = made("bed", TRUTH, days=200)
    said: list[str] = []
    _draw(tmp_path, [SimpleNamespace(station=station, model=station.soil)], [None], 2015, said.append)
    assert said == ["bed: no whole winter of soil values, no picture"] and not list(tmp_path.iterdir())


def test_a_picture_is_written(record, tmp_path):
    answer = chillplan("soilcheck", "--weather", record, *PLACE, "--out", tmp_path / "pictures")
    assert answer.code == 0, answer.err
    pictures = list((tmp_path / "pictures").glob("*.svg"))
    assert len(pictures) == 1
    text = pictures[0].read_text(encoding="utf-8")
    assert "http://www.w3.org/2000/svg" in text
    assert text.count("<path") == 3
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    answer = chillplan("soilcheck", "--weather", record, *PLACE, "--out", tmp_path / "taken", "--season", "1990")
    assert answer.code == 2
    assert "cannot be written" in answer.err


def test_faults_are_named(record, tmp_path):
    table = pd.read_csv(record)
    late = table.assign(soil_temp_5cm_c=table["soil_temp_5cm_c"].shift(1))
    late.loc[500:560, "soil_temp_5cm_c"] = 12.5
    late.to_csv(tmp_path / "late.csv", index=False)
    answer = chillplan("soilcheck", "--weather", tmp_path / "late.csv", *PLACE)
    words = " ".join(answer.out.split())
    assert "the soil record fits the air best when dated 1 day earlier" in words
    assert "61 soil values in runs of 20 or more equal days (a stuck sensor)" in words
    hot = table.assign(soil_temp_5cm_c=table["soil_temp_5cm_c"] * 1.8 + 32)
    hot.to_csv(tmp_path / "hot.csv", index=False)
    answer = chillplan("soilcheck", "--weather", tmp_path / "hot.csv", *PLACE)
    assert answer.code == 2
    assert "fit the model only as degrees fahrenheit: convert them" in answer.err
    table.assign(precipitation_mm=table["precipitation_mm"].where(table.index % 100 > 0)).to_csv(tmp_path / "dry.csv")
    answer = chillplan("soilcheck", "--weather", tmp_path / "dry.csv", *PLACE)
    words = " ".join(answer.out.split())
    assert "Precipitation is missing on 11 days: guessed there from the daily range" in words


def test_bad_input_is_told_at_once(record, tmp_path):
    answer = chillplan("soilcheck", "--weather", record, "--depth", "99", "--format", "xml", *PLACE)
    assert answer.code == 2
    assert "--depth '99' is outside 0.5 to 20" in answer.err
    assert "--format 'xml' is not known" in answer.err
    air = pd.read_csv(record)[["date", "tmin", "tmax"]]
    air.to_csv(tmp_path / "air.csv", index=False)
    answer = chillplan("soilcheck", "--weather", tmp_path / "air.csv", *PLACE)
    assert answer.code == 2
    assert "no soil temperature" in answer.err
    answer = chillplan("soilcheck", "--weather", record, "--depth", "10", *PLACE)
    assert answer.code == 2
    assert "no soil temperature at 10 cm" in answer.err
    assert np.isfinite(chillplan("soilcheck").code)


@pytest.mark.parametrize(
    ("shift", "said"),
    [
        (2, "the soil record fits the air best when dated 2 days earlier"),
        (-1, "the air record fits the soil best when dated 1 day earlier"),
        (0, ""),
    ],
)
def test_a_soil_record_dated_late_or_early_is_told_with_its_days(record, tmp_path, shift, said):
    table = pd.read_csv(record)
    table["soil_temp_5cm_c"] = table["soil_temp_5cm_c"].shift(shift)
    table.to_csv(tmp_path / "moved.csv", index=False)
    answer = chillplan("soilcheck", "--weather", tmp_path / "moved.csv", *PLACE)
    assert answer.code == 0, answer.err
    words = " ".join(answer.out.split())
    assert ("when dated" in words) == bool(said) and said in words
    assert f" {shift:+d} " in words if shift else "+" not in words.partition("lag")[2].partition("Observed")[0]


def test_several_stations_are_summed_up_and_the_days_guessed_are_counted_over_all(record, tmp_path):
    for name, gap in (("one", 5), ("two", 7), ("three", 0)):
        table = pd.read_csv(record)
        table.loc[30 : 30 + gap - 1, "precipitation_mm"] = np.nan
        table.to_csv(tmp_path / f"{name}.csv", index=False)
    answer = chillplan("soilcheck", "--weather", tmp_path, *PLACE)
    assert answer.code == 0, answer.err
    words = " ".join(answer.out.split())
    assert "All stations: median error " in words
    assert "Precipitation is missing on 12 days at 2 of 3 stations: guessed there from the daily range." in words
    alone = chillplan("soilcheck", "--weather", tmp_path / "one.csv", *PLACE)
    assert "Precipitation is missing on 5 days: guessed" in " ".join(alone.out.split())
    assert "All stations" not in alone.out


def test_a_record_that_says_where_it_is_is_checked_there(record, tmp_path):
    table = pd.read_csv(record).assign(station="garden", latitude=45.0, longitude=-70.0)
    table.to_csv(tmp_path / "placed.csv", index=False)
    error = {
        words: json.loads(chillplan("soilcheck", "--weather", tmp_path / "placed.csv", *words, "--format", "json").out)[
            "median_rmse_c"
        ]
        for words in ((), PLACE, ("--latitude", "62", "--longitude", "-70"))
    }
    assert len(set(error.values())) == 1, error


def test_air_and_soil_of_a_picture_are_daily_means(record, tmp_path):
    """Where the air is by night 3 degrees below the soil and by day 3 above, their lines are one."""
    table = pd.read_csv(record)
    table.assign(tmin=table["soil_temp_5cm_c"] - 3.0, tmax=table["soil_temp_5cm_c"] + 3.0).to_csv(
        tmp_path / "same.csv", index=False
    )
    answer = chillplan("soilcheck", "--weather", tmp_path / "same.csv", *PLACE, "--out", tmp_path / "pictures")
    assert answer.code == 0, answer.err
    (picture,) = (tmp_path / "pictures").glob("*.svg")
    lines = re.findall(r'<path d="([^"]+)"', picture.read_text(encoding="utf-8"))
    assert len(lines) == 3 and len(set(lines)) == 2
