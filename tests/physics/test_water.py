"""Water of a place: the two stores in the ground, the snow pack, and the pack's base over unfrozen ground."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.physics.coefficients import HEAT_OF_FUSION, WATT_DAY, coefficients_of
from chillplan.physics.day import State, Weather, above_step, day_step, surface_step
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.physics.seed_zone import place_of
from chillplan.physics.water import evaporation_demand, moisture_step, snow_step

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


def sturm_conductivity(density):
    """Sturm, Holmgren, König and Morris 1997, the quadratic form, of snow of 0 to 0.6 g cm-3. [W m-1 K-1]"""
    return np.where(density < 0.156, 0.023 + 0.234 * density, 0.138 - 1.01 * density + 3.233 * density * density)


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


PLACE = place_of(WITH_PRECIPITATION, 1.0, "short grass", 5.0, None)
COLD = Weather(*map(np.float64, (-6.0, -2.0, 0.0, 10.0, 10.0)))
WARM_GROUND = 4.0


def _under(depth: float) -> State:
    capacity = C.capacity + C.capacity_wet
    heat = np.float64(WARM_GROUND * capacity)
    water = np.float64(depth / C.old_snow_bulk)
    return State(heat, heat, heat, np.float64(WARM_GROUND), water, np.float64(depth), C.seed_capacity, C.root_capacity)


def _first_day(depth: float):
    state = _under(depth)
    air = above_step(state.snow_water, state.snow_depth, COLD, PLACE, C)
    top = surface_step(state.upper, state.seed_water, state.root_water, air, COLD.facing, PLACE, C)
    return state, air, top


def test_a_deep_pack_on_warm_ground_is_driven_from_0_degrees_through_the_grass():
    _, air, top = _first_day(1500.0)
    bare = 1 - air.snow_cover
    assert top.resistance == pytest.approx(bare * C.grass + air.snow_cover * C.grass_under_snow)
    assert abs(top.surface) < 0.2
    state = _under(1500.0)
    for _ in range(60):
        state, outcome = day_step(state, COLD, PLACE, C)
    assert -0.5 < outcome.temperature < 1.0


def test_what_melts_is_the_heat_that_the_ground_gives():
    """Heat through the grass and half the layer over the heat of fusion, 0.334 MJ kg-1 (handbook value)."""
    _, air, top = _first_day(1500.0)
    conductivity = C.conductivity + C.conductivity_wet
    flux = WARM_GROUND / (top.resistance + C.half_upper / conductivity)
    melted = air.snow_water - top.snow_water
    assert melted == pytest.approx(air.snow_cover * flux * WATT_DAY / HEAT_OF_FUSION, rel=1e-9)
    assert melted > 0.5
    assert top.snow_depth / air.snow_depth == pytest.approx(top.snow_water / air.snow_water)


def test_a_thin_pack_in_frost_keeps_its_own_temperature_and_melts_nothing():
    _, air, top = _first_day(15.0)
    assert top.snow_water == air.snow_water
    assert top.surface < -1.0


def test_never_more_melts_than_lies_there():
    state = _under(3.0)._replace(upper=np.float64(60.0))
    mild = Weather(*map(np.float64, (0.5, 1.0, 0.0, 0.0, 0.0)))
    for _ in range(3):
        state, outcome = day_step(state, mild, PLACE, C)
        assert state.snow_water >= 0
        assert outcome.snow_depth >= 0
