"""Precipitation guessed where a record has none."""

import numpy as np
import pytest

from chillplan.physics.climate import filled_precipitation, guessed_precipitation
from chillplan.physics.parameters import WITHOUT_PRECIPITATION

RNG = np.random.default_rng(3)
LOW = RNG.normal(2.0, 6.0, 1000)
HIGH = LOW + RNG.uniform(2.0, 16.0, 1000)
GUESS = guessed_precipitation(LOW, HIGH, 0.0, WITHOUT_PRECIPITATION)


def test_missing_days_take_the_guess_scaled_to_the_record():
    water = 2.5 * GUESS
    gone = np.arange(1000) % 3 == 0
    filled = filled_precipitation(LOW, HIGH, np.where(gone, np.nan, water))
    assert filled == pytest.approx(water)


def test_known_days_stay_and_a_day_without_temperature_takes_the_mean():
    water = np.full(1000, 3.0)
    water[[5, 6]] = np.nan
    low = LOW.copy()
    low[6] = np.nan
    filled = filled_precipitation(low, HIGH, water)
    assert (np.delete(filled, [5, 6]) == 3.0).all()
    assert filled[6] == pytest.approx(3.0)
    assert filled[5] == pytest.approx(GUESS[5] * 3.0 / np.delete(GUESS, [5, 6]).mean())


def test_a_record_without_a_drop_stays_dry():
    water = np.zeros(1000)
    water[:10] = np.nan
    assert (filled_precipitation(LOW, HIGH, water) == 0).all()
