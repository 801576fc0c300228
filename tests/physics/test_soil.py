"""Heat in the ground: energy closed to rounding, steady conduction, the yearly wave, and the zero curtain."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.physics.coefficients import coefficients_of
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.physics.soil import Layers, layer_temperature, soil_step, thermal_properties

C = coefficients_of(WITH_PRECIPITATION)
enthalpies = st.floats(-250, 150)


@given(enthalpies, enthalpies, enthalpies, st.floats(-60, 60), st.floats(0.05, 5), st.floats(0, 1))
def test_heat_is_kept(upper, middle, lower, surface, resistance, wet):
    day = soil_step(Layers(upper, middle, lower, 8.0), surface, 8.0, resistance, wet, C)
    after = day.layers
    gained = (after.upper - upper) * C.upper + (after.middle - middle) * C.middle + (after.lower - lower) * C.lower
    assert gained == pytest.approx(day.flux - day.lost, rel=1e-9, abs=1e-9)


@given(st.lists(enthalpies, min_size=2, max_size=2, unique=True), st.floats(0, 1))
def test_temperature_rises_with_heat(pair, wet):
    heat = thermal_properties(wet, C)
    cold, warm = sorted(pair)
    assert layer_temperature(cold, heat, C) <= layer_temperature(warm, heat, C)
    assert layer_temperature(0.0, heat, C) == 0


def test_steady_conduction_is_a_straight_line():
    """Fourier's law at rest: the same flux through every layer, temperature falling with resistance."""
    wet, surface, deep, resistance = 0.6, 20.0, 5.0, 0.3
    state = Layers(40.0, 40.0, 40.0, deep)
    for _ in range(20000):
        day = soil_step(state, surface, deep, resistance, wet, C._replace(deep_rate=0.0))
        state = day.layers
    conductivity = C.conductivity + C.conductivity_wet * wet
    whole = (
        resistance
        + (C.half_upper + 1 / C.per_upper_middle + 1 / C.per_middle_lower + 1 / C.per_lower_deep) / conductivity
    )
    assert day.flux == pytest.approx(C.watt_day * (surface - deep) / whole, rel=1e-6)
    assert day.lost == pytest.approx(day.flux, rel=1e-6)
    to_upper = resistance + C.half_upper / conductivity
    assert day.upper_temperature == pytest.approx(surface - (surface - deep) * to_upper / whole, rel=1e-6)


def test_yearly_wave_dies_away_with_depth_as_the_analytic_solution():
    """Amplitude exp(-z/d), d = sqrt(2 kappa / omega) (Campbell and Norman 1998, ch. 8), three layers coarse."""
    wet, mean, swing, omega = 0.8, 20.0, 10.0, 2 * np.pi / 365
    conductivity = C.conductivity + C.conductivity_wet * wet
    capacity = C.capacity + C.capacity_wet * wet
    damping = np.sqrt(2 * conductivity * C.watt_day / capacity / omega)
    heat = thermal_properties(wet, C)
    state = Layers(*(mean * capacity,) * 3, mean)
    waves = []
    for day_number in range(365 * 6):
        surface = mean + swing * np.sin(omega * day_number)
        day = soil_step(state, surface, mean, 1e-6, wet, C._replace(deep_rate=0.0))
        state = day.layers
        waves.append([layer_temperature(value, heat, C) for value in state[:3]])
    last = np.array(waves[-365:])
    amplitude = (last.max(axis=0) - last.min(axis=0)) / 2
    depths = np.array([C.upper / 2, C.upper + C.middle / 2, C.upper + C.middle + C.lower / 2])
    assert amplitude == pytest.approx(swing * np.exp(-depths / damping), rel=0.12)
    lag = np.argmax(last, axis=0) - np.argmax(np.sin(omega * np.arange(365 * 5, 365 * 6)))
    assert lag[:2] == pytest.approx(depths[:2] / damping / omega, abs=4)


def test_freezing_is_slowed_by_latent_heat():
    """Wet ground holds near 0 °C (the zero curtain) long after ground without ice is cold."""

    def after(latent, days=5):
        c = C._replace(latent=latent, latent_wet=0.0)
        state = Layers(2.0, 4.0, 8.0, 4.0)
        for _ in range(days):
            day = soil_step(state, -5.0, 4.0, 0.3, 0.8, c)
            state = day.layers._replace(deep=4.0)
        return day.upper_temperature

    assert after(latent=90.0) > -1.0
    assert after(latent=1e-3) < -1.5
