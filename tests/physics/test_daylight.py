"""Sun geometry against FAO-56's worked examples and properties."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.physics import daylight


def day_length(latitude: float, day: int) -> float:
    """FAO-56 eq. 34. [hour]"""
    return float(24 / np.pi * daylight.sunset_hour_angle(latitude, day))


def test_fao_example_8():
    """FAO-56 Example 8: 3 September (J = 246) at 20 S, printed to the digits checked here."""
    assert daylight.inverse_distance(246) == pytest.approx(0.985, abs=5e-4)
    assert daylight.declination(246) == pytest.approx(0.120, abs=5e-4)
    assert daylight.sunset_hour_angle(-20, 246) == pytest.approx(1.527, abs=5e-4)
    assert daylight.extraterrestrial_radiation(-20, 246) == pytest.approx(32.2, abs=0.05)


def test_fao_example_9():
    """FAO-56 Example 9: day length on the same day and place."""
    assert day_length(-20, 246) == pytest.approx(11.7, abs=0.05)


def test_polar_night_and_day():
    assert day_length(80, 355) == 0
    assert day_length(80, 172) == 24
    assert daylight.extraterrestrial_radiation(80, 355) == 0
    assert daylight.beam_ratio(80, 355, 30, 180) == 1
    assert daylight.extraterrestrial_radiation(90, 172) > 40


@pytest.mark.parametrize(("day", "slope"), [(80, 20), (172, 10), (355, 40), (15, 25)])
def test_beam_ratio_of_a_facing_slope_is_that_of_a_displaced_latitude(day, slope):
    """A slope facing the equator receives what level ground receives `slope` degrees nearer the equator, where the
    level day there is not longer than the day here (Liu and Jordan 1960); outside that the sum is limited by sunset."""
    here, there = 45.0, 45.0 - slope
    expected = daylight.extraterrestrial_radiation(there, day) / daylight.extraterrestrial_radiation(here, day)
    tolerance = 0.01 if day_length(there, day) <= day_length(here, day) else 0.05
    got = float(daylight.beam_ratio(here, day, slope, 180))
    if day_length(there, day) <= day_length(here, day) + 1e-6:
        assert got == pytest.approx(float(expected), rel=tolerance)
    else:
        assert got <= float(expected) * 1.01


@given(st.floats(-89, 89), st.integers(1, 366), st.floats(0, 60), st.floats(0, 360))
def test_ratios_are_bounded_and_mirror_across_the_equator(latitude, day, slope, aspect):
    ratio = float(daylight.slope_radiation_ratio(latitude, day, slope, aspect))
    assert 0 <= ratio <= 7
    assert float(daylight.beam_ratio(latitude, day, 0, aspect)) == pytest.approx(1)
    north = float(daylight.beam_ratio(latitude, day, slope, 90))
    west = float(daylight.beam_ratio(latitude, day, slope, 270))
    assert north == pytest.approx(west, rel=1e-6, abs=1e-9)


def test_shade_takes_the_direct_part_only():
    open_ground = float(daylight.slope_radiation_ratio(45, 100, 0, 180))
    shaded = float(daylight.slope_radiation_ratio(45, 100, 0, 180, shade=1.0))
    assert open_ground == pytest.approx(1)
    assert shaded == pytest.approx(0.4)


def test_a_wall_sees_half_the_sky_and_half_the_ground():
    """Liu and Jordan 1960 at 90 degrees: half of the diffuse light and half of what the ground reflects, a fifth."""
    shaded = daylight.slope_radiation_ratio(45.0, 172, 90.0, 0.0, diffuse_share=0.4, shade=1.0)
    assert shaded == pytest.approx(0.4 / 2 + 0.2 / 2)
