"""Scores of forecasts of chances."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from examples.season_hindcast.splices import brier_score, brier_skill, chance, reliability

PAIRS = st.lists(st.tuples(st.floats(0, 1), st.booleans()), min_size=1, max_size=50)


def test_brier_score_of_certain_and_of_undecided_forecasts() -> None:
    # By the definition of Brier (1950), Monthly Weather Review 78:1-3, halved for two classes.
    assert brier_score([1.0, 0.0], [True, False]) == 0.0
    assert brier_score([1.0, 0.0], [False, True]) == 1.0
    assert brier_score([0.5, 0.5], [True, False]) == 0.25
    assert brier_score([0.7, 0.7, 0.3], [True, True, False]) == pytest.approx(0.09)


def test_skill_over_a_reference() -> None:
    assert brier_skill([1.0, 0.0], [0.5, 0.5], [True, False]) == 1.0
    assert brier_skill([0.5, 0.5], [0.5, 0.5], [True, False]) == 0.0
    assert brier_skill([0.0, 1.0], [0.5, 0.5], [True, False]) == -3.0
    assert np.isnan(brier_skill([0.5], [1.0], [True]))


def test_chance_is_the_mean_of_the_jeffreys_posterior() -> None:
    # Beta(k + 1/2, n - k + 1/2) has the mean (k + 1/2) / (n + 1): Brown, Cai, DasGupta (2001), Statistical Science 16.
    assert chance([True] * 3 + [False] * 7) == pytest.approx(3.5 / 11)
    assert chance(np.zeros((2, 9), bool)).tolist() == [0.05, 0.05]


@given(PAIRS)
def test_reliability_classes_hold_every_forecast_once(pairs: list[tuple[float, bool]]) -> None:
    forecast, happened = zip(*pairs, strict=True)
    rows = reliability(forecast, happened)
    assert sum(row.forecasts for row in rows) == len(pairs)
    assert sum(row.forecasts * row.mean_forecast for row in rows) == pytest.approx(sum(forecast))
    assert sum(row.forecasts * row.share_observed for row in rows) == pytest.approx(sum(happened))
    assert all(row.low - 1e-12 <= row.mean_forecast <= row.high + 1e-12 for row in rows)


@given(PAIRS)
def test_the_score_stays_between_none_and_one(pairs: list[tuple[float, bool]]) -> None:
    forecast, happened = zip(*pairs, strict=True)
    assert 0.0 <= brier_score(forecast, happened) <= 1.0
