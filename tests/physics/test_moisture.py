"""The water stores: balance, bounds, and FAO-56's worked example of the demand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.physics.coefficients import coefficients_of
from chillplan.physics.moisture import evaporation_demand, moisture_step
from chillplan.physics.parameters import WITH_PRECIPITATION

C = coefficients_of(WITH_PRECIPITATION)


def test_demand_of_fao_example_20():
    """FAO-56 Example 20: Lyon, July, 26.6 and 14.8 °C, Ra 40.6 MJ (16.55 mm): 5.0 mm a day."""
    assert evaporation_demand(20.7, np.sqrt(26.6 - 14.8), 40.6, C) == pytest.approx(5.0, abs=0.05)
    assert evaporation_demand(-30.0, 3.0, 10.0, C) == 0


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 400), st.floats(0, 15))
def test_water_is_kept(seed, root, liquid, demand):
    before = root * C.root_capacity
    day = moisture_step(seed * C.seed_capacity, before, liquid, demand, C)
    assert before + liquid == pytest.approx(day.root + day.evaporated + day.drained, abs=1e-9)
    assert 0 <= day.seed <= C.seed_capacity
    assert 0 <= day.root <= C.root_capacity
    assert day.drained >= 0


def test_a_dry_spell_empties_the_seed_zone_and_rain_fills_it():
    seed, root = np.float64(C.seed_capacity), np.float64(C.root_capacity)
    for _ in range(120):
        day = moisture_step(seed, root, 0.0, 6.0, C)
        assert day.seed < seed
        seed, root = day.seed, day.root
    assert seed < 0.1 * C.seed_capacity
    assert moisture_step(seed, root, 60.0, 0.0, C).seed == C.seed_capacity
