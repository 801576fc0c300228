"""Dawn and dusk against the NREL solar calculator, and above the polar circle."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.physics.sun_times import clock_of, sun_times


def test_dawn_and_dusk_belong_to_the_same_local_day_in_the_west() -> None:
    """Golden, Colorado: sunrise 07:21:55 and sunset 16:47:43 MST on 2 January 2015 (NREL solar position calculator).

    Civil twilight there and then lasts about half an hour (common practice, no source).
    """
    sun = sun_times(39.742476, -105.1786, date(2015, 1, 2), "America/Denver")
    assert sun.begins is not None and sun.ends is not None
    assert sun.begins.date() == sun.ends.date() == date(2015, 1, 2)
    assert "06:49" <= sun.words[0] <= "06:56"
    assert "17:14" <= sun.words[1] <= "17:21"


def test_polar_night_and_polar_day_are_answers() -> None:
    far_north = 85.0  # the sun stays more than 6 degrees below the horizon at midwinter
    assert sun_times(far_north, 20.0, date(2026, 12, 21)).light == "dark all day"
    assert sun_times(far_north, 20.0, date(2026, 12, 21)).minutes == 0
    assert sun_times(far_north, 20.0, date(2026, 6, 21)).minutes == 1440
    assert sun_times(far_north, 20.0, date(2026, 6, 21)).words == ("00:00", "24:00")


def test_there_is_twilight_to_work_by_in_the_polar_night_of_tromso() -> None:
    sun = sun_times(69.65, 18.96, date(2026, 12, 21), "Europe/Oslo")
    assert sun.light == "day and night"
    assert 180 < sun.minutes < 360


@settings(max_examples=60, deadline=None)
@given(st.floats(-65, 65), st.floats(-180, 180), st.integers(0, 364))
def test_light_lasts_less_than_a_day_and_is_longer_than_half_of_one_in_summer(
    latitude: float, longitude: float, offset: int
) -> None:
    sun = sun_times(latitude, longitude, date(2026, 1, 1) + timedelta(days=offset))
    assert 0 < sun.minutes <= 1440
    mirror = sun_times(-latitude, longitude, date(2026, 1, 1) + timedelta(days=offset))
    assert sun.minutes + mirror.minutes > 1440  # twilight at both ends makes the two together longer than a day


def test_unknown_time_zone_is_told() -> None:
    with pytest.raises(InputError, match="time zone 'Mars/Olympus' is not known: give an IANA name"):
        sun_times(40.0, 0.0, date(2026, 1, 1), "Mars/Olympus")


def test_mean_solar_time_is_four_minutes_a_degree_ahead_in_the_east() -> None:
    """The sun crosses 360 degrees in 24 hours, from east to west."""
    assert clock_of(15.0, None).utcoffset(None) == timedelta(hours=1)
    assert clock_of(-75.0, None).utcoffset(None) == timedelta(hours=-5)
