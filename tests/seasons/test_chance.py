from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.seasons.chance import jeffreys_interval, percentiles

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
