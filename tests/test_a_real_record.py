"""The main job on a real thermometer, in every clone: three winters of Ithaca, New York, in the public domain.

Diamond, Karl, Palecki and others (2013), Bull. Amer. Meteor. Soc. 94:485-498, describe the network.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd

from chillplan.seasons.cut import cut_seasons
from chillplan.seasons.summary import ground_of
from chillplan.site import Site
from chillplan.weather.read import read_weather
from tests.cli.command import chillplan

RECORD = Path(__file__).parent / "ithaca_2019_2022.csv"
PLACE = ("--weather", RECORD, "--latitude", 42.44, "--longitude", -76.25)


def table() -> pd.DataFrame:
    return pd.read_csv(RECORD, comment="#", parse_dates=["date"], index_col="date")


def test_plan_gives_every_species_a_verdict() -> None:
    answer = chillplan(
        "plan", *PLACE, "--today", "2026-09-01", "--format", "json", "--species", "Eryngium yuccifolium",
        "--species", "Zizia aurea", "--species", "Asimina triloba",
    )  # fmt: skip
    assert answer.code == 0, answer.err
    found = json.loads(answer.out)
    assert found["weather"]["winters"] == 3
    # Common practice, no source: cold-winter natives stratify outdoors in upstate New York.
    assert {one["verdict"] for one in found["species"][:2]} <= {"sow-in-autumn", "either"}
    assert all(one["verdict"] for one in found["species"])


def test_last_frosts_are_those_that_the_record_itself_shows() -> None:
    answer = chillplan("winter", *PLACE, "--format", "json")
    assert answer.code == 0, answer.err
    tmin = table()["tmin_c"]
    last = [
        max(day for day in tmin.index[tmin <= 0.0] if day.year == year and day.month < 8) for year in (2020, 2021, 2022)
    ]
    middle = sorted(day.strftime("%m-%d") for day in last)[1]
    said = json.loads(answer.out)
    assert middle in json.dumps(said), (middle, last)


def test_the_seed_zone_follows_the_thermometer_in_the_soil() -> None:
    """The model scores about 1.5 °C at stations it was not fitted to; a mean of the air alone errs by over 3 °C."""
    (history,) = read_weather([RECORD], latitude=42.44, longitude=-76.25)
    seasons = cut_seasons(history.daily, southern=False)
    ground = ground_of(seasons, Site(42.44, -76.25, depth_cm=5.0))
    measured, air = (
        np.stack([values.reindex(pd.date_range(f"{year}-08-01", periods=365)) for year in seasons.years], axis=1)
        for values in (table()["soil_temp_5cm_c"], history.daily[["tmin", "tmax"]].mean(axis=1))
    )
    assert np.isfinite(measured).mean() > 0.9
    error = {
        name: np.sqrt(np.nanmean((values - measured) ** 2))
        for name, values in (("zone", ground.temperature), ("air", air))
    }
    assert error["zone"] < 2.0
    assert error["zone"] < 0.6 * error["air"]
