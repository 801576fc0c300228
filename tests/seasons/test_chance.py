"""What a number from a few dozen winters is worth, and frost dates as a mixed distribution."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.seasons.chance import frost_dates, jeffreys_interval, percentiles, plotting_positions

# Brown, Cai and DasGupta (2001), Statistical Science 16:101-133, Jeffreys 95 % intervals; the digits were computed with
# the reference library statsmodels (proportion_confint, method "jeffreys").
REFERENCE = [
    (0, 10, 0.0, 0.2172),
    (1, 10, 0.0110, 0.3813),
    (3, 10, 0.0927, 0.6058),
    (5, 10, 0.2235, 0.7765),
    (9, 10, 0.6187, 0.9890),
    (15, 30, 0.3280, 0.6720),
    (24, 30, 0.6334, 0.9119),
    (27, 30, 0.7566, 0.9710),
    (28, 30, 0.8029, 0.9859),
    (30, 30, 0.9203, 1.0),
]


@pytest.mark.parametrize(("good", "winters", "low", "high"), REFERENCE)
def test_jeffreys_interval_as_published(good: int, winters: int, low: float, high: float) -> None:
    assert jeffreys_interval(good, winters) == pytest.approx((low, high), abs=6e-5)


@pytest.mark.parametrize(("good", "winters"), [(4, 3), (-1, 3), (0, 0)])
def test_impossible_counts_are_refused(good: int, winters: int) -> None:
    with pytest.raises(InputError, match="impossible"):
        jeffreys_interval(good, winters)


@given(st.integers(1, 80).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_interval_holds_the_share_and_mirrors(case: tuple[int, int]) -> None:
    good, winters = case
    low, high = jeffreys_interval(good, winters)
    assert 0.0 <= low <= good / winters <= high <= 1.0
    mirrored = jeffreys_interval(winters - good, winters)
    assert (1.0 - mirrored[1], 1.0 - mirrored[0]) == pytest.approx((low, high), abs=1e-9)


@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=50))
def test_percentiles_are_weibull_positions(values: list[float]) -> None:
    expected = np.quantile(values, [0.1, 0.5, 0.9], method="weibull")
    assert percentiles(values) == pytest.approx(expected, abs=1e-9)


def test_percentiles_of_winters_without_frost() -> None:
    frosty = [100.0, 110.0, 120.0]
    low, middle, high = percentiles([-np.inf] * 7 + frosty)
    assert (low, middle) == (-np.inf, -np.inf)
    assert high == pytest.approx(119.0)


def test_percentiles_of_nothing() -> None:
    assert np.isnan(percentiles([np.nan, np.nan])).all()


# Milwaukee, 30 winters 1981-2010, minimum at or below 0.0 °C: day of year (as in a year of 365 days) of the last
# frost of spring, from GHCN-Daily station USW00014839.
LAST = [94, 98, 99, 99, 100, 100, 101, 102, 105, 108, 108, 111, 111, 111, 112, 113, 114, 115, 118, 118, 118, 119]
LAST += [120, 120, 123, 124, 127, 133, 136, 137]


def test_hand_worked_plotting_positions() -> None:
    np.testing.assert_allclose(plotting_positions(4), [0.2, 0.4, 0.6, 0.8])


def test_quantiles_of_a_city_with_frost_every_winter() -> None:
    """Weibull positions: rank 27.9 of 30 lies between 127 and 133; rank 15.5 between 112 and 113; rank 3.1 is 99."""
    dates = frost_dates(LAST, last=True)
    assert dates.quantile(0.9) == pytest.approx(127 + 0.9 * 6)
    assert dates.quantile(0.5) == pytest.approx(112.5)
    assert dates.quantile(0.1) == pytest.approx(99.0)
    normal = [(date(2001, 1, 1) + timedelta(days=round(dates.quantile(s, normal=True)) - 1)) for s in (0.9, 0.5, 0.1)]
    # Normal method with mean 113.1 and spread 11.5 (Thom and Shaw 1958): 8 May, 23 April, 8 April.
    assert [f"{day:%m/%d}" for day in normal] == ["05/08", "04/23", "04/08"]


def test_official_normals_within_four_days() -> None:
    """U.S. normals 1981-2010, Milwaukee, 32 °F: last frost median 04/22, exceeded in nine of ten 04/08."""
    dates = frost_dates(LAST, last=True)
    for share, official in ((0.5, date(2001, 4, 22)), (0.1, date(2001, 4, 8))):
        for normal in (False, True):
            found = date(2001, 1, 1) + timedelta(days=round(dates.quantile(share, normal)) - 1)
            assert abs((found - official).days) <= 4


def test_winters_without_frost_are_an_answer() -> None:
    last = frost_dates([-np.inf, -np.inf, -np.inf, 150, 155, 160, 165, 170, 175, 180], last=True)
    assert last.chance_of_frost == pytest.approx(0.7)
    assert last.quantile(0.2) == -np.inf
    # In 0.65 of winters the date is not exceeded: 0.35 / 0.7 = half of the winters with frost.
    assert last.quantile(0.65) == pytest.approx(165.0)
    assert last.chance_after(160.0) == pytest.approx(0.4)
    first = frost_dates([np.inf, 90, 95, 100, 105, 110], last=False)
    assert first.quantile(0.95) == np.inf
    assert first.quantile(5 / 12) == pytest.approx(100.0)


def test_no_frost_at_all_and_no_winters() -> None:
    never = frost_dates([-np.inf] * 8, last=True)
    assert never.chance_of_frost == 0.0
    assert never.quantile(0.9) == -np.inf
    assert never.chance_after(0.0) == 0.0
    nothing = frost_dates([np.nan, np.nan], last=True)
    assert np.isnan(nothing.quantile(0.5))
    with pytest.raises(InputError, match="share 1 is not between 0 and 1"):
        never.quantile(1.0)


@given(st.lists(st.one_of(st.just(float("inf")), st.integers(40, 150).map(float)), min_size=5, max_size=60))
def test_quantiles_rise_with_the_share(days: list[float]) -> None:
    dates = frost_dates(days, last=False)
    found = [dates.quantile(share) for share in np.linspace(0.02, 0.98, 25)]
    assert all(later >= earlier for earlier, later in pairwise(found))
    mirrored = frost_dates([-day for day in days], last=True)
    assert mirrored.quantile(0.3) == pytest.approx(-dates.quantile(0.7))


def test_official_normals_from_the_record_itself(observations: Path) -> None:
    """Milwaukee from the daily record by the normal method, U.S. normals 1981-2010, 32 °F.

    The normals are not plain order statistics of the record: its own median first frost is 4.5 days earlier.
    """
    from chillplan.seasons.cut import SPIN_UP, cut_seasons, season_start
    from chillplan.seasons.dates import first_frost, last_frost
    from chillplan.weather.read import load_history

    history = load_history([observations / "milwaukee_WI_noaa_export_fahrenheit.csv"])
    seasons = cut_seasons(history.daily, False, (1980, 2010))
    tmin = seasons.daily["tmin"][SPIN_UP:]
    spring = frost_dates(last_frost(tmin[:, :-1], 0.0), last=True)
    autumn = frost_dates(first_frost(tmin[:, 1:], 0.0), last=False)
    start = season_start(2000, False)
    for dates, share, official in (
        (spring, 0.5, date(2001, 4, 22)),
        (spring, 0.1, date(2001, 4, 8)),
        (autumn, 0.5, date(2000, 10, 23)),
        (autumn, 0.9, date(2000, 11, 6)),
    ):
        found = start + timedelta(days=round(dates.quantile(share, normal=True)))
        assert abs((found - official).days) <= 4, (share, found)
