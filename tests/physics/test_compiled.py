"""The compiled day and the array day are the same source: they must agree bit for bit."""

import numpy as np
import pytest

from chillplan.physics.climate import Climate
from chillplan.physics.coefficients import coefficients_of
from chillplan.physics.compiled import walk_days
from chillplan.physics.day import Weather, day_step
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.physics.seed_zone import place_of, starting_state


@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_compiled_equals_arrays(kind):
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
    compiled = walk_days(state, weather, place, c, seen=None)
    arrays = np.empty((4, days, places), dtype=kind)
    for day in range(days):
        state, result = day_step(state, Weather(*(series[day] for series in weather)), place, c)
        arrays[:, day] = result
    assert arrays.dtype == kind
    np.testing.assert_array_equal(arrays, compiled)
