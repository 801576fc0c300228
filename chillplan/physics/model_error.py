"""How wrong the seed-zone model is at a place it has never seen, as numbers for the spread of a verdict.

Measured on 76 stations of the U.S. Climate Reference Network at 5 cm, each in a group of stations that the parameters
were not fitted to (``examples/seed_zone_model``), as the error of the mean of a winter, September to May.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.errors import InputError

__all__ = ["ModelError", "model_error", "perturbations"]

FloatArray = NDArray[np.floating]

MOST_POINTS = 9


@dataclass(frozen=True)
class ModelError:
    """Error of the seed-zone temperature, averaged over a winter.

    Attributes
    ----------
    persistent : float
        Standard deviation between places: the same in every winter of a place. [°C]
    winter : float
        Standard deviation between the winters of a place. [°C]
    source : str
        Where the figures come from.
    """

    persistent: float
    winter: float
    source: str

    @property
    def together(self) -> float:
        """Standard deviation of a winter at an unknown place. [°C]"""
        return float(np.hypot(self.persistent, self.winter))


_STATIONS = "76 stations of the U.S. Climate Reference Network, whole stations left out, 5 cm, short grass"
_KNOWN = ModelError(0.67, 0.41, f"measured: {_STATIONS}")
_GUESSED = ModelError(0.80, 0.44, f"measured: {_STATIONS}, temperatures only")
_CALIBRATED = ModelError(0.39, 0.41, f"measured: {_STATIONS}, calibrated on one year, their other years")


def model_error(with_precipitation: bool, calibrated: bool = False) -> ModelError:
    """Error to expect at a place that was not in the fit.

    Parameters
    ----------
    with_precipitation : bool
        Whether the record has precipitation.
    calibrated : bool
        Whether the site was calibrated with a logger of its own.

    Returns
    -------
    ModelError
    """
    if calibrated:
        return _CALIBRATED
    return _KNOWN if with_precipitation else _GUESSED


def perturbations(deviation: float, points: int = 5) -> tuple[FloatArray, FloatArray]:
    """Offsets of the seed-zone temperature and their weights, which together stand for a normal error.

    Run the season simulation once with each offset added to the temperature and average the results by weight: exact
    for results that bend no more than a polynomial of degree ``2 * points - 1``.

    Parameters
    ----------
    deviation : float
        Standard deviation. [°C]
    points : int
        1 to 9.

    Returns
    -------
    offsets : numpy.ndarray, shape (points,)
        Ascending, symmetric about 0. [°C]
    weights : numpy.ndarray, shape (points,)
        Sum to 1. [-]

    Raises
    ------
    InputError
        If `points` is not between 1 and 9, or `deviation` is negative.

    References
    ----------
    Gauss-Hermite quadrature (Abramowitz and Stegun 1964, 25.4.46).
    """
    if not 1 <= points <= MOST_POINTS or not deviation >= 0:
        raise InputError(f"{points} points and a deviation of {deviation:g} °C: give 1 to {MOST_POINTS} and 0 or more")
    nodes, weights = np.polynomial.hermite_e.hermegauss(points)
    return nodes * deviation, weights / weights.sum()
