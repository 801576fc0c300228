"""Which cover a thermometer speaks for: a record made under another one, and when nothing can be told."""

from dataclasses import replace

import numpy as np
import pytest

from chillplan.physics.seed_zone import seed_zone
from chillplan.seasons.soil_covers import CLEARLY, try_covers
from chillplan.seasons.soil_stations import Station, check_stations
from tests.seasons.test_calibrate import made


def under(cover: str, stated: str) -> Station:
    """A made record of the ground under one cover, with another one stated."""
    station = made("plot", None)
    zone = seed_zone(
        station.tmin,
        station.tmax,
        day_of_year=station.day_of_year,
        latitude=np.array(45.0),
        precipitation=station.precipitation,
        depth_cm=5.0,
        cover=cover,
    )
    noise = np.random.default_rng(5).normal(0, 0.3, station.tmin.size)
    return replace(station, soil=zone.temperature + noise, site={"cover": stated})


def trial_of(station: Station):
    return try_covers(check_stations([station], 5.0), 5.0)[0]


@pytest.mark.parametrize(
    ("truth", "stated"), [("bare", "short grass"), ("leaf mulch", "short grass"), ("short grass", "straw mulch")]
)
def test_the_cover_that_a_record_was_made_under_is_suggested(truth: str, stated: str) -> None:
    found = trial_of(under(truth, stated))
    assert found is not None
    assert (found.stated, found.best, found.suggested) == (stated, truth, truth)
    assert found.checks[truth].rmse == pytest.approx(0.3, abs=0.1)
    assert found.checks[stated].rmse - found.checks[truth].rmse > CLEARLY


def test_no_other_cover_is_suggested_where_the_stated_one_is_right() -> None:
    found = trial_of(under("leaf mulch", "leaf mulch"))
    assert found is not None
    assert found.best == "leaf mulch"
    assert found.suggested is None


def test_a_gain_within_the_noise_is_no_suggestion() -> None:
    found = trial_of(under("bare", "short grass"))
    assert found is not None
    near = replace(found.checks["bare"], rmse=found.checks["short grass"].rmse - CLEARLY + 0.01)
    close = replace(found, checks={"short grass": found.checks["short grass"], "bare": near})
    assert (close.best, close.suggested) == ("bare", None)


def test_nothing_is_told_from_half_a_year_or_of_a_calibrated_site() -> None:
    station = under("bare", "short grass")
    half = replace(
        station, soil=np.where((station.day_of_year > 60) & (station.day_of_year < 240), station.soil, np.nan)
    )
    calibrated = replace(station, site={**station.site, "calibration": {"shift": 1.0}})
    assert [found is None for found in try_covers(check_stations([half, station, calibrated], 5.0), 5.0)] == [
        True,
        False,
        True,
    ]
