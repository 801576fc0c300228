from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from chillplan.errors import DataGapError
from chillplan.seasons.cut import DAYS, SPIN_UP, cut_seasons, day_index, season_of, season_start
from tests.records import wave_weather


def test_a_season_is_named_by_the_year_in_which_its_winter_begins() -> None:
    assert season_start(2026, southern=False) == date(2026, 8, 1)
    assert season_start(2026, southern=True) == date(2026, 2, 1)
    assert season_of(date(2027, 1, 15), southern=False) == 2026
    assert season_of(date(2027, 1, 15), southern=True) == 2026
    assert season_of(date(2027, 2, 1), southern=True) == 2027
    assert day_index(date(2026, 8, 1), southern=False) == 0


def test_rows_are_the_days_of_the_record() -> None:
    daily = wave_weather()
    seasons = cut_seasons(daily, southern=False)
    assert seasons.years.tolist() == list(range(1999, 2012))
    third = int(np.flatnonzero(seasons.years == 2003)[0])
    assert seasons.daily["tmin"][SPIN_UP, third] == daily.loc["2003-08-01", "tmin"]
    assert seasons.daily["tmax"][SPIN_UP + 31, third] == daily.loc["2003-09-01", "tmax"]
    assert seasons.day_of_year[SPIN_UP + 213, third] == 61  # 1 March of the leap year 2004
    assert seasons.daily["tmin"].shape == (SPIN_UP + DAYS, 13)


def test_seasons_are_not_cut_at_new_year() -> None:
    daily = wave_weather()
    seasons = cut_seasons(daily, southern=False)
    winter = seasons.daily["tmin"][SPIN_UP + 150 : SPIN_UP + 156, 0]
    assert winter.tolist() == daily.loc["1999-12-29":"2000-01-03", "tmin"].tolist()


def test_a_season_with_more_than_one_day_in_twenty_missing_is_left_out_and_named() -> None:
    daily = wave_weather()
    daily.loc["2004-11-01":"2004-11-19", "tmin"] = np.nan  # 19 days
    daily.loc["2006-11-01":"2006-11-18", "tmin"] = np.nan  # 18 days
    seasons = cut_seasons(daily, southern=False)
    assert 2004 not in seasons.years
    assert seasons.left_out[2004] == "19 of 365 days missing"
    assert 2006 in seasons.years
    index = int(np.flatnonzero(seasons.years == 2006)[0])
    assert np.isfinite(seasons.daily["tmin"]).all()
    assert not seasons.observed[92:110, index].any()


def test_southern_seasons_mirror_northern_ones() -> None:
    north = cut_seasons(wave_weather(noise=0.0), southern=False)
    south = cut_seasons(wave_weather(noise=0.0, southern=True), southern=True)
    difference = north.daily["tmin"][SPIN_UP:].mean(axis=1) - south.daily["tmin"][SPIN_UP:].mean(axis=1)
    assert np.abs(difference).max() < 0.8  # 1 August and 1 February lie 181 or 184 days apart


def test_years_limit_the_seasons() -> None:
    assert cut_seasons(wave_weather(), southern=False, years=(2002, 2005)).years.tolist() == [2002, 2003, 2004, 2005]


def test_two_winters_are_too_few() -> None:
    daily = wave_weather(first="2001-08-01", last="2003-07-31")
    with pytest.raises(DataGapError, match=r"2 usable winters .* at least 3 are needed") as caught:
        cut_seasons(daily, southern=False)
    assert caught.value.exit_code == 3


def test_following_season_is_found_only_where_it_is_usable() -> None:
    daily = wave_weather()
    daily.loc["2004-10-01":"2005-02-01", "tmax"] = np.nan
    seasons = cut_seasons(daily, southern=False)
    following = dict(zip(seasons.years.tolist(), seasons.following.tolist(), strict=True))
    assert following[2003] == -1
    assert seasons.years[following[2005]] == 2006
    assert following[2011] == -1


def test_a_record_that_ends_today_leaves_the_running_season_out() -> None:
    seasons = cut_seasons(wave_weather(last="2012-11-25"), southern=False)
    assert seasons.left_out[2012] == f"{DAYS - 117} of 365 days missing"
    assert isinstance(wave_weather().index, pd.DatetimeIndex)
