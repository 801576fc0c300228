"""The spread of a requirement within a lot of seed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

__all__ = ["QUANTILES", "spread"]

FloatArray = NDArray[np.floating]

QUANTILES: FloatArray = (np.arange(20) + 0.5) / 20.0


def spread(low: float, high: float, shares: ArrayLike = QUANTILES) -> FloatArray:
    """What the seeds of a lot need, from the least to the most demanding.

    Parameters
    ----------
    low, high : float
        Requirement of the 10th and the 90th percentile. [day or °C d]
    shares : array_like, shape (quantile,)
        Shares of the lot that need at most this. [-]

    Returns
    -------
    numpy.ndarray, shape (quantile,)
        Normal between the two, never below zero. The normal form is an assumption of ours.
    """
    middle, deviation = (low + high) / 2.0, (high - low) / (2.0 * float(ndtri(0.9)))
    return np.maximum(middle + deviation * ndtri(np.asarray(shares, dtype=float)), 0.0)
