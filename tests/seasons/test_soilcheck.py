"""The soil check: its measures on series whose answer is known, and the faults it must find."""

import numpy as np
import pytest

from chillplan.seasons.soil_faults import find_soil_faults, followed_through
from chillplan.seasons.soilcheck import best_lag, compare, winter_spans


def dates(first="2010-01-01", last="2014-12-31"):
    return np.arange(np.datetime64(first), np.datetime64(last) + 1)


def wave(days, seed=3):
    number = np.arange(days.size)
    random = np.random.default_rng(seed)
    wander = np.convolve(random.normal(0, 2, days.size + 4), np.ones(5) / 5, mode="valid")
    return 9 - 11 * np.cos(2 * np.pi * (number - 20) / 365.25) + wander


def test_error_and_bias_of_a_constant_offset():
    days = dates()
    soil = wave(days)
    found = compare(days, soil + 1.5, soil, southern=False)
    assert found.days == days.size
    assert found.rmse == pytest.approx(1.5)
    assert found.bias == pytest.approx(1.5)
    assert found.winters == (2010, 2011, 2012, 2013)
    same = compare(days, soil, soil, southern=False)
    assert same.rmse == 0
    assert same.chill.error == 0
    assert same.chill.agreed == (16, 16)


def test_chill_is_counted_by_hand():
    days = dates("2010-06-01", "2011-08-31")
    soil = np.full(days.size, 20.0)
    winter = slice(92, 92 + 273)
    soil[winter][:100] = 4.0
    model = soil.copy()
    model[winter][90:100] = 9.5
    found = compare(days, model, soil, southern=False)
    assert found.chill.soil == pytest.approx([100.0])
    assert found.chill.model == pytest.approx([95.0])
    assert found.chill.error == pytest.approx(5.0)
    assert found.chill.agreed == (4, 4)
    model[winter][50:100] = 20.0
    assert compare(days, model, soil, southern=False).chill.agreed == (2, 4)


def test_chill_is_counted_to_both_cold_edges() -> None:
    """At -1 °C a third of a day counts, or four fifths where chill counts down to -5 °C; at -4 °C none, or a fifth."""
    days = dates("2010-06-01", "2011-08-31")
    soil = np.full(days.size, 20.0)
    winter = slice(92, 92 + 273)
    soil[winter][:90] = -1.0
    model = soil.copy()
    model[winter][:30] = -4.0
    found = compare(days, model, soil, southern=False)
    assert found.chill.soil == pytest.approx([30.0], abs=0.01)
    assert found.chill.error == pytest.approx(10.0, abs=0.01)
    assert found.chill_to_cold_edge.soil == pytest.approx([72.0], abs=0.01)
    assert found.chill_to_cold_edge.error == pytest.approx(18.0, abs=0.01)
    assert (found.chill.agreed, found.chill_to_cold_edge.agreed) == ((4, 4), (3, 4))


def test_a_winter_may_miss_three_per_cent():
    days = dates()
    soil = wave(days)
    soil[np.flatnonzero(days == np.datetime64("2010-11-01"))[0] :][:8] = np.nan
    assert [year for year, _ in winter_spans(days, soil, southern=False)] == [2010, 2011, 2012, 2013]
    soil[np.flatnonzero(days == np.datetime64("2010-12-01"))[0]] = np.nan
    assert [year for year, _ in winter_spans(days, soil, southern=False)] == [2011, 2012, 2013]


def test_southern_winters_are_cut_six_months_later():
    days = dates()
    spans = winter_spans(days, wave(days), southern=True)
    assert [year for year, _ in spans] == [2010, 2011, 2012, 2013, 2014]
    assert str(days[spans[0][1]][0]) == "2010-03-01"
    assert str(days[spans[0][1]][-1]) == "2010-11-30"


@pytest.mark.parametrize("lag", [-2, -1, 0, 1, 3])
def test_the_lag_is_found(lag):
    days = dates()
    soil = wave(days)
    assert best_lag(np.roll(soil, -lag), soil) == lag


def test_no_lag_is_told_from_too_little():
    assert best_lag(np.arange(30.0), np.arange(30.0)) is None
    assert best_lag(np.zeros(400), np.zeros(400)) is None


def test_no_days_is_an_answer():
    days = dates()
    found = compare(days, wave(days), np.full(days.size, np.nan), southern=False)
    assert (found.days, found.winters) == (0, ())
    assert np.isnan([found.rmse, found.bias, found.chill.error, found.chill.agreement]).all()


def test_fahrenheit_and_kelvin_are_recognised():
    model = wave(dates())
    soil = model + np.random.default_rng(1).normal(0, 1, model.size)
    assert find_soil_faults(soil, model).unit is None
    assert find_soil_faults(soil * 1.8 + 32, model).unit == "fahrenheit"
    kelvin = find_soil_faults(soil + 273.15, model)
    assert kelvin.unit == "kelvin"
    assert not kelvin.possible.any()
    assert "convert them to °C" in kelvin.notes[0]


def test_spikes_stuck_sensors_and_impossible_values_are_named():
    model = wave(dates())
    soil = model.copy()
    soil[300] += 15
    soil[600:640] = 14.2
    soil[900] = 85.0
    found = find_soil_faults(soil, model)
    assert not found.good[[300, 620, 900]].any()
    assert found.possible[[300, 620]].all()
    assert not found.possible[900]
    assert found.good.sum() == soil.size - 42
    text = " ".join(found.notes)
    assert "1 soil value outside -50 to 70 °C" in text
    assert "1 soil value more than 8 °C away from both neighbouring days" in text
    assert "40 soil values in runs of 20 or more equal days" in text


def test_still_ground_under_snow_is_not_a_stuck_sensor():
    model = wave(dates())
    soil = model.copy()
    soil[700:760] = 0.2
    assert find_soil_faults(soil, model).good.all()


def test_gaps_follow_the_usual_course():
    days = dates()
    series = wave(days)
    day_of_year = (days - days.astype("datetime64[Y]")).astype(int) + 1
    holed = series.copy()
    holed[400:440] = np.nan
    filled = followed_through(holed, day_of_year)
    assert np.abs(filled - series)[400:440].mean() < 2
    np.testing.assert_array_equal(np.delete(filled, np.s_[400:440]), np.delete(series, np.s_[400:440]))
    np.testing.assert_array_equal(followed_through([1.0, np.nan, 3.0], [1, 2, 3]), [1, 2, 3])
