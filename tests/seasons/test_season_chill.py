from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.seasons.chill import chill_days, cold_days, effective_chill, trapezoid

CORNERS = (-2.0, 1.0, 7.0, 12.0)


@pytest.mark.parametrize(
    ("temperature", "share"),
    [(-2.0, 0.0), (-0.5, 0.5), (1.0, 1.0), (4.0, 1.0), (7.0, 1.0), (9.5, 0.5), (12.0, 0.0), (30.0, 0.0), (-40.0, 0.0)],
)
def test_trapezoid_by_hand(temperature: float, share: float) -> None:
    assert trapezoid(temperature, *CORNERS) == pytest.approx(share)


def test_missing_days_count_nothing() -> None:
    temperature = np.array([[4.0], [np.nan], [4.0]])
    moist = np.ones((3, 1), dtype=bool)
    assert effective_chill(temperature, moist) == pytest.approx([2.0])
    assert chill_days(temperature, moist) == pytest.approx([2.0])
    assert cold_days(temperature) == pytest.approx([2.0])


def test_dry_days_give_no_chill_but_are_cold() -> None:
    temperature = np.full((30, 2), 4.0)
    moist = np.ones((30, 2), dtype=bool)
    moist[:10, 1] = False
    assert chill_days(temperature, moist) == pytest.approx([30.0, 20.0])
    assert effective_chill(temperature, moist) == pytest.approx([30.0, 20.0])
    assert cold_days(temperature) == pytest.approx([30.0, 30.0])


# Common practice, no source: cold moist stratification usually lasts 30 to 60 days near freezing, so a refrigerator at
# 1 to 5 °C must count as whole chill days.
@pytest.mark.parametrize("fridge", [1.0, 3.0, 4.0, 5.0])
def test_a_day_in_a_refrigerator_is_a_whole_chill_day(fridge: float) -> None:
    assert trapezoid(fridge, *CORNERS) == pytest.approx(1.0)


@given(st.lists(st.floats(-30, 40), min_size=1, max_size=80))
def test_effective_chill_is_bounded_by_the_days_in_its_range(days: list[float]) -> None:
    temperature = np.array(days)
    chill = float(effective_chill(temperature, np.ones(temperature.shape, dtype=bool)))
    assert 0.0 <= chill <= np.sum((temperature > -2.0) & (temperature < 12.0)) + 1e-9
    assert chill >= np.sum((temperature >= 1.0) & (temperature <= 7.0)) - 1e-9
