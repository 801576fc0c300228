"""Which days make a season, what may be missing, and what is said where too much is: each limit on either side."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from chillplan.errors import DataGapError
from chillplan.seasons.chill import chill_days, cold_days, effective_chill
from chillplan.seasons.cut import (
    DAYS,
    SPIN_UP,
    cut_seasons,
    daily_means,
    day_index,
    season_label,
    season_of,
    season_rows,
    whole_rows,
)
from chillplan.seasons.forecast import only, season_so_far, spliced, without
from chillplan.seasons.summary import LEAD, ground_of, winters_of
from chillplan.site import Site
from tests.records import wave_weather

# Seasons out of a record.


def test_a_season_has_its_label_and_its_days() -> None:
    assert [season_label(year) for year in (1999, 2008, 2026)] == ["1999/00", "2008/09", "2026/27"]
    assert [season_of(day, False) for day in (date(2020, 7, 31), date(2020, 8, 1))] == [2019, 2020]
    assert [day_index(day, True) for day in (date(2020, 1, 31), date(2020, 2, 1), date(2020, 2, 2))] == [364, 0, 1]


def ordinals(first: str, last: str) -> np.ndarray:
    return np.arange(date.fromisoformat(first).toordinal(), date.fromisoformat(last).toordinal() + 1)


def test_rows_point_at_the_days_of_the_axis_and_nowhere_else() -> None:
    days = ordinals("2001-07-30", "2003-08-02")
    rows = season_rows(days, False)
    assert rows.years.tolist() == [2000, 2001, 2002, 2003]
    assert rows.row[1, SPIN_UP - 3 : SPIN_UP + 1].tolist() == [-1, 0, 1, 2]
    assert rows.row[3, SPIN_UP : SPIN_UP + 3].tolist() == [days.size - 2, days.size - 1, -1]
    assert rows.day_of_year[1, [SPIN_UP, SPIN_UP + 153]].tolist() == [213, 1]
    assert rows.following.tolist() == [1, 2, 3, -1]
    assert season_rows(days[::-1], False).row[1, SPIN_UP] == days.size - 1 - 2
    assert season_rows(days, False, (2001, 2002)).years.tolist() == [2001, 2002]
    assert season_rows(days, False, (1990, 2001)).years.tolist() == [2000, 2001]
    assert rows.only(np.array([True, False, True, False])).following.tolist() == [-1, -1]


def test_a_whole_winter_may_lack_18_days_and_three_are_needed() -> None:
    whole = ordinals("2000-08-19", "2003-07-31")
    assert whole_rows(whole, False).years.tolist() == [2000, 2001, 2002]
    with pytest.raises(DataGapError) as caught:
        whole_rows(whole[1:], False)
    assert str(caught.value) == (
        "2 whole winters on a time axis from 2000-08-20 to 2003-07-31, at least 3 are needed: give a longer record"
    )
    with pytest.raises(DataGapError, match=r"^1 whole winter among 2002 to 2003 on a time axis"):
        whole_rows(whole, False, (2002, 2003))


def test_daily_means_by_hand() -> None:
    """Two seasons of 40 days, 1 and 3 °C: 2 °C on each day; 15 days around a gap stand in for it."""
    values = np.full((40, 2), 1.0)
    values[:, 1] = 3.0
    assert daily_means(values).tolist() == [2.0] * 40
    values[20] = [17.0, np.nan]
    found = daily_means(values)
    assert found[[12, 28]].tolist() == [2.0, 2.0]
    assert found[[13, 20, 27]].tolist() == [3.0, 3.0, 3.0]
    edge = np.full((40, 1), np.nan)
    edge[0] = 8.0
    assert daily_means(edge)[[0, 7]].tolist() == [8.0, 8.0]
    assert np.isnan(daily_means(edge)[8:]).all()


def test_precipitation_may_be_missing_on_half_of_a_winters_days() -> None:
    daily = wave_weather(first="2000-01-01", last="2006-12-31").assign(precipitation=1.0, snow_depth=np.nan)
    daily.loc["2002-09-01":"2003-03-01", "precipitation"] = np.nan  # 182 days
    daily.loc["2004-09-01":"2005-03-02", "precipitation"] = np.nan  # 183 days
    seasons = cut_seasons(daily, southern=False)
    assert seasons.left_out[2004] == "precipitation missing on 183 of 365 days, so snow cannot be told"
    assert 2002 in seasons.years
    assert seasons.guessed_water == {2002: 182}
    assert set(seasons.daily) == {"tmin", "tmax", "precipitation"}
    few = daily.assign(precipitation=np.where(np.arange(len(daily)) % 5 < 2, 1.0, np.nan))
    bare = cut_seasons(few, southern=False)
    assert ("precipitation" in bare.daily, bare.guessed_water) == (False, {})


def test_too_few_winters_are_refused_with_what_was_left_out() -> None:
    daily = wave_weather(first="2001-08-01", last="2004-07-31")
    daily.loc["2002-11-01":"2002-11-19", "tmin"] = np.nan
    with pytest.raises(DataGapError) as caught:
        cut_seasons(daily, southern=False)
    assert str(caught.value) == (
        "2 usable winters in a record from 2001-08-01 to 2004-07-31, at least 3 are needed "
        "(left out: 2002/03: 19 of 365 days missing): give a longer record"
    )
    with pytest.raises(DataGapError, match=r"^1 usable winter among 2003 to 2005 in a record"):
        cut_seasons(daily, southern=False, years=(2003, 2005))


# This season so far.


def test_a_tenth_of_the_known_days_may_be_missing() -> None:
    record = wave_weather(last="2010-12-31")
    today = date(2010, 10, 10)  # 70 days from 1 August on
    gappy = record.copy()
    gappy.loc["2010-09-01":"2010-09-07", "tmax"] = np.nan
    so_far = season_so_far(gappy, False, today)
    assert (so_far.known, so_far.missing, so_far.last_day) == (70, 7, date(2010, 10, 9))
    assert {values.shape for values in so_far.daily.values()} == {(SPIN_UP + 70,)}
    gappy.loc["2010-09-08", "tmin"] = np.nan
    with pytest.raises(DataGapError) as caught:
        season_so_far(gappy, False, today)
    assert str(caught.value) == (
        "8 of the 70 days from 2010-08-01 to 2010-10-09 are missing: give a more complete record of this winter"
    )


def test_a_season_of_which_nothing_is_known_is_refused_in_words() -> None:
    record = wave_weather(last="2010-12-31")
    with pytest.raises(DataGapError) as caught:
        season_so_far(record, False, date(2010, 8, 1))
    assert str(caught.value) == (
        "this season begins today, 2010-08-01: no day of it is known yet; ask again when some have passed"
    )
    assert season_so_far(record, False, date(2010, 8, 2)).known == 1
    for daily, ends in ((record[:"2010-07-31"], "2010-07-31"), (record[:0], "nowhere")):
        with pytest.raises(DataGapError) as caught:
            season_so_far(daily, False, date(2010, 8, 5))
        assert str(caught.value) == (
            f"the record ends {ends}, before this season's first day 2010-08-01 or without a temperature in it: "
            "give this winter's temperatures up to 2010-08-05 with --weather"
        )


def test_what_both_have_is_spliced_and_what_is_known_counts_as_observed() -> None:
    record = wave_weather(last="2011-12-31").assign(precipitation=1.0, snow_depth=2.0)
    record.loc["2006-12-01", "tmin"] = np.nan
    record.loc["2006-08-20", "tmin"] = np.nan
    seasons = cut_seasons(record, southern=False)
    so_far = season_so_far(record, False, date(2010, 10, 10))
    past = without(seasons, 2010)
    joined = spliced(past, so_far)
    assert set(joined.daily) == {"tmin", "tmax", "precipitation", "snow_depth"}
    place = joined.years.tolist().index(2006)
    assert joined.observed.shape == (DAYS, past.years.size)
    assert (joined.observed[19, place], joined.observed[122, place]) == (True, False)
    assert (joined.day_of_year[: SPIN_UP + 70] == past.day_of_year[: SPIN_UP + 70, :1]).all()
    assert np.array_equal(joined.day_of_year[SPIN_UP + 70 :], past.day_of_year[SPIN_UP + 70 :])
    empty = replace(so_far, daily={**so_far.daily, "snow_depth": np.full(SPIN_UP + 70, np.nan)})
    assert "snow_depth" not in spliced(past, empty).daily
    partly = so_far.daily["snow_depth"].copy()
    partly[0] = np.nan
    assert "snow_depth" in spliced(past, replace(so_far, daily={**so_far.daily, "snow_depth": partly})).daily
    dry = replace(so_far, daily={name: so_far.daily[name] for name in ("tmin", "tmax")})
    assert set(spliced(past, dry).daily) == {"tmin", "tmax"}
    alone = only(seasons, 3)
    assert alone.years.tolist() == [seasons.years[3]]
    assert np.array_equal(alone.daily["tmax"][:, 0], seasons.daily["tmax"][:, 3])


# One row a winter.


def test_each_winter_is_summed_up_from_its_own_days() -> None:
    record = wave_weather(last="2006-12-31", mean=8.0)
    record.loc["2003-12-10", ["tmin", "tmax"]] = np.nan
    seasons = cut_seasons(record, southern=False)
    ground = ground_of(seasons, Site(44.0, -72.0, elevation=300.0), 1.0)
    winters = winters_of(seasons, ground, 1.0, (-7.0,))
    assert ground.temperature.shape == ground.moist.shape == ground.minimum.shape == (DAYS, seasons.years.size)
    assert ground.lead is not None
    assert ground.lead[0].shape == ground.lead[1].shape == (LEAD, seasons.years.size) == (92, seasons.years.size)
    assert np.abs(ground.lead[0][-1] - ground.temperature[0]).max() < 4.0, "the lead ends where the season begins"
    assert (ground.temperature * 128.0 == np.rint(ground.temperature * 128.0)).all()
    assert not ground.moisture_known
    low = seasons.daily["tmin"][SPIN_UP:] + 1.0
    high = seasons.daily["tmax"][SPIN_UP:] + 1.0
    assert winters.mean_temperature == pytest.approx(((low + high) / 2.0).mean(axis=0), abs=1e-4)
    assert sorted(winters.last_spring_frost) == [-7.0, -4.0, -2.0, 0.0]
    assert sorted(winters.soil_warm) == [5.0, 10.0, 15.0]
    seen = np.where(seasons.observed, low, np.nan)
    for limit in (-7.0, 0.0):
        for place in range(seasons.years.size):
            frosts = np.flatnonzero(seen[:, place] <= limit)
            assert winters.last_spring_frost[limit][place] == frosts[-1]
            assert winters.first_autumn_frost[limit][place] == frosts[0]
    assert winters.chill_days == pytest.approx(chill_days(ground.temperature, ground.moist))
    assert winters.effective_chill == pytest.approx(effective_chill(ground.temperature, ground.moist))
    assert winters.cold_days == pytest.approx(cold_days(ground.temperature))
    late = winters.latest(2)
    assert late.years.tolist() == seasons.years[-2:].tolist()
    for name in ("chill_days", "effective_chill", "cold_days", "mean_temperature"):
        assert getattr(late, name).tolist() == getattr(winters, name)[-2:].tolist()
    for name in ("last_spring_frost", "first_autumn_frost", "soil_warm"):
        for limit, values in getattr(late, name).items():
            assert values.tolist() == getattr(winters, name)[limit][-2:].tolist()
