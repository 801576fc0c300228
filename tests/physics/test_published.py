"""The published yardstick against sequences worked by hand from its equations (Kätterer and Andrén 2009)."""

import numpy as np
import pytest

from examples.seed_zone_model.published import daily_rate, kaetterer_andren, surface_temperature


def test_leaf_area_factor_and_rates():
    assert surface_temperature(1.0, 0.0) == pytest.approx(1.11600, abs=1e-5)
    assert surface_temperature(1.0, 1.0) == pytest.approx(1.06128, abs=5e-6)
    assert surface_temperature(-10.0, 1.0) == pytest.approx(-2.0)
    assert daily_rate(5, 1) == pytest.approx(0.18275, abs=5e-6)
    assert daily_rate(5, 0) == pytest.approx(0.22044, abs=5e-6)


def test_sequence_through_frost():
    soil = kaetterer_andren([12, 8, -5, -10, 2, 15], 10.0)
    assert soil == pytest.approx([10.500, 10.133, 8.098, 6.253, 5.498, 7.402], abs=5e-4)


def test_step_to_constant_air_and_gap():
    soil = kaetterer_andren(np.full(10, 10.0), 0.0)
    assert soil == pytest.approx([1.940, 3.525, 4.820, 5.879, 6.744, 7.451, 8.029, 8.501, 8.887, 9.202], abs=5e-4)
    assert kaetterer_andren([np.nan, 10.0], 4.0)[0] == 4.0
