"""Whether an observed snow depth is believed: new snow against the water that fell."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.weather.check import first_checks, fresh_snow, snow_fault
from chillplan.weather.history import History, Provenance
from chillplan.weather.read import read_weather

BULK = 1000.0 / 90.0  # 90 kg m-3, between the means of sites, 72 to 103, of Judson and Doesken 2000 (abstract read) [-]


def winter(bulk: float = BULK) -> pd.DataFrame:
    """A frost of 120 days with 6 mm of water in snow every fourth day, read at the end of the day."""
    dates = pd.date_range("2001-12-01", periods=120, name="date")
    water = np.where(np.arange(120) % 4 == 2, 6.0, 0.0)
    return pd.DataFrame(
        {"tmin": -12.0, "tmax": -4.0, "precipitation": water, "snow_depth": np.cumsum(water * bulk)}, index=dates
    )


def test_the_depth_gained_is_held_against_the_water() -> None:
    found = fresh_snow(winter())
    assert found.bulk == pytest.approx(BULK)
    assert (found.falls, found.heavy, found.bare) == (30, 30, 0)
    assert snow_fault(winter()) is None


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (0.1, "10 times too small"),
        (1 / 25.4, "25.4 times too small"),
        (10.0, "10 times too large"),
        (25.4, "25.4 times too large"),
        (0.0, "does not follow the snowfall"),
    ],
)
def test_a_depth_in_another_unit_is_not_believed(factor: float, words: str) -> None:
    assert words in str(snow_fault(winter(BULK * factor)))


def test_zeros_in_place_of_missing_values_are_not_believed() -> None:
    daily = winter()
    daily.loc[daily.index[80:], "snow_depth"] = 0.0
    assert snow_fault(daily) is not None
    assert "0 after 10 of 30" in str(snow_fault(daily))


def test_nothing_is_said_of_a_record_without_snow_or_without_precipitation() -> None:
    assert snow_fault(winter().drop(columns="precipitation")) is None
    assert snow_fault(winter().drop(columns="snow_depth")) is None
    assert snow_fault(winter(0.1).head(30)) is None  # too few snowfalls to judge by


def test_a_depth_that_is_not_believed_is_left_out_and_told() -> None:
    daily = winter(BULK / 10)
    daily["tmin"] += np.arange(120) % 3
    daily["tmax"] += np.arange(120) % 3
    history = first_checks(History(daily.assign(tmin_flag="", tmax_flag=""), Provenance("made", "made")))
    assert "snow_depth" not in history.daily
    assert any("Observed snow depth" in note for note in history.provenance.notes)


def test_the_depth_of_an_airport_that_is_ten_times_too_small(observations: Path) -> None:
    """Whole inches are usual; this export has tenths of them. Multiplied by ten it is believed."""
    file = observations / "milwaukee_WI_noaa_export_fahrenheit.csv"
    (raw,) = read_weather([file], repair=False)
    assert "10 times too small" in str(snow_fault(raw.daily))
    assert snow_fault(raw.daily.assign(snow_depth=raw.daily["snow_depth"] * 10.0)) is None
    (read,) = read_weather([file])
    assert "snow_depth" not in read.daily
