"""The seed zone at a real place, as recorded: no change of an equation or a starting value goes unseen.

The values were made by the model itself, so they say nothing of its truth, which tests/test_a_real_record.py and
tests/observations hold against thermometers. After a change that is meant: ``CHILLPLAN_WRITE_RECORDED=1``.
"""

from __future__ import annotations

import csv
import os
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from chillplan.data_files import data_path
from chillplan.physics.parameters import WITH_PRECIPITATION, WITHOUT_PRECIPITATION, Parameters
from chillplan.physics.seed_zone import SeedZone, seed_zone

HERE = Path(__file__).parent
RECORD = HERE.parent / "ithaca_2019_2022.csv"
KEPT = HERE / "recorded.csv"
FITTED = HERE.parents[1] / "examples" / "seed_zone_model" / "folds.csv"
DAYS = (0, 1, 5, *range(15, 1260, 25))
CASES: dict[str, dict[str, Any]] = {
    "rain": {"depth_cm": 5.0},
    "no rain": {"depth_cm": 5.0, "elevation": 1200.0},
    "slope in shade under mulch": {
        "depth_cm": 10.0,
        "slope": 20.0,
        "aspect": 210.0,
        "cover": "leaf mulch",
        "shade": 0.3,
    },
    "snow seen, bare": {"depth_cm": 2.0, "cover": "bare"},
    "from July on, hard frost without snow": {"depth_cm": 5.0, "cover": "bare"},
    "in the south, colder and wetter": {
        "latitude": -42.44,
        "mean_annual_temperature": 5.0,
        "aridity": 1.6,
    },
}


def answer(case: str) -> SeedZone:
    record = pd.read_csv(RECORD, comment="#", parse_dates=["date"])
    if case.startswith("from July"):
        record = record.iloc[190:].reset_index(drop=True)
        record[["tmin_c", "tmax_c"]] -= 8.0
        record.loc[record["tmin_c"] < 0.0, "precipitation_mm"] = 0.0
    options = {"latitude": 42.44, "day_of_year": record["date"].dt.dayofyear.to_numpy(), **CASES[case]}
    if case != "no rain":
        options["precipitation"] = record["precipitation_mm"].to_numpy()
    if case.startswith("snow seen"):
        options["snow_depth"] = np.where(record["tmax_c"] < 0.0, 120.0, np.nan)
    return seed_zone(record["tmin_c"].to_numpy(), record["tmax_c"].to_numpy(), **options)


def numbers(case: str) -> np.ndarray[Any, Any]:
    found = answer(case)
    columns = (found.temperature, found.moisture, found.snow_depth, found.ground_minimum)
    return np.stack([np.asarray(column, dtype=float)[list(DAYS)] for column in columns], axis=1)


if os.environ.get("CHILLPLAN_WRITE_RECORDED"):
    with KEPT.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("case", "day", "temperature", "moisture", "snow_depth", "ground_minimum"))
        for name in CASES:
            for day, row in zip(DAYS, numbers(name), strict=True):
                writer.writerow((name, day, *(f"{value:.5f}" for value in row)))


@pytest.mark.parametrize("case", CASES)
def test_the_seed_zone_is_as_recorded(case: str) -> None:
    with KEPT.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["case"] == case]
    assert tuple(int(row["day"]) for row in rows) == DAYS
    kept = [[float(row[name]) for name in ("temperature", "moisture", "snow_depth", "ground_minimum")] for row in rows]
    np.testing.assert_allclose(numbers(case), kept, atol=1e-4, rtol=1e-4)


def test_the_shipped_parameters_are_those_of_the_table_and_of_the_fit() -> None:
    names = [field.name for field in fields(Parameters)]
    with data_path("seed_zone_parameters.csv").open(encoding="utf-8", newline="") as file:
        table = {row["name"]: row for row in csv.DictReader(file)}
    assert list(table) == names
    with FITTED.open(encoding="utf-8", newline="") as file:
        fitted = {row["set"]: row for row in csv.DictReader(file) if row["group"] == "-1"}
    for kind, shipped in (("with", WITH_PRECIPITATION), ("without", WITHOUT_PRECIPITATION)):
        for name in names:
            value = getattr(shipped, name)
            assert float(table[name][f"{kind}_precipitation"]) == pytest.approx(value, rel=1e-3)
            assert float(fitted[kind][name]) == pytest.approx(value, rel=1e-3)
            if table[name][f"fitted_{kind}"] == "yes":
                assert float(table[name]["low"]) <= value <= float(table[name]["high"])
