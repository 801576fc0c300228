"""The seed zone on real thermometers, each station with parameters that were fitted without it."""

from __future__ import annotations

import csv
import importlib.util
import itertools
import json
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from chillplan.physics.model_error import model_error
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.physics.seed_zone import seed_zone
from tests.cli.command import chillplan
from tests.records import observations

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "seed_zone_model"


@pytest.fixture(scope="module")
def example() -> ModuleType:
    observations()
    sys.path.insert(0, str(FOLDER))
    try:
        spec = importlib.util.spec_from_file_location("seed_zone_scores", FOLDER / "scores.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    finally:
        sys.path.remove(str(FOLDER))
    return module


# The limits are the figures reached at left-out stations, rounded up.
@pytest.mark.parametrize(
    ("kind", "median", "mean", "ninety", "chill", "agreement"),
    [("with", 1.43, 1.57, 2.4, 11.2, 0.945), ("without", 1.7, 1.82, 2.7, 13.0, 0.94)],
)
def test_left_out_stations(example, kind, median, mean, ninety, chill, agreement) -> None:
    records = example.read_records()
    model = example.left_out(records, kind)[0]
    found = example.scores(records, model, records.soil)
    assert found["median_rmse_c"] <= median
    assert found["mean_rmse_c"] <= mean
    assert found["p90_rmse_c"] <= ninety
    assert found["chill_mae_days"] <= chill
    assert found["agreement"] >= agreement
    table = example.chances(records, model, model_error(kind == "with").together)
    likely = next(row for row in table if row[0] == 0.7)
    assert likely[2] > 300
    assert 0.7 <= likely[4] <= 0.9


def test_the_search_falls_and_stays_within_the_ranges(example) -> None:
    fitter, records = sys.modules["fit"], example.read_records()
    fit = fitter.Fit(example.Runner(records, True), np.array([3, 20]), True, *fitter.VIEWS[0])
    points = list(itertools.islice(fit.search(), 4))
    assert len(points) == 4
    totals = [point.total for point in points]
    assert totals == sorted(totals, reverse=True)
    assert totals[-1] < 0.7 * totals[0]
    assert all(((point.x > 0) & (point.x < 1)).all() for point in points)
    assert set(points[-1].rmse.nonzero()[0]) == {3, 20}


def test_a_stopped_fit_goes_on_with_what_it_found(example, tmp_path, monkeypatch) -> None:
    fitter, records = sys.modules["fit"], example.read_records()
    monkeypatch.setattr(fitter, "HERE", tmp_path)
    monkeypatch.setattr(fitter, "FOLDS", tmp_path / "folds.csv")
    values = ["1"] * len(example.NAMES)
    fitter.Progress("with", records).add(-1, values)
    again = fitter.Progress("with", records)
    assert again.rows == {-1: values}
    again.finish()
    with (tmp_path / "folds.csv").open(encoding="utf-8", newline="") as file:
        assert [row["group"] for row in csv.DictReader(file)] == ["-1"]
    assert fitter.Progress("with", records).rows == {}
    fitter.Progress("with", records).add(0, values)
    assert fitter.Progress("with", replace(records, soil=records.soil + 1)).rows == {}


def test_the_example_runs_the_model_of_the_package(example) -> None:
    records = example.read_records()
    chosen = np.array([0, 17, 37])
    low, high, water = (
        series[chosen].T.astype(np.float32) for series in (records.tmin, records.tmax, records.precipitation)
    )
    zone = seed_zone(
        low,
        high,
        day_of_year=records.day_of_year,
        latitude=records.latitude[chosen],
        precipitation=water,
        depth_cm=5.0,
    )
    own = example.Runner(records, True)(WITH_PRECIPITATION, chosen)[0]
    # The package sums the long-term means of the climate in single precision here, the example in double.
    assert np.abs(own - zone.temperature.T).max() < 0.01


def test_soilcheck_answers_for_the_network_and_for_raw_files() -> None:
    folder = observations()
    answer = chillplan("soilcheck", "--weather", folder / "uscrn_soil_development.parquet", "--format", "json")
    assert answer.code == 0, answer.err
    found = json.loads(answer.out)
    assert len(found["stations"]) == 38
    assert found["median_rmse_c"] < 1.4
    assert sum(row["covers"]["suggested"] is not None for row in found["stations"]) <= 3  # all are in short grass
    raw = chillplan("soilcheck", "--weather", folder / "uscrn_raw", "--format", "json", "--ignore-precipitation")
    assert raw.code == 0, raw.err
    rows = json.loads(raw.out)["stations"]
    assert [row["station"] for row in rows] == ["AR_Batesville_8_WNW", "NY_Ithaca_13_E"]
    assert all(row["rmse_c"] < 2 and row["lag_days"] == 0 and not row["precipitation_used"] for row in rows)


def test_soilcheck_suggests_the_cover_that_the_ground_acts_like() -> None:
    """A coast whose grass is dry in summer acts like bare ground, a mown field in Michigan like what it is."""
    weather = observations() / "uscrn_soil_development_2.parquet"
    answer = chillplan("soilcheck", "--weather", weather, "--station", "CA_Santa_Barbara_11_W", "--format", "json")
    covers = json.loads(answer.out)["stations"][0]["covers"]
    tried = {each["cover"]: each["rmse_c"] for each in covers["tried"]}
    assert (covers["stated"], covers["suggested"]) == ("short grass", "bare")
    assert min(tried.values()) == tried["bare"] < tried["short grass"] - covers["clearly_better_c"]
    table = chillplan("soilcheck", "--weather", weather, "--station", "NC_Asheville_13_S")
    words = " ".join(table.out.split())
    assert "no cover fits clearly better (by 0.5 °C) than short grass, the cover stated: error 1.08 °C; bare" in words
    told = chillplan("soilcheck", "--weather", weather, "--station", "NC_Asheville_13_S", "--cover", "straw mulch")
    assert "fits clearly better than straw mulch, the cover stated" in " ".join(told.out.split())


def test_seed_that_never_dried_in_the_cold_would_bring_chill_no_nearer(example, monkeypatch) -> None:
    """The moisture rule is kept as it is: sensors in cold ground find dry days too, more of them than the model."""
    monkeypatch.syspath_prepend(FOLDER)
    ground = importlib.import_module("moisture").Ground(example.read_records())
    as_it_is, cold, never = (np.abs(off).mean() for off in ground.never_dry().values())
    assert abs(cold - as_it_is) < 0.3 < never - as_it_is
    near_frost = ground.known & (ground.records.soil > 0.5) & (ground.records.soil <= 2) & (ground.rain < 500)[:, None]
    assert 0.7 < ground.wet[near_frost].mean() < ground.said[near_frost].mean()


def test_calibration_on_one_year_serves_the_other_years_as_stated(example, monkeypatch) -> None:
    """Two of the years as the one fitted, every station with parameters fitted without it."""
    monkeypatch.syspath_prepend(FOLDER)
    calibrated = importlib.import_module("calibrated")
    records = example.read_records()
    two = calibrated.years(records)[4:14:6]
    monkeypatch.setattr(calibrated, "years", lambda _: two)
    before, after = [], []
    for group in calibrated.starts(records, "left-out"):
        before += group.judged(lambda _: None)
        after += group.judged(lambda first, group=group: group.fitted(slice(first, first + calibrated.YEAR)))
    figures = [calibrated.summary_of([run.check for run in runs]) for runs in (before, after)]
    assert len(after) > 100
    assert figures[1]["mean_rmse_c"] < figures[0]["mean_rmse_c"] - 0.2
    assert figures[1]["chill_mae_days"] < figures[0]["chill_mae_days"] - 2
    stated = model_error(with_precipitation=True, calibrated=True)
    assert (stated.persistent, stated.winter) == pytest.approx(calibrated.error_left(after), rel=0.15)


@pytest.mark.parametrize("kind", ["with", "without"])
def test_the_stated_error_is_the_one_measured_at_left_out_stations(example, kind) -> None:
    """Of the mean of a winter: between stations, and between the winters of one; stated to two digits."""
    records = example.read_records()
    model = example.left_out(records, kind)[0]
    by_station: dict[int, list[float]] = {}
    for station, span in records.winters():
        error = np.nanmean(model[station, span] - records.soil[station, span])
        by_station.setdefault(station, []).append(float(error))
    errors = [np.array(each) for each in by_station.values()]
    between = np.std([each.mean() for each in errors], ddof=1)
    squares = sum(float(((each - each.mean()) ** 2).sum()) for each in errors)
    within = np.sqrt(squares / sum(each.size - 1 for each in errors))
    stated = model_error(kind == "with")
    assert stated.persistent == pytest.approx(between, rel=0.04)
    assert stated.winter == pytest.approx(within, rel=0.04)
