"""Faults of each kind, planted in a clean record, are found; clean records stay clean."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.weather.check import streaks
from chillplan.weather.quality import CHECKS, _biweight, quality_findings
from tests.weather.made_weather import daily_frame


@pytest.fixture
def daily() -> pd.DataFrame:
    return daily_frame("1990-01-01", "2009-12-31").set_index("date")


def plant(daily: pd.DataFrame, kind: str) -> tuple[str, list[str]]:  # noqa: PLR0911
    """Put one fault into the record; returns the variable and the days that are wrong."""
    days = ["2003-07-14"]
    if kind == "zeros":
        daily.loc["2003-02-03", ["tmin", "tmax"]] = 0.0
        return "tmin", ["2003-02-03"]
    if kind == "repeated month":
        daily.loc["2003-05-01":"2003-05-31", "tmin"] = daily.loc["1998-05-01":"1998-05-31", "tmin"].to_numpy()
        return "tmin", ["2003-05-09", "1998-05-09"]
    if kind == "tmin equals tmax":
        daily.loc["2003-05-05":"2003-05-16", "tmax"] = daily.loc["2003-05-05":"2003-05-16", "tmin"]
        return "tmax", ["2003-05-10"]
    if kind == "bounds":
        daily.loc["2003-07-14", "tmax"] = 70.0
        return "tmax", days
    if kind == "streak":
        daily.loc["2003-07-01":"2003-07-22", "tmin"] = 11.1
        return "tmin", days
    if kind == "gap":
        daily.loc["2003-07-14", "tmax"] = 55.0
        return "tmax", days
    if kind == "outlier":
        daily.loc["2003-04-02", "tmax"] = daily["tmax"][daily.index.month == 4].max() + 9.0
        daily.loc["1999-04-28", "tmax"] = daily["tmax"][daily.index.month == 4].max() - 3.0
        return "tmax", ["2003-04-02"]
    if kind == "order":
        daily.loc["2003-07-14", "tmin"] = daily.loc["2003-07-14", "tmax"] + 1.0
        return "tmin", days
    if kind == "spike":
        daily.loc["2003-04-13":"2003-04-15", "tmax"] = [2.0, 28.0, 2.0]
        daily.loc["2003-04-13":"2003-04-15", "tmin"] = [0.0, 1.0, 0.0]
        return "tmax", ["2003-04-14"]
    if kind == "lagged range":
        daily.loc["2003-04-13":"2003-04-15", "tmin"] = [-14.0, -13.0, -12.0]
        daily.loc["2003-04-12":"2003-04-16", "tmax"] = [10.0, 12.0, 29.0, 12.0, 10.0]
        return "tmax", ["2003-04-14"]
    january = daily.index.month == 1
    daily.loc[january, "tmax"] = np.minimum(daily.loc[january, "tmax"], 4.0)
    daily.loc["2003-01-10", ["tmin", "tmax"]] = [5.0, np.nan]
    return "tmin", ["2003-01-10"]


@pytest.mark.parametrize("kind", list(CHECKS))
def test_each_fault_is_found(daily: pd.DataFrame, kind: str) -> None:
    before = quality_findings(daily)
    variable, days = plant(daily, kind)
    unchanged = daily.copy()
    found = [finding for finding in quality_findings(daily) if finding.check == kind and finding.variable == variable]
    pd.testing.assert_frame_equal(daily, unchanged)
    assert not [finding for finding in before if finding.check == kind]
    assert found, kind
    assert set(pd.DatetimeIndex(days)) <= set(found[0].dates)
    assert found[0].values.shape == (len(found[0].dates),)


def test_a_clean_record_stays_clean(daily: pd.DataFrame) -> None:
    assert sum(len(finding.dates) for finding in quality_findings(daily)) == 0


def test_missing_days_break_no_rule(daily: pd.DataFrame) -> None:
    daily.loc["1995-01-01":"1997-12-31"] = np.nan
    daily.loc["2001-01-01":"2001-12-31", "tmax"] = np.nan
    assert quality_findings(daily) == []
    assert quality_findings(daily.assign(tmin=np.nan, tmax=np.nan)) == []


def test_streaks_pass_over_missing_days() -> None:
    values = np.array([1.0, 1.0, np.nan, 1.0, 2.0, 2.0])
    assert streaks(values, 3).tolist() == [True, True, False, True, False, False]
    assert not streaks(np.full(5, np.nan), 2).any()


def test_robust_mean_and_spread_hold_against_outliers() -> None:
    """Of a normal sample the biweight gives mean and spread within a few per cent, with and without wild values."""
    sample = np.random.default_rng(3).normal(10.0, 2.0, 2000)
    for values in (sample, np.concatenate([sample, np.full(40, 80.0)])):
        mean, spread = _biweight(values)
        assert mean == pytest.approx(10.0, abs=0.15)
        assert spread == pytest.approx(2.0, rel=0.06)


Record = Callable[[], pd.DataFrame]


@pytest.mark.parametrize("name", ["milwaukee_WI_noaa_export_fahrenheit.csv", "seatac_WA.csv", "cary_millbrook_NY.csv"])
def test_few_good_days_of_real_records_are_flagged(observations: Path, name: str) -> None:
    """Published share of flagged values: 0.24 % of the network (Durre et al. 2010); these records passed before."""
    from chillplan.weather.read import load_history

    daily = load_history([observations / name]).daily
    flagged = sum(len(finding.dates) for finding in quality_findings(daily))
    assert flagged / daily[["tmin", "tmax"]].notna().to_numpy().sum() < 0.0024
