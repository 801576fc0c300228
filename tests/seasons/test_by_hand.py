"""Numbers of the seasons worked out by hand, with each limit tried on either side."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta

from chillplan.errors import InputError
from chillplan.seasons.chance import frost_dates, jeffreys_interval, jeffreys_intervals, percentiles
from chillplan.seasons.chill import chill_days, cold_days, counted_share, effective_chill
from chillplan.seasons.dates import first_frost, last_frost, running_mean, soil_warming_day
from chillplan.seasons.response import EDGES, USUAL, response_share
from chillplan.seasons.trend import trend

# Chill of a day.


@pytest.mark.parametrize(
    ("temperature", "share"),
    [
        (-2.0, 0.0),
        (-1.25, 0.25),
        (1.0, 1.0),
        (7.0, 1.0),
        (8.0, 0.8),
        (11.0, 0.2),
        (12.0, 0.0),
        (-3.0, 0.0),
        (13.0, 0.0),
        (float("nan"), 0.0),
    ],
)
def test_a_single_day_counts_as_an_array_of_days_does(temperature: float, share: float) -> None:
    assert response_share(temperature, USUAL) == pytest.approx(share)
    assert counted_share(np.array([temperature]), *USUAL)[0] == pytest.approx(share, abs=1e-5)


def test_chill_is_counted_in_whole_parts_of_a_day() -> None:
    """A third of a day is 21845 of its 65536 parts."""
    assert counted_share(np.array([-1.0]), *USUAL)[0] == 21845 / 65536


def test_an_edge_that_is_moved_leaves_the_other_where_it_is() -> None:
    assert [edge.moved((1.0, 2.0, 3.0, 4.0)) for edge in EDGES] == [
        (-5.0, 0.0, 3.0, 4.0),
        (1.0, 2.0, 10.0, 12.0),
        (1.0, 2.0, 7.0, 9.0),
    ]


def test_chill_days_and_cold_days_hold_their_limits() -> None:
    days = np.array([-0.1, 0.0, 5.0, 5.1, 10.0, 10.1])
    assert chill_days(days, np.ones(6, dtype=bool)) == 4.0
    assert cold_days(days) == 3.0
    assert cold_days(days, 0.0) == 2.0
    assert effective_chill(days, np.array([True, True, False, True, False, True])) == pytest.approx(
        1.9 / 3 + 2.0 / 3 + 1.0 + 1.9 / 5, abs=1e-4
    )


# Dates.


def test_frost_at_the_threshold_is_frost_from_the_first_day_to_the_last() -> None:
    minimum = np.full((365, 3), 5.0)
    minimum[[0, 364], 0] = -2.0
    minimum[40, 1] = -1.99
    assert first_frost(minimum, -2.0).tolist() == [0.0, np.inf, np.inf]
    assert last_frost(minimum, -2.0).tolist() == [364.0, -np.inf, -np.inf]
    assert (first_frost(minimum)[1], last_frost(minimum)[1]) == (40.0, 40.0)


def test_a_running_mean_by_hand() -> None:
    values = np.array([1.0, 2.0, 6.0, np.nan, 8.0])
    assert running_mean(values, 1).tolist()[:3] == [1.0, 2.0, 6.0]
    assert np.isnan(running_mean(values, 1)[3]), "a run without a value has no mean"
    assert running_mean(values, 3)[2:].tolist() == [3.0, 4.0, 7.0]
    assert np.isnan(running_mean(values, 3)[:2]).all()
    assert np.isnan(running_mean(values, 3, missing_allowed=0)[3:]).all()
    assert running_mean(values, 5)[4] == 17.0 / 4.0
    assert np.isnan(running_mean(values, 6)).all()


def test_the_soil_is_warm_from_the_day_its_mean_reaches_the_threshold() -> None:
    """Daily values: warm, cold from day 5, 10 °C on day 12 exactly, and a warm spell before the cold that is none."""
    soil = np.array([12.0, 12.0, 11.0, 11.0, 10.0, 3.0, 2.0, 2.0, 4.0, 9.0, 9.0, 9.9, 10.0, 12.0])
    assert soil_warming_day(soil, 10.0, run=1) == 12.0
    assert soil_warming_day(soil, 12.5, run=1) == np.inf
    assert soil_warming_day(soil, 2.0, run=1) == -np.inf
    assert soil_warming_day(soil, 2.01, run=1) == 8.0
    assert soil_warming_day(soil, 9.5, run=2) == 12.0
    assert np.isfinite(soil_warming_day(np.r_[np.full(20, 12.0), np.full(40, 2.0), np.full(40, 12.0)], run=31))


@pytest.mark.parametrize("run", [0, 32])
def test_a_run_that_is_no_length_is_refused_in_words(run: int) -> None:
    with pytest.raises(InputError) as caught:
        soil_warming_day(np.zeros(40), run=run)
    assert str(caught.value) == f"run {run} is outside 1 to 31 days: give the length of the running mean"


# Chances.


def test_percentiles_by_hand() -> None:
    """Of 9 values the tenth lies on the first rank; of 4 with ranks at fifths, half lies between the middle two."""
    assert percentiles(np.arange(1.0, 10.0)).tolist() == pytest.approx([1.0, 5.0, 9.0])
    assert percentiles([10.0, 20.0, 40.0, np.nan, 80.0], (0.1, 0.3, 0.5, 0.95)) == pytest.approx(
        [10.0, 15.0, 30.0, 80.0]
    )
    assert percentiles([-np.inf, 10.0, 20.0], (0.25, 0.374, 0.375, 0.5)).tolist() == [-np.inf, -np.inf, 10.0, 10.0]
    assert percentiles([10.0, 20.0, np.inf], (0.624, 0.625)).tolist() == [20.0, np.inf]
    two = percentiles(np.array([[1.0, np.nan], [3.0, 5.0], [2.0, np.nan]]), (0.5,))
    assert two.tolist() == [[2.0, 5.0]]
    nothing = percentiles(np.empty((0, 2)))
    assert nothing.shape == (3, 2)
    assert np.isnan(nothing).all()


def test_many_intervals_are_each_the_one_of_their_counts() -> None:
    low, high = jeffreys_intervals([[3, 0], [10, 3]], 10, 0.8)
    assert low.shape == high.shape == (2, 2)
    for place, good in np.ndenumerate([[3, 0], [10, 3]]):
        assert (low[place], high[place]) == jeffreys_interval(int(good), 10, 0.8)
    assert jeffreys_interval(5, 10, 0.8) == pytest.approx(tuple(beta(5.5, 5.5).ppf([0.1, 0.9])))
    assert jeffreys_interval(3, 10) == tuple(float(end) for end in jeffreys_intervals(3, 10))


def test_impossible_counts_are_refused_in_words() -> None:
    with pytest.raises(InputError) as caught:
        jeffreys_interval(4, 3)
    assert str(caught.value) == "4 good of 3 winters is impossible: give 0 to n good of at least one winter"
    assert jeffreys_interval(1, 1)[1] == 1.0
    assert jeffreys_interval(0, 1)[0] == 0.0


def test_frost_dates_by_hand() -> None:
    """Five dates with mean 110 and spread 15.81 in eight winters, of which one has no answer and two no frost."""
    found = frost_dates([90.0, 100.0, 110.0, 120.0, 130.0, -np.inf, -np.inf, np.nan], last=True)
    assert (found.with_frost, found.winters, found.mean) == (5, 7, 110.0)
    assert found.spread == pytest.approx(np.sqrt(250.0))
    assert found.chance_of_frost == pytest.approx(5 / 7)
    assert found.quantile(1 - 0.5 * 5 / 7) == pytest.approx(110.0)
    assert found.quantile(1 - 0.5 * 5 / 7, normal=True) == pytest.approx(110.0)
    assert found.quantile(1 - 0.158655 * 5 / 7, normal=True) == pytest.approx(110.0 + np.sqrt(250.0), abs=1e-3)
    assert found.quantile(2 / 7) == -np.inf
    assert found.quantile(2 / 7 + 0.01) == 90.0
    assert [found.chance_after(day) for day in (89.0, 90.0, 130.0)] == pytest.approx([5 / 7, 4 / 7, 0.0])
    assert found.chance_after(110.0 + np.sqrt(250.0), normal=True) == pytest.approx(0.158655 * 5 / 7, abs=1e-5)
    autumn = frost_dates([90.0, 100.0, 110.0, np.inf], last=False)
    assert (autumn.quantile(0.75), autumn.quantile(0.375)) == (np.inf, 100.0)
    assert np.isnan([autumn.mean, autumn.spread]).all(), "three dates do not tell their spread"
    assert np.isnan(frost_dates([1.0, 2.0, 3.0, 4.0], last=True).mean)
    never = frost_dates([np.inf] * 3, last=False)
    assert (never.quantile(0.1), never.chance_after(0.0)) == (np.inf, 0.0)
    nothing = frost_dates([], last=True)
    assert np.isnan([nothing.chance_of_frost, nothing.chance_after(0.0)]).all()
    for share in (0.0, 1.0):
        with pytest.raises(InputError, match=rf"^share {share:g} is not between 0 and 1: give for example 0\.9$"):
            never.quantile(share)


# Trend.


def test_a_trend_by_hand() -> None:
    """1, 3, 2, 5: five pairs rise, one falls; S = 4, variance 4·3·13/18 = 8.667, z = 3/2.944; slopes in order
    -1, 0.5, 1, 4/3, 2, 3, the middle two 1 and 4/3."""
    found = trend([1.0, 3.0, 2.0, 5.0])
    assert (found.score, found.count) == (4.0, 4)
    assert found.variance == pytest.approx(26 / 3)
    assert found.z == pytest.approx(3 / np.sqrt(26 / 3))
    assert found.probability == pytest.approx(0.308180, abs=1e-5)
    assert found.slope == pytest.approx(7 / 6)
    assert found.per_decade == pytest.approx(70 / 6)
    assert np.isnan([found.slope_low, found.slope_high]).all(), "six slopes are too few for an interval"
    assert not found.clear


def test_the_interval_of_a_trend_by_hand() -> None:
    """Seven values: 21 slopes, variance 7·6·19/18 = 44.33, C = 1.96·6.658 = 13.05; ranks 4 and 18."""
    values = np.array([0.0, 1.5, 1.0, 4.0, 3.0, 7.0, 6.5])
    slopes = sorted((values[j] - values[i]) / (j - i) for i in range(7) for j in range(i + 1, 7))
    found = trend(values)
    assert (found.slope_low, found.slope_high) == pytest.approx((slopes[3], slopes[17]))
    assert found.slope == pytest.approx(slopes[10])


def test_ties_lower_the_variance_and_infinities_keep_their_order() -> None:
    """Five values with one pair alike: (5·4·15 - 2·1·9)/18 = 15.667; equal infinities differ by nothing."""
    tied = trend([1.0, 2.0, 2.0, 3.0, 4.0])
    assert tied.variance == pytest.approx(282 / 18)
    assert (tied.score, tied.z) == (9.0, pytest.approx(8 / np.sqrt(282 / 18)))
    endless = trend([-np.inf, -np.inf, 5.0, 6.0])
    assert (endless.score, endless.slope) == (5.0, np.inf)
    assert trend([3.0, 1.0, 2.0], [1, 2, 3]).count == 3
    assert np.isnan(trend([3.0, 1.0, np.nan, 2.0]).slope)
    backwards = trend([5.0, 2.0, 3.0, 1.0], [2003, 2002, 2001, 2000])
    assert (backwards.score, backwards.slope) == (4.0, pytest.approx(7 / 6))
    for values, years in (([1.0, 2.0], [1]), ([[1.0], [2.0]], [[1], [2]])):
        with pytest.raises(InputError, match=r"give one year for each value$"):
            trend(values, years)
