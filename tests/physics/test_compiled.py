"""The compiled day and the array day are the same source: they must agree bit for bit."""

import numpy as np
import pytest

from chillplan.physics.climate import Climate
from chillplan.physics.coefficients import cast, coefficients_of
from chillplan.physics.compiled import compiled_day_step
from chillplan.physics.day import Place, State, Weather, day_step
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.physics.seed_zone import place_of, starting_state


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_compiled_equals_arrays(kind):
    from numba import njit

    step = compiled_day_step()

    @njit(error_model="numpy")
    def run(state, weather, place, c, out):
        for i in range(out.shape[1]):
            now = State(
                state[0][i], state[1][i], state[2][i], state[3][i], state[4][i], state[5][i], state[6][i], state[7][i]
            )
            for day in range(out.shape[0]):
                today = Weather(
                    weather[0][day, i], weather[1][day, i], weather[2][day, i], weather[3][day, i], weather[4][day, i]
                )
                now, result = step(now, today, place, c)
                out[day, i] = result.temperature

    random = np.random.default_rng(5)
    days, places = 200, 40
    season = 12 * np.sin(np.arange(days) / 40)[:, None]
    tmin = (season + random.normal(0, 6, (days, places)) - 4).astype(kind)
    tmax = (tmin + random.uniform(0, 18, (days, places))).astype(kind)
    water = (random.gamma(0.2, 10, (days, places))).astype(kind)
    sky = random.uniform(8, 42, (days, places)).astype(kind)
    weather = Weather(tmin, tmax, water, sky, sky)
    climate = Climate(np.full(places, 7.0), np.full(places, 0.8))
    state = starting_state(tmin[:30], tmax[:30], climate, WITH_PRECIPITATION, kind)
    place = place_of(WITH_PRECIPITATION, 0.8, "short grass", 2.0, None, kind)
    c = coefficients_of(WITH_PRECIPITATION)
    compiled = np.empty((days, places), dtype=kind)
    run(tuple(state), tuple(weather), Place(*(kind(value) for value in place)), cast(c, kind), compiled)
    arrays = np.empty_like(compiled)
    for day in range(days):
        state, result = day_step(state, Weather(*(series[day] for series in weather)), place, c)
        arrays[day] = result.temperature
    assert arrays.dtype == kind
    np.testing.assert_array_equal(arrays, compiled)
