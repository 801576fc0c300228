"""Columns, units and dates of the sources, each against its own description; the newer fetch stands."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
import xarray as xr

from chillplan.errors import Problems
from chillplan.weather.grid_values import terrain_in_house_units
from chillplan.weather.move import LAPSE_RATES, lapse_rate
from chillplan.weather.read_noaa import read_dly, read_uscrn
from chillplan.weather.store import FetchedYear, StoredStation, join_stored

# First line of CRND0103-2019-NY_Ithaca_13_E.txt (NOAA, public domain), made whole with the columns that follow.
LINE = (
    "64758 20190101  2.622  -76.25   42.44    10.6    -3.0     3.8     2.6     0.4     0.49 C     7.7    -3.2     1.8"
    "    88.4    63.8    77.4   0.431   0.418   0.410   0.374   0.365     2.2     2.3     2.5     2.9     4.1"
)


def test_the_network_gives_maximum_minimum_mean_in_this_order() -> None:
    """Readme of product daily01: columns 6 maximum, 7 minimum, 8 mean, 10 rain, 19 and 24 soil at 5 cm."""
    row = read_uscrn(LINE + "\n", "CRND0103-2019-NY_Ithaca_13_E.txt")[0].frame.iloc[0]
    names = ["tmax", "tmin", "precipitation", "soil_moisture", "soil_temperature"]
    assert row[names].tolist() == [10.6, -3.0, 0.4, 0.431, 2.2]


def test_elements_of_fixed_width_have_the_units_of_the_readme() -> None:
    """GHCN-Daily readme, section III: temperatures and rain in tenths, snow depth and new snow in whole mm."""
    days = {"TMAX": 123, "TMIN": -45, "PRCP": 254, "SNWD": 300, "SNOW": 25}
    lines = [f"USW00014839200001{name}" + f"{value:5d}   " * 31 for name, value in days.items()]
    row = read_dly("\n".join(lines), "a.dly")[0].frame.iloc[0]
    names = ["tmax", "tmin", "precipitation", "snow_depth", "new_snow"]
    assert row[names].astype(float).tolist() == pytest.approx([12.3, -4.5, 25.4, 300.0, 25.0])


def stored(tmin: float, when: datetime) -> StoredStation:
    dates = pd.date_range("2003-01-01", "2003-12-31", name="date")
    return StoredStation(
        {"station": "10001"}, pd.DataFrame({"tmin": tmin}, index=dates), {2003: FetchedYear(when, "kept")}
    )


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_fetches_the_newer_stands_whichever_comes_last(turned: bool) -> None:
    old, new = stored(1.0, datetime(2024, 1, 1, tzinfo=UTC)), stored(2.0, datetime(2024, 6, 1, tzinfo=UTC))
    joined = join_stored(new, old) if turned else join_stored(old, new)
    assert (joined.frame["tmin"] == 2.0).all()
    assert joined.years[2003].when.month == 6


def test_lapse_rates_stand_in_the_middle_of_their_own_months() -> None:
    middles = (np.arange(12) + 0.5) * 365.25 / 12.0 + 0.5
    for name, by_month in LAPSE_RATES.items():
        np.testing.assert_allclose(lapse_rate(name, middles), by_month, atol=1e-9)
    # Minder et al. (2010): minima fall most with height in spring, maxima in spring and summer.
    assert np.argmax(LAPSE_RATES["tmin"]) in {2, 3, 4}
    assert LAPSE_RATES["tmax"][3:9] == (6.5,) * 6


def test_heights_in_feet_are_those_of_the_international_foot() -> None:
    """NIST Special Publication 811, appendix B: 1 ft = 0.3048 m exactly. Denver's step of one mile is 5,280 ft."""
    problems = Problems()
    heights = xr.DataArray(np.array([5280.0]), dims="place", attrs={"units": "ft"}, name="elevation")
    assert terrain_in_house_units("elevation", heights, "grid", problems).item() == pytest.approx(1609.344)
    problems.raise_if_any()


@pytest.mark.parametrize(("height", "faults"), [(-450.0, 0), (-451.0, 1), (8850.0, 0), (8851.0, 1)])
def test_heights_beyond_any_land_are_refused(height: float, faults: int) -> None:
    problems = Problems()
    heights = xr.DataArray(np.array([height]), dims="place", attrs={"units": "m"}, name="elevation")
    terrain_in_house_units("elevation", heights, "grid", problems)
    assert len(problems.found) == faults
