"""Faults of each kind, planted in a clean record, are found; clean records stay clean."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.weather.check import streaks
from chillplan.weather.history import History, Provenance
from chillplan.weather.quality import CHECKS, _biweight, quality_findings, shift_notes
from chillplan.weather.read import load_history, read_weather
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


FIRST, LAST = "2003-03-11", "2007-08-20"


def beside(name: str, noise: float = 1.0, days: int = 0, variables: tuple[str, ...] = ("tmin", "tmax")) -> History:
    """A record of one place as a second thermometer reads it, some years of it dated some days late."""
    daily = daily_frame("1998-01-01", "2009-12-31").set_index("date")
    random = np.random.default_rng(len(name))
    for column in ("tmin", "tmax"):
        daily[column] = (daily[column] + random.normal(0.0, noise, len(daily))).round(1)
        daily[f"{column}_flag"] = ""
        if days and column in variables:
            moved = daily[column].shift(days)
            daily.loc[FIRST:LAST, column] = moved.loc[FIRST:LAST]
    daily.loc["2003-02-01":"2003-03-10", ["tmin", "tmax"]] = np.nan  # the gap behind which the days are off
    return History(daily, Provenance("made", name))


@pytest.mark.parametrize(("days", "word"), [(1, "earlier"), (-1, "later")])
def test_years_that_are_a_day_off_beside_a_neighbour_are_named_with_their_days(days: int, word: str) -> None:
    near = beside("neighbour")
    notes = shift_notes(beside("field", days=days), [near])
    assert len(notes) == 2
    for name, note in zip(("tmin", "tmax"), notes, strict=True):
        found = re.fullmatch(
            rf"{name} from (\S+) to (\S+) fits neighbour clearly better when dated a day {word}: one .*", note
        )
        assert found is not None, note
        begin, end = (pd.Timestamp(day) for day in found.groups())
        assert pd.Timestamp("2003-01-25") <= begin <= pd.Timestamp("2003-03-21"), "somewhere at the gap"
        assert abs((end - pd.Timestamp(LAST)).days) <= 10
    (alone,) = shift_notes(beside("field", days=days, variables=("tmax",)), [near])
    assert alone.startswith("tmax from ")


def test_records_that_agree_or_tell_nothing_of_each_other_are_not_called_a_day_off() -> None:
    assert shift_notes(beside("field"), [beside("neighbour")]) == []
    assert shift_notes(beside("field"), []) == []
    assert shift_notes(beside("field", days=1), [beside("far away", noise=6.0)]) == []
    silent = beside("silent")
    silent = replace(silent, daily=silent.daily.assign(tmin=np.nan, tmax=np.nan))
    assert len(shift_notes(beside("field", days=1), [silent, beside("neighbour")])) == 2
    short = beside("short")
    short = replace(short, daily=short.daily.loc["2003-03-01":"2003-05-05"])
    assert shift_notes(beside("field", days=1), [short]) == [], "less than 60 days are too few to tell"


def test_a_plan_from_two_records_says_that_one_is_a_day_off(tmp_path: Path) -> None:
    for name, days, latitude in (("field", 1, 42.4), ("neighbour", 0, 42.5)):
        daily = beside(name, days=days).daily[["tmin", "tmax"]].assign(station=name, latitude=latitude, longitude=-76.2)
        daily.rename_axis("date").to_csv(tmp_path / f"{name}.csv")
    history = load_history([tmp_path], latitude=42.4, longitude=-76.2)
    assert history.provenance.station == "field"
    assert (
        sum("fits neighbour clearly better when dated a day earlier" in note for note in history.provenance.notes) == 2
    )


def test_real_records_side_by_side_are_not_called_a_day_off(observations: Path) -> None:
    """Two thermometers at Millbrook, New York, 38 and 20 years; moved by a day, the field's is named."""
    field = load_history([observations / "cary_millbrook_NY.csv"])
    network = next(
        history
        for name in ("uscrn_soil_development.parquet", "uscrn_soil_development_2.parquet")
        for history in read_weather([observations / name], repair=False)
        if "Millbrook" in history.provenance.station
    )
    assert shift_notes(field, [network]) == []
    late = replace(field, daily=field.daily.set_axis(field.daily.index + pd.Timedelta(days=1)))
    assert [note.split(" from ")[0] for note in shift_notes(late, [network])] == ["tmin", "tmax"]
