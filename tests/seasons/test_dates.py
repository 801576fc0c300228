from __future__ import annotations

import numpy as np
import pytest

from chillplan.errors import InputError
from chillplan.seasons.dates import first_frost, last_frost, running_mean, soil_warming_day


def test_frost_dates_by_hand() -> None:
    minimum = np.full((365, 3), 5.0)
    minimum[[60, 200, 270], 0] = [-0.1, -9.0, 0.0]
    minimum[100, 1] = 0.1
    minimum[[10, 11], 2] = np.nan
    assert first_frost(minimum).tolist() == [60.0, np.inf, np.inf]
    assert last_frost(minimum).tolist() == [270.0, -np.inf, -np.inf]
    assert first_frost(minimum, -2.0).tolist()[0] == 200.0


def test_running_mean_leaves_out_two_days_at_most() -> None:
    values = np.arange(10.0)
    values[[3, 4]] = np.nan
    mean = running_mean(values, 7)
    assert np.isnan(mean[:6]).all()
    assert mean[6] == pytest.approx(np.mean([0, 1, 2, 5, 6]))
    values[5] = np.nan
    assert np.isnan(running_mean(values, 7)[6])


def test_soil_warming_starts_after_the_coldest_of_winter() -> None:
    days = np.arange(365)
    wave = 10.0 + 10.0 * np.cos(2 * np.pi * days / 365.0)  # warm in August, coldest on day 182
    day = soil_warming_day(np.column_stack([wave, wave + 15.0, wave - 15.0]), 10.0)
    assert 273 <= day[0] <= 279  # the wave crosses 10 °C on day 274; the 7-day mean follows by 3 days
    assert day[1] == -np.inf
    assert day[2] == np.inf


@pytest.mark.parametrize("run", [0, 32])
def test_run_out_of_range_is_refused(run: int) -> None:
    with pytest.raises(InputError, match="outside 1 to 31 days"):
        soil_warming_day(np.zeros(40), run=run)
