"""Gaps are filled from neighbours, flagged, never beyond the limit; the error is that of days not used."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.errors import InputError
from chillplan.weather.fill import fill_from_neighbours, held_out_error
from chillplan.weather.history import History, Provenance
from tests.weather.made_weather import daily_frame


def station(name: str, shift: float = 0.0, wave: float = 0.0, noise: float = 0.0) -> History:
    daily = daily_frame().set_index("date")
    random = np.random.default_rng(len(name))
    season = wave * np.cos(2 * np.pi * daily.index.day_of_year / 365.25)
    for column in ("tmin", "tmax"):
        daily[column] = (daily[column] + shift + season + random.normal(0, noise or 1e-9, len(daily))).round(1)
        daily[f"{column}_flag"] = ""
    return History(daily, Provenance("made", name))


def holed(history: History, first: str, last: str) -> History:
    daily = history.daily.copy()
    daily.loc[first:last, ["tmin", "tmax"]] = np.nan
    return replace(history, daily=daily)


def test_the_seasonal_difference_is_removed() -> None:
    target = station("target")
    filled = fill_from_neighbours(holed(target, "2004-01-01", "2004-01-20"), [station("neighbour", 3.0, 2.0)])
    gap = filled.daily.loc["2004-01-01":"2004-01-20"]
    assert (gap["tmin_flag"] == "filled").all()
    np.testing.assert_allclose(gap["tmin"], target.daily.loc[gap.index, "tmin"], atol=0.11)
    assert filled.provenance.notes[-1] == "40 values filled from neighbours: neighbour (40)."
    assert filled.coverage < 1.0


def test_the_better_neighbour_is_used_first_and_the_other_where_it_is_silent() -> None:
    target = holed(station("target"), "2004-01-01", "2004-01-20")
    good = holed(station("good", 1.0, noise=0.3), "2004-01-11", "2004-01-20")
    poor = station("poor", 1.0, noise=2.0)
    filled = fill_from_neighbours(target, [poor, good])
    assert "good (20), poor (20)" in filled.provenance.notes[-1]


def test_a_year_that_lacks_more_than_the_limit_stays_as_it_is() -> None:
    target = holed(station("target"), "2004-01-01", "2004-02-20")
    assert fill_from_neighbours(target, [station("neighbour")]).daily["tmin"].isna().sum() == 51
    assert fill_from_neighbours(target, [station("neighbour")], at_most=0.2).daily["tmin"].notna().all()
    with pytest.raises(InputError, match=r"a share of 0\.9 filled days is too much"):
        fill_from_neighbours(target, [], at_most=0.9)


def test_strangers_and_short_acquaintances_are_not_asked() -> None:
    target = holed(station("target"), "2004-01-01", "2004-01-20")
    stranger = station("stranger", noise=9.0)
    short = station("short")
    short = replace(short, daily=short.daily.loc["2003-12-01":"2004-04-01"])
    assert fill_from_neighbours(target, [stranger, short]).daily["tmin"].isna().sum() == 20


def test_the_held_out_error_is_that_of_the_noise() -> None:
    error = held_out_error(station("target"), [station("neighbour", 3.0, noise=1.0)])
    assert error["tmin"].days > 300
    assert error["tmin"].error == pytest.approx(1.0, abs=0.15)
    assert abs(error["tmax"].bias) < 0.2
    alone = held_out_error(station("target"))
    assert alone["tmin"].days > 300
    assert alone["tmin"].error > 2.0  # straight lines over weather of 3 °C spread


def test_filling_uses_no_value_of_the_blanked_days() -> None:
    """Wild values on the blanked days change nothing: their gap is filled the same."""
    target = station("target")
    first = fill_from_neighbours(holed(target, "2004-01-01", "2004-01-20"), [station("neighbour", 2.0)])
    wild = replace(target, daily=target.daily.copy())
    wild.daily.loc["2004-01-01":"2004-01-20", ["tmin", "tmax"]] = 40.0
    second = fill_from_neighbours(holed(wild, "2004-01-01", "2004-01-20"), [station("neighbour", 2.0)])
    pd.testing.assert_frame_equal(first.daily, second.daily)


def test_a_real_field_is_restored_from_its_neighbours(observations: Path) -> None:
    """Millbrook: the network's station stands in the same field as the institute's."""
    from chillplan.weather.read import load_history

    field = load_history([observations / "cary_millbrook_NY.csv"])
    same = load_history([observations / "uscrn_soil_development.parquet"], station="NY_Millbrook_3_W")
    error = held_out_error(replace(field, daily=field.daily.loc["2009":"2020"]), [same])
    assert error["tmin"].days > 300
    assert error["tmin"].error < 2.0
    assert abs(error["tmin"].bias) < 0.3
