"""The main job on real records: every file and folder answers, and the verdicts are those the trade would give."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pandas as pd
import pytest

from tests.cli.command import chillplan
from tests.records import observations

LONG_RECORDS = [
    ("milwaukee_WI_noaa_export_fahrenheit.csv", 42.95, -87.90, 204),
    ("gainesville_FL_ghcnd_tenths.csv", 29.69, -82.27, 38),
    ("seatac_WA.csv", 47.45, -122.31, 113),
    ("cary_millbrook_NY.csv", 41.786, -73.741, 128),
]
NETWORK = "uscrn_soil_development.parquet"


def plan(*words: object) -> dict:
    answer = chillplan("plan", "--today", "2026-09-01", "--format", "json", *words)
    assert answer.code == 0, answer.err
    return json.loads(answer.out)


@pytest.mark.parametrize(("name", "latitude", "longitude", "elevation"), LONG_RECORDS)
def test_plan_and_winter_answer_for_the_long_records(
    name: str, latitude: float, longitude: float, elevation: float
) -> None:
    place = ("--weather", observations() / name, "--latitude", latitude, "--longitude", longitude)
    found = plan(*place, "--elevation", elevation, "--species", "Eryngium yuccifolium", "--species", "smooth sumac")
    assert found["weather"]["winters"] >= 15
    assert [one["verdict"] for one in found["species"]][1] == "sow-in-spring"
    winter = chillplan("winter", *place, "--format", "json")
    assert winter.code == 0, winter.err


def test_missing_rain_in_every_second_winter_is_guessed_counted_and_named(tmp_path: Path) -> None:
    table = pd.read_csv(observations() / LONG_RECORDS[0][0], dtype=str).drop(columns=["SNOW", "SNWD"])
    table = table[table["year"].astype(int).between(1980, 2011)]
    year, month = table["year"].astype(int), table["month"].astype(int)
    chill, days, asked = [], {}, ()
    for blank in (False, True):
        path = tmp_path / f"{blank}.csv"
        # November to March of the winters that begin in an even year.
        gone = blank & month.isin([11, 12, 1, 2, 3]) & ((year - (month <= 3)) % 2 == 0)
        table.assign(PRCP=table["PRCP"].where(~gone)).to_csv(path, index=False, na_rep="NA")
        asked = ("--weather", path, "--latitude", 42.95, "--longitude", -87.90, "--species", "Iris versicolor")
        found = plan(*asked)
        assert found["species"][0]["verdict"] == "either"
        chill.append(found["winter"]["effective_chill"])
        days = found["weather"]["precipitation_guessed_days"]
    assert chill[1]["p50"] == pytest.approx(chill[0]["p50"], abs=15)
    assert chill[1]["p10"] == pytest.approx(chill[0]["p10"], abs=15)
    assert len(days) >= 15 and all(150 <= count <= 152 for count in days.values() if count > 20)
    said = chillplan(
        "plan", "--weather", path, "--latitude", 42.95, "--longitude", -87.90, "--species", "Iris versicolor"
    )
    assert f"Precipitation is missing on {sum(days.values())} days" in " ".join(said.out.split())


def test_plan_answers_for_every_station_of_the_network() -> None:
    path = observations() / NETWORK
    stations = sorted(pd.read_parquet(path, columns=["station"])["station"].unique())
    assert len(stations) == 38
    for station in stations[::4]:
        found = plan("--weather", path, "--station", station, "--species", "Eryngium yuccifolium")
        assert found["species"][0]["winters"] >= 3, station
        assert chillplan("winter", "--weather", path, "--station", station).code == 0


def test_a_folder_of_raw_files_is_asked_for_its_station() -> None:
    folder = observations() / "uscrn_raw"
    answer = chillplan("plan", "--weather", folder)
    assert answer.code == 2
    assert "NY_Ithaca" in answer.err
    found = plan("--weather", folder, "--station", "NY_Ithaca_13_E", "--species", "Zizia aurea")
    assert found["weather"]["winters"] == 3
    assert found["species"][0]["verdict"]


def test_the_frost_that_kills_early_seedlings_is_that_of_the_record(tmp_path: Path) -> None:
    """Sugar maple at Milwaukee, were it hurt at -5 °C: chilled early, up by April, in reach of that frost."""
    own = tmp_path / "own.csv"
    own.write_text("name,seedling_limit_c\nAcer saccharum,-5\n")
    name, latitude, longitude, elevation = LONG_RECORDS[0]
    place = ("--weather", observations() / name, "--latitude", latitude, "--longitude", longitude)
    said = plan(
        *place, "--elevation", elevation, "--years", "1981-2010", "--species", "sugar maple", "--species-file", own
    )
    said = said["species"][0]
    table = pd.read_csv(observations() / name, usecols=["year", "date", "TMIN"], parse_dates=["date"])
    frost = table[(table["TMIN"] <= 23.0) & table["date"].dt.month.between(1, 6) & table["year"].between(1982, 2011)]
    last = frost.groupby("year")["date"].max().dt.day_of_year
    middle, late = (pd.Timestamp("2001-01-01") + pd.Timedelta(days=last.quantile(q) - 1) for q in (0.5, 0.9))
    words = re.search(
        r"-5 °C at the seedling comes until (.+) in a median winter, until (.+) in one of ten", said["reason"]
    )
    assert words is not None, said["reason"]
    for stated, of_record in zip(words.groups(), (middle, late), strict=True):
        # Snow keeps the worst from a seedling, and ranks are interpolated otherwise.
        assert abs(pd.Timestamp(f"{stated} 2001") - of_record) <= pd.Timedelta(days=3)


# From memory and common practice, no single source: cold-winter natives stratify outdoors in upstate New York, the Gulf
# coast has too little winter for a requirement of two months or more.
@pytest.mark.parametrize("species", ["Eryngium yuccifolium", "Zizia aurea", "Iris versicolor"])
def test_new_york_chills_outdoors_and_the_gulf_coast_does_not(species: str) -> None:
    path = observations() / NETWORK
    north = plan("--weather", path, "--station", "NY_Ithaca_13_E", "--species", species)["species"][0]
    south = plan("--weather", path, "--station", "AL_Fairhope_3_NE", "--species", species)["species"][0]
    assert north["verdict"] in {"sow-in-autumn", "either"}
    assert south["verdict"] == "chill-in-fridge"
