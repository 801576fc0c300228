"""The error of the model as offsets and weights."""

import re
from pathlib import Path

import numpy as np
import pytest

from chillplan.errors import InputError
from chillplan.physics.model_error import model_error, perturbations

TOP = Path(__file__).resolve().parents[2]


def test_three_points_are_those_of_the_handbook():
    """Abramowitz and Stegun 1964, table 25.10, n = 3, for a normal distribution: 0 and root 3, weights 2/3 and 1/6."""
    offsets, weights = perturbations(1.0, 3)
    assert offsets == pytest.approx([-np.sqrt(3), 0, np.sqrt(3)])
    assert weights == pytest.approx([1 / 6, 2 / 3, 1 / 6])


@pytest.mark.parametrize("points", [1, 2, 5, 9])
def test_moments_of_a_normal_distribution(points):
    offsets, weights = perturbations(0.7, points)
    assert weights.sum() == pytest.approx(1)
    assert (weights * offsets).sum() == pytest.approx(0, abs=1e-12)
    if points > 1:
        assert (weights * offsets**2).sum() == pytest.approx(0.49)


def test_the_errors_are_in_the_order_of_what_is_known():
    known, guessed, own = model_error(True), model_error(False), model_error(True, calibrated=True)
    assert own.together < known.together < guessed.together
    assert all("measured" in one.source for one in (known, guessed, own))


def test_senseless_requests_are_refused():
    with pytest.raises(InputError, match="0 points and a deviation of 1 °C"):
        perturbations(1.0, 0)
    with pytest.raises(InputError, match="deviation of -1"):
        perturbations(-1.0)


def test_the_stated_errors_are_those_that_the_example_measured():
    """`examples/seed_zone_model` tells what was left at places and in winters that were not fitted."""
    page = " ".join((TOP / "examples" / "seed_zone_model" / "README.md").read_text(encoding="utf-8").split())
    number = r"(\d\.\d\d)"
    places = re.search(rf"between places {number} °C, between winters of a place {number} °C", page)
    guessed = re.search(rf"without precipitation {number} and {number} °C", page)
    own = re.search(rf"left between places falls from {number} to {number} °C, .* of one it stays {number} °C", page)
    assert places and guessed and own
    known = model_error(True)
    assert (known.persistent, known.winter) == tuple(map(float, places.groups()))
    dry = model_error(False)
    assert (dry.persistent, dry.winter) == tuple(map(float, guessed.groups()))
    fitted = model_error(True, calibrated=True)
    assert (known.persistent, fitted.persistent, fitted.winter) == tuple(map(float, own.groups()))
    assert known.together == pytest.approx(np.sqrt(known.persistent**2 + known.winter**2))
