"""This season is continued by every other, and nothing of the future leaks into it."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from chillplan.errors import DataGapError
from chillplan.seasons.cut import DAYS, SPIN_UP, cut_seasons, day_index
from chillplan.seasons.forecast import season_so_far, spliced, without
from chillplan.site import Site
from examples.season_hindcast.splices import chill_by, hindcast
from tests.records import wave_weather

TODAY = date(2010, 2, 1)
SITE = Site(44.0, -72.0, elevation=300.0)


@pytest.fixture(scope="module")
def record() -> pd.DataFrame:
    return wave_weather(mean=8.0)


def test_the_known_days_are_this_seasons_and_the_rest_is_lent(record: pd.DataFrame) -> None:
    seasons = cut_seasons(record, southern=False)
    so_far = season_so_far(record, False, TODAY)
    assert (so_far.year, so_far.known, so_far.missing, so_far.last_day) == (2009, 184, 0, date(2010, 1, 31))
    joined = spliced(without(seasons, 2009), so_far)
    assert 2009 not in joined.years
    cut = SPIN_UP + 184
    this = seasons.daily["tmin"][:, list(seasons.years).index(2009)]
    for place, year in enumerate(joined.years):
        other = seasons.daily["tmin"][:, list(seasons.years).index(year)]
        assert np.array_equal(joined.daily["tmin"][:cut, place], this[:cut])
        assert np.array_equal(joined.daily["tmin"][cut:, place], other[cut:])


def test_nothing_after_today_is_looked_at(record: pd.DataFrame) -> None:
    later = record.copy()
    later.loc[pd.Timestamp(TODAY) :, ["tmin", "tmax"]] = 99.0
    for name, values in season_so_far(record, False, TODAY).daily.items():
        assert np.array_equal(values, season_so_far(later, False, TODAY).daily[name])


def test_the_southern_season_begins_in_february() -> None:
    so_far = season_so_far(wave_weather(southern=True), True, date(2010, 8, 1))
    assert (so_far.year, so_far.known) == (2010, 181)


def test_a_missing_day_takes_the_mean_of_the_others(record: pd.DataFrame) -> None:
    gappy = record.copy()
    gappy.loc["2009-12-25", ["tmin", "tmax"]] = np.nan
    so_far = season_so_far(gappy, False, TODAY)
    past = without(cut_seasons(record, southern=False), 2009)
    day = SPIN_UP + day_index(date(2009, 12, 25), False)
    assert so_far.missing == 1
    assert spliced(past, so_far).daily["tmin"][day] == pytest.approx(
        np.full(past.years.size, past.daily["tmin"][day].mean())
    )


def test_a_record_that_ends_early_is_known_to_its_end(record: pd.DataFrame) -> None:
    assert season_so_far(record[:"2010-01-10"], False, TODAY).last_day == date(2010, 1, 10)


def test_a_season_that_is_not_in_the_record_is_refused(record: pd.DataFrame) -> None:
    with pytest.raises(DataGapError, match="the record ends 2009-06-30, before this season's first day 2009-08-01"):
        season_so_far(record[:"2009-06-30"], False, TODAY)
    holes = record.copy()
    holes.loc["2009-10-01":"2009-11-15", "tmin"] = np.nan
    with pytest.raises(DataGapError, match=r"46 of the 184 days .* are missing"):
        season_so_far(holes, False, TODAY)


def test_the_only_season_cannot_be_left_out(record: pd.DataFrame) -> None:
    seasons = cut_seasons(record, southern=False, years=(2001, 2003))
    rest = without(without(seasons, 2001), 2002)
    with pytest.raises(DataGapError, match="there is no past winter"):
        without(rest, 2003)
    assert without(rest, 1990) is rest


def test_chill_by_a_day_counts_from_sowing_and_not_the_day_itself() -> None:
    temperature = np.full((10, 1), 4.0)
    temperature[3] = 9.5
    moist = np.ones((10, 1), dtype=bool)
    moist[4] = False
    assert chill_by(temperature, moist, 1, [1, 3, 4, 5, 10])[:, 0].tolist() == [0.0, 2.0, 2.5, 2.5, 7.5]


def test_a_hindcast_issued_on_the_deadline_knows_the_answer(record: pd.DataFrame) -> None:
    seasons = cut_seasons(record, southern=False)
    found = hindcast(seasons, SITE, issued=200, sown=80, deadlines=[200])
    members = seasons.years.size - 1
    certain = np.where(found.happened, (members + 0.5) / (members + 1.0), 0.5 / (members + 1.0))
    assert np.allclose(found.forecast, certain)
    assert np.array_equal(found.decided, found.happened)


def test_a_hindcast_does_not_see_its_own_future(record: pd.DataFrame) -> None:
    seasons = cut_seasons(record, southern=False)
    place = 4
    warm = {name: values.copy() for name, values in seasons.daily.items()}
    # The rest of the season backwards: another future, but the long-term means of the place stay what they are.
    for values in warm.values():
        values[SPIN_UP + 150 :, place] = values[SPIN_UP + 150 :, place][::-1]
    changed = type(seasons)(seasons.years, False, warm, seasons.observed, seasons.day_of_year, {})
    first = hindcast(seasons, SITE, issued=150, sown=80, deadlines=[200, 240])
    second = hindcast(changed, SITE, issued=150, sown=80, deadlines=[200, 240])
    assert np.array_equal(first.forecast[..., place], second.forecast[..., place])
    assert np.array_equal(first.climatology[..., place], second.climatology[..., place])
    assert not np.array_equal(first.forecast, second.forecast)
    assert first.forecast.shape == (2, 4, seasons.years.size)
    assert DAYS > 240


def test_dry_days_count_only_when_told_to() -> None:
    record = wave_weather(mean=8.0, last="2006-12-31").assign(precipitation=0.0)
    seasons = cut_seasons(record, southern=False)
    wet = hindcast(seasons, SITE, 150, 80, [240], dry_counts=True)
    as_modelled = hindcast(seasons, SITE, 150, 80, [240])
    assert (wet.happened >= as_modelled.happened).all()
    assert wet.happened.any()
