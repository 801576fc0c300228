"""Calibration: a site made with known parameters is recognised, and a short record changes little."""

from dataclasses import replace

import numpy as np
import pytest

from chillplan.physics.seed_zone import CALIBRATION, seed_zone
from chillplan.seasons.calibrate import PRIOR, calibrate
from chillplan.seasons.soil_stations import Station, calibrate_stations, check_stations

TRUTH = {"shift": 1.2, "sun": 1.2, "exchange": 0.8, "season": 0.4}


def made(name, truth, days=1500, seed=4, hole=False):
    random = np.random.default_rng(seed)
    dates = np.datetime64("2015-01-01") + np.arange(days)
    day_of_year = (dates - dates.astype("datetime64[Y]")).astype(int) + 1
    wander = np.convolve(random.normal(0, 7, days + 6), np.ones(7) / 7, mode="valid")
    mean = 8 - 13 * np.cos(2 * np.pi * (day_of_year - 20) / 365.25) + wander
    spread = random.uniform(3, 8, days)
    water = np.where(random.random(days) < 0.3, random.gamma(1.0, 6.0, days), 0.0)
    tmin, tmax = mean - spread, mean + spread
    zone = seed_zone(
        tmin,
        tmax,
        day_of_year=day_of_year,
        latitude=np.array(45.0),
        precipitation=water,
        depth_cm=5.0,
        calibration=truth,
    )
    soil = zone.temperature + random.normal(0, 0.3, days)
    if hole:
        tmin[700:712] = np.nan
    return Station(name, 45.0, 100.0, dates, day_of_year, tmin, tmax, soil, water)


def test_known_parameters_are_recognised():
    station = made("made", TRUTH)
    columns = [series[:, None] for series in (station.tmin, station.tmax, station.soil)]
    found = calibrate(
        *columns,
        day_of_year=station.day_of_year,
        latitude=np.array([45.0]),
        precipitation=station.precipitation[:, None],
        start=365,
        depth_cm=5.0,
    )
    assert set(found) == set(PRIOR) < set(CALIBRATION)
    assert found["shift"][0] == pytest.approx(1.2, abs=0.5)
    assert found["sun"][0] == pytest.approx(1.2, abs=0.1)
    assert found["exchange"][0] == pytest.approx(0.8, abs=0.1)


def test_nothing_known_changes_nothing():
    station = made("made", TRUTH, days=500)
    found = calibrate(
        station.tmin[:, None],
        station.tmax[:, None],
        np.full((500, 1), np.nan),
        day_of_year=station.day_of_year,
        latitude=np.array([45.0]),
        depth_cm=5.0,
    )
    assert {name: float(value[0]) for name, value in found.items()} == {name: CALIBRATION[name] for name in PRIOR}


def test_stations_are_checked_and_calibrated_together():
    stations = [made("here", TRUTH, hole=True), made("there", {"shift": -1.5}, days=1300, seed=9)]
    checked = check_stations(stations, 5.0)
    assert [one.station.name for one in checked] == ["here", "there"]
    assert all(np.isfinite(one.model).all() for one in checked)
    tuned = calibrate_stations(checked, 5.0)
    for fit in tuned:
        assert fit is not None
        assert not fit.blocks
        assert str(fit.first) in {"2016-09-01", "2015-09-01"}
        assert fit.after.rmse < 0.6 * fit.before.rmse
        assert fit.after.days == fit.before.days
    again = check_stations([made("here", TRUTH)], 5.0)[0]
    assert np.abs(again.model - checked[0].model)[:690].max() < 0.3


def test_missing_precipitation_is_guessed_and_does_not_make_a_dry_climate() -> None:
    """Blanked from April to September, when a dry climate would show: the model stays where it was."""
    whole = made("whole", TRUTH)
    warm = (whole.day_of_year > 90) & (whole.day_of_year < 274)
    holed = replace(whole, precipitation=np.where(warm, np.nan, whole.precipitation))
    dry = replace(whole, precipitation=np.where(warm, 0.0, whole.precipitation))
    assert (whole.guessed_days, holed.guessed_days) == (0, int(warm.sum()))
    models = [check_stations([one], 5.0)[0].model for one in (whole, holed, dry)]
    off = [float(np.abs(model - models[0]).mean()) for model in models]
    assert 0 < off[1] < 0.3 < off[2]


def test_a_short_record_takes_turns_and_a_shorter_one_is_left():
    station = made("short", TRUTH, days=400)
    fit = calibrate_stations(check_stations([station], 5.0), 5.0)[0]
    assert fit is not None
    assert fit.blocks
    station.soil[50:] = np.nan
    assert calibrate_stations(check_stations([station], 5.0), 5.0) == [None]
