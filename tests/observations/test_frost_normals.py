"""Frost dates of the Milwaukee record against the official normals."""

from __future__ import annotations

import numpy as np
import pytest

from chillplan.seasons.chance import percentiles
from chillplan.seasons.cut import season_start
from chillplan.seasons.dates import first_frost, last_frost
from chillplan.weather.read import load_history
from tests.records import observations

# NOAA NCEI, U.S. Climate Normals 1981-2010, annual minimum-temperature probability tables, station USW00014839
# (Milwaukee): 32 °F, last frost at 50 and 90 %, first frost at 50 and 90 %. NCEI's "90 % for the last frost" is the
# early date. Its method is not published; order statistics of the record are to agree within four days.
OFFICIAL = {("last", 0.5): (4, 22), ("last", 0.1): (4, 8), ("first", 0.5): (10, 23), ("first", 0.9): (11, 6)}
TOLERANCE = 4


@pytest.fixture(scope="module")
def minimum() -> np.ndarray:
    path = observations() / "milwaukee_WI_noaa_export_fahrenheit.csv"
    return load_history([path], latitude=42.95, longitude=-87.9).daily["tmin"]


@pytest.mark.parametrize(("which", "share"), OFFICIAL)
def test_frost_dates_of_1981_to_2010(minimum, which: str, share: float) -> None:
    # The normals count calendar years: last frosts of the springs and first frosts of the autumns 1981 to 2010.
    seasons = range(1980, 2010) if which == "last" else range(1981, 2011)
    days = [minimum[f"{year}-08-01" : f"{year + 1}-07-31"].to_numpy() for year in seasons]
    date_index = [float((last_frost if which == "last" else first_frost)(one, 0.0)) for one in days]
    found = np.floor(percentiles(date_index, (share,))[0] + 0.5)  # a date is a whole day
    month, day = OFFICIAL[which, share]
    official = np.datetime64(f"{2001 if month < 8 else 2000}-{month:02d}-{day:02d}")
    expected = (official - np.datetime64(season_start(2000, southern=False))).astype(int)
    assert abs(found - expected) <= TOLERANCE
