"""``chillplan weather`` and planning from coordinates alone, against a source on loopback."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest

from tests.cli.command import chillplan
from tests.weather.made_weather import daily_frame
from tests.weather.source_server import Source

PLACE = ("--latitude", "44.01", "--longitude", "-72.01", "--elevation", "150")


def test_find_ranks_stations_and_draws_them(source: Source, tmp_path: Path) -> None:
    answer = chillplan("weather", "find", *PLACE, "--format", "json", "--out", tmp_path / "pictures")
    assert answer.code == 0, answer.err
    found = json.loads(answer.out)["stations"]
    assert [row["station"] for row in found] == ["10001", "10002", "10003"]
    assert found[0]["height_difference_m"] == 30.0
    assert [row["expected_error_c"] for row in found] == sorted(row["expected_error_c"] for row in found)
    picture = (tmp_path / "pictures" / "stations.svg").read_text(encoding="utf-8")
    texts = [node.text or "" for node in ElementTree.fromstring(picture).iter() if node.tag.endswith("text")]
    assert any(text.startswith("Valley Farm: ") for text in texts)
    table = chillplan("weather", "find", *PLACE)
    assert "10001 Valley Farm" in table.out
    assert max(map(len, table.out.splitlines())) <= 80
    rows = list(csv.DictReader(io.StringIO(chillplan("weather", "find", *PLACE, "--format", "csv").out)))
    assert rows[0]["name"] == "Valley Farm"


def test_fetch_then_plan_offline(source: Source) -> None:
    fetched = chillplan("weather", "fetch", *PLACE, "--format", "json")
    assert fetched.code == 0, fetched.err
    record = json.loads(fetched.out)
    assert record["station"] == "10001 Valley Farm"
    assert record["coverage"] == 1.0
    assert Path(record["stored"]).is_file()
    source.close()
    words = ("plan", *PLACE, "--species", "common milkweed", "--offline", "--format", "json")
    planned = chillplan(*words)
    assert planned.code == 0, planned.err
    weather = json.loads(planned.out)["weather"]
    assert weather["station"] == "10001 Valley Farm"
    assert weather["height_difference_m"] == pytest.approx(30.0)
    assert json.loads(planned.out)["species"][0]["verdict"]


def test_plan_fetches_what_is_missing(source: Source) -> None:
    answer = chillplan("winter", *PLACE, "--format", "json")
    assert answer.code == 0, answer.err
    assert "Weather: 10001 Valley Farm" in answer.err
    assert source.asked["/daily/2005/10001.csv.gz"] == 1


def test_a_store_that_cannot_be_written_stops_a_fetch_but_not_an_answer(
    source: Source, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    monkeypatch.setenv("CHILLPLAN_DATA", str(tmp_path / "taken"))
    answer = chillplan("winter", *PLACE)
    assert answer.code == 0 and "Not stored: " in " ".join(answer.out.split()), answer.err
    refused = chillplan("weather", "fetch", *PLACE)
    assert refused.code == 2 and "cannot be written" in refused.err


def test_a_station_named_by_its_number_is_fetched_and_wrong_numbers_are_told(source: Source) -> None:
    answer = chillplan("weather", "fetch", "--station", "10001", "--first-year", "soon")
    assert answer.code == 2 and "--first-year 'soon'" in answer.err and not source.asked
    assert json.loads(chillplan("weather", "fetch", "--station", "10001", "--format", "json").out)["days"] > 365


@pytest.mark.parametrize("longitude", ["180", "-180"])
def test_places_at_the_date_line_are_taken(source: Source, longitude: str) -> None:
    answer = chillplan("weather", "find", "--latitude", "-17", "--longitude", longitude)
    assert answer.code == 0, answer.err
    beyond = chillplan("weather", "find", "--latitude", "-17", "--longitude", longitude + ".1")
    assert beyond.code == 2 and "is outside -180 to 180" in beyond.err


def test_a_source_that_is_down_is_exit_4_and_no_answer(source: Source) -> None:
    source.close()
    for words in (("plan", *PLACE, "--species", "common milkweed"), ("weather", "find", *PLACE)):
        answer = chillplan(*words)
        assert answer.code == 4
        assert answer.out == ""
        assert "could not be fetched from http://127.0.0.1" in answer.err
        assert "Traceback" not in answer.err


def test_offline_with_nothing_stored_is_exit_4(source: Source) -> None:
    answer = chillplan("plan", *PLACE, "--species", "common milkweed", "--offline")
    assert answer.code == 4
    assert "--offline was given" in answer.err
    assert not source.asked


def test_a_folder_that_cannot_be_written_is_exit_2(source: Source, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    answer = chillplan("weather", "find", *PLACE, "--out", tmp_path / "file")
    assert answer.code == 2
    assert "cannot be written" in answer.err


def test_check_names_the_days_and_changes_nothing(tmp_path: Path) -> None:
    frame = daily_frame()
    frame.loc[1000, "tmax"] = 57.0
    frame.loc[2000:2003, "tmin"] = None
    path = tmp_path / "farm.csv"
    frame.to_csv(path, index=False)
    before = path.read_bytes()
    (record,) = json.loads(chillplan("weather", "check", "--weather", path, "--format", "json").out)["records"]
    assert record["missing"] == {"tmin": 4, "tmax": 0}
    assert record["longest_gap"] == 4
    assert [finding["days"][0][0] for finding in record["findings"]] == ["2002-09-27"]
    assert record["held_out"]["tmin"]["days"] > 300
    table = chillplan("weather", "check", "--weather", path)
    assert "2002-09-27 (57.0)" in table.out
    assert "Nothing was changed" in table.out
    assert max(map(len, table.out.splitlines())) <= 80
    assert path.read_bytes() == before


def test_check_fills_from_neighbours_of_the_same_file(tmp_path: Path) -> None:
    first = daily_frame().assign(station="Low", latitude=44.0, longitude=-72.0, elevation_m=100.0)
    second = first.assign(station="High", latitude=44.2, elevation_m=500.0, tmin=first.tmin - 2, tmax=first.tmax - 3)
    path = tmp_path / "two.parquet"
    pd.concat([first, second]).to_parquet(path)
    answer = chillplan("weather", "check", "--weather", path, "--station", "Low", "--format", "json")
    (record,) = json.loads(answer.out)["records"]
    assert record["filled_by"] == "filled from neighbours"
    assert record["held_out"]["tmax"]["error_c"] < 0.2


def test_tie_is_fitted_written_and_used(tmp_path: Path) -> None:
    frame = daily_frame()
    frame.to_csv(tmp_path / "station.csv", index=False)
    own = frame[(frame.date >= "2005-01-01") & (frame.date <= "2005-12-31")]
    own.assign(tmin=own.tmin - 3.0).to_csv(tmp_path / "own.csv", index=False)
    site = tmp_path / "hillside.toml"
    site.write_text('# my field\nname = "hillside"\nlatitude = 44.0\nlongitude = -72.0\n')
    words = ("--site", site, "--weather", tmp_path / "station.csv", "--readings", tmp_path / "own.csv")
    answer = chillplan("weather", "tie", *words, "--write", "--format", "json")
    assert answer.code == 0, answer.err
    tie = json.loads(answer.out)
    assert tie["tie"]["tmin_mean"] == pytest.approx(-3.0, abs=0.1)
    assert tie["error_after"]["tmin"] < 0.2
    assert site.read_text().startswith("# my field")
    again = chillplan("weather", "tie", *words)
    assert "-3.0 °C" in again.out
    with_tie = json.loads(chillplan("winter", "--site", site, "--weather", words[3], "--format", "json").out)
    plain = tmp_path / "plain.toml"
    plain.write_text("latitude = 44.0\nlongitude = -72.0\n")
    without = json.loads(chillplan("winter", "--site", plain, "--weather", words[3], "--format", "json").out)
    key = "cold_days_at_or_below_5c"
    assert with_tie["winter"][key]["p50"] > without["winter"][key]["p50"]


def test_the_height_of_a_silent_station_can_be_given(tmp_path: Path) -> None:
    daily_frame().to_csv(tmp_path / "station.csv", index=False)
    words = ("winter", "--weather", tmp_path / "station.csv", *PLACE, "--format", "json")
    silent = json.loads(chillplan(*words).out)
    told = json.loads(chillplan(*words, "--station-elevation", "650").out)
    assert any("pass --station-elevation" in note for note in silent["weather"]["notes"])
    assert told["weather"]["height_difference_m"] == -500
    key = "cold_days_at_or_below_5c"
    assert told["winter"][key]["p50"] < silent["winter"][key]["p50"]
    assert chillplan(*words, "--station-elevation", "high").code == 2


@pytest.mark.parametrize(
    ("latitude", "longitude", "southern"),
    [("69.6", "18.9", False), ("-43.9", "-176.5", True), ("-44.5", "169.0", True)],
)
def test_far_places_and_a_record_that_ends_today(tmp_path: Path, latitude: str, longitude: str, southern: bool) -> None:
    """Polar day, 13 hours ahead of Greenwich, and the south; the record begins on a leap day and ends today."""
    daily_frame("2000-02-29", "2026-11-25", southern=southern).to_csv(tmp_path / "farm.csv", index=False)
    words = ("--weather", tmp_path / "farm.csv", "--latitude", latitude, "--longitude", longitude)
    answer = chillplan("plan", *words, "--today", "2026-11-25", "--species", "common milkweed", "--format", "json")
    assert answer.code == 0, answer.err
    plan = json.loads(answer.out)
    assert plan["weather"]["last"] == "2026-11-25"
    assert plan["weather"]["winters"] == (25 if southern else 26)
    frosts = [row["last_spring_frost"] for row in plan["winter"]["by_season"]]
    months = {int(date[5:7]) for date in frosts if date}
    assert months <= ({9, 10, 11} if southern else {3, 4, 5, 6})
    assert len(plan["tasks"]) > 0


def test_a_logger_of_the_hillside_ties_too(tmp_path: Path) -> None:
    frame = daily_frame("2005-01-01", "2006-12-31")
    frame.to_csv(tmp_path / "station.csv", index=False)
    # The first and the last day are not whole: their extremes are not those of a day.
    hours = pd.date_range("2005-03-31 10:00", "2005-07-01 08:00", freq="h")
    by_day = frame.set_index("date").loc["2005-03-31":"2005-07-01"].reindex(hours.normalize())
    share = (1 - np.cos(2 * np.pi * (hours.hour.to_numpy() - 4) / 24)) / 2
    curve = by_day["tmin"].to_numpy() * (1 - share) + by_day["tmax"].to_numpy() * share
    logger = pd.DataFrame({"Date Time": hours.strftime("%Y-%m-%d %H:%M"), "Temp (°C)": (curve - 2.0).round(2)})
    logger.to_csv(tmp_path / "logger.csv", index=False)
    site = tmp_path / "hillside.toml"
    site.write_text("latitude = 44.0\nlongitude = -72.0\n")
    words = ("--site", site, "--weather", tmp_path / "station.csv", "--readings", tmp_path / "logger.csv")
    answer = chillplan("weather", "tie", *words, "--format", "json")
    assert answer.code == 0, answer.err
    tie = json.loads(answer.out)
    assert tie["days"] == 91
    assert tie["error_after"]["tmin"] < 0.3 < tie["error_before"]["tmin"]
    (tmp_path / "letter.csv").write_text("Dear grower,\n")
    bad = chillplan("weather", "tie", *words[:-1], tmp_path / "letter.csv")
    assert bad.code == 2
    assert "is not a weather file" in bad.err


def test_a_gridded_file_is_planned_from(tmp_path: Path) -> None:
    import xarray

    frame = daily_frame()
    axes = ("time", "lat", "lon")
    values = {
        name: (axes, np.tile(frame[column].to_numpy()[:, None, None] + 273.15, (1, 2, 2)), {"units": "K"})
        for name, column in (("tasmin", "tmin"), ("tasmax", "tmax"))
    }
    grid = xarray.Dataset(values, coords={"time": frame.date, "lat": [44.0, 44.5], "lon": [-72.5, -72.0]})
    grid.to_netcdf(tmp_path / "grid.nc")
    answer = chillplan("winter", "--weather", tmp_path / "grid.nc", *PLACE, "--format", "json")
    assert answer.code == 0, answer.err
    assert json.loads(answer.out)["weather"]["source"] == "gridded file, nearest cell"
    between = chillplan("winter", "--weather", tmp_path / "grid.nc", *PLACE, "--between-cells", "--format", "json")
    assert json.loads(between.out)["weather"]["source"] == "gridded file, between four cells"
    nowhere = chillplan("winter", "--weather", tmp_path / "grid.nc")
    assert nowhere.code == 2
    assert "pass --latitude and --longitude" in nowhere.err


def test_a_station_is_fetched_by_its_name_alone(source: Source) -> None:
    answer = chillplan("weather", "fetch", "--station", "10003", "--format", "json")
    assert answer.code == 0, answer.err
    assert json.loads(answer.out)["station"] == "10003 Far Town"
    assert chillplan("weather", "fetch", "--station", "nowhere").code == 2


def test_the_settings_of_the_library_work_from_outside(source: Source, own_store: Path) -> None:
    """Another process, told where the source is by the library's own environment variables."""
    settings = {
        "MS_DAILY_ENDPOINT": source.address + "/daily/{year}/{station}.csv.gz",
        "MS_STATIONS_DB_ENDPOINTS": json.dumps([source.address + "/stations.db"]),
        "MS_NETWORK_MAX_RETRIES": "0",
        "CHILLPLAN_DATA": str(own_store),
    }
    words = [sys.executable, "-m", "chillplan", "weather", "fetch", *PLACE, "--first-year", "2009", "--format", "json"]
    done = subprocess.run(
        words, env={**os.environ, **settings}, capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    assert (record["first"], record["last"]) == ("2009-01-01", "2012-12-31")
    assert Path(record["stored"]).parent.parent == own_store
    assert "Traceback" not in done.stderr


def test_a_plan_says_that_days_look_wrong(tmp_path: Path) -> None:
    frame = daily_frame()
    frame.loc[1000, "tmax"] = 57.0
    frame.to_csv(tmp_path / "farm.csv", index=False)
    words = ("winter", "--weather", tmp_path / "farm.csv", *PLACE, "--format", "json")
    notes = json.loads(chillplan(*words).out)["weather"]["notes"]
    assert any(note.startswith("1 day looks wrong (2002-09-27); nothing was changed") for note in notes)


def test_terrain_is_an_explicit_choice(tmp_path: Path) -> None:
    daily_frame().to_csv(tmp_path / "station.csv", index=False)
    words = ("winter", "--weather", tmp_path / "station.csv", *PLACE, "--format", "json")
    answers = {
        name: json.loads(chillplan(*words, "--terrain", name).out) for name in ("valley floor", "slope", "crest")
    }
    assert [answer["site"]["terrain"] for answer in answers.values()] == list(answers)
    frosts = [answer["winter"]["last_spring_frost"]["p50"] for answer in answers.values()]
    assert frosts == sorted(frosts, reverse=True)
    assert frosts[0] > frosts[2]
    assert json.loads(chillplan(*words).out)["winter"] == answers["slope"]["winter"]
    assert "use valley floor, slope or crest" in chillplan(*words, "--terrain", "bog").err
