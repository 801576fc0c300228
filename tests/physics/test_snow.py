"""The snow pack: water balance, published conductivities, and how it behaves at its edges."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.physics.coefficients import coefficients_of
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.physics.snow import snow_step, sturm_conductivity

C = coefficients_of(WITH_PRECIPITATION)


@pytest.mark.parametrize(("density", "expected"), [(0.1, 0.04640), (0.2, 0.06532), (0.3, 0.12597), (0.4, 0.25128)])
def test_conductivity_of_sturm(density, expected):
    """Sturm et al. 1997, J. Glaciology 43:26-41, quadratic above 0.156 g cm-3 and linear below."""
    assert sturm_conductivity(density) == pytest.approx(expected, abs=5e-6)


@given(st.floats(0, 2000), st.floats(0, 5), st.floats(-50, 45), st.floats(0, 300), st.floats(0, 35))
def test_water_is_kept_and_depth_is_sane(water, looseness, mean, precipitation, sunshine):
    depth = water * (C.old_snow_bulk + looseness)
    day = snow_step(water, depth, mean, precipitation, sunshine, C)
    assert day.water + day.liquid == pytest.approx(water + precipitation, rel=1e-12, abs=1e-9)
    assert day.water >= 0
    assert day.liquid >= -1e-9
    assert 0 <= day.cover < 1
    assert day.depth >= day.water * C.old_snow_bulk - 1e-6
    assert (day.depth == 0) == (day.water == 0)
    assert day.resistance >= 0


def test_snow_falls_lies_settles_and_melts():
    fresh = snow_step(np.float64(0), np.float64(0), -10.0, 20.0, 5.0, C)
    assert fresh.water == pytest.approx(20.0)
    old = fresh
    for _ in range(60):
        old = snow_step(old.water, old.depth, -10.0, 0.0, 5.0, C)
    assert old.water == pytest.approx(20.0)
    assert old.depth < fresh.depth
    for _ in range(30):
        old = snow_step(old.water, old.depth, 8.0, 0.0, 15.0, C)
    assert old.water == 0
    assert old.depth == 0


def test_a_deep_pack_insulates_more_than_a_thin_one():
    thin = snow_step(np.float64(20), np.float64(100), -5.0, 0.0, 5.0, C)
    deep = snow_step(np.float64(100), np.float64(500), -5.0, 0.0, 5.0, C)
    assert deep.resistance > 4 * thin.resistance


@pytest.mark.parametrize("density", [0.17, 0.2, 0.25])
def test_a_pack_conducts_as_sturm_measured_times_the_fitted_factor(density):
    """Sturm et al. 1997, the quadratic; what a pack conducts is its depth over its resistance."""
    water = 300.0
    day = snow_step(np.float64(water), np.float64(water / density), -20.0, 0.0, 0.0, C)
    published = sturm_conductivity(day.water / day.depth)
    conductivity = day.depth / 1000 / day.resistance
    assert conductivity == pytest.approx(published * WITH_PRECIPITATION.snow_conductivity, rel=1e-6)
