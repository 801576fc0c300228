"""The base of a snow pack: never above 0 °C over unfrozen ground, and what that melts."""

import numpy as np
import pytest

from chillplan.physics.coefficients import HEAT_OF_FUSION, WATT_DAY, coefficients_of
from chillplan.physics.day import State, Weather, above_step, day_step, surface_step
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.physics.seed_zone import place_of

C = coefficients_of(WITH_PRECIPITATION)
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
