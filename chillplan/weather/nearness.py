"""Distance on the sphere."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

__all__ = ["EARTH_RADIUS_KM", "distance_km"]

EARTH_RADIUS_KM = 6371.0088  # mean radius, International Union of Geodesy and Geophysics


def distance_km(latitude: float, longitude: float, other_latitude: ArrayLike, other_longitude: ArrayLike) -> np.ndarray:
    """Great-circle distance by the haversine formula.

    Parameters
    ----------
    latitude, longitude : float
        Of the place. [degrees]
    other_latitude, other_longitude : array_like
        Of the others; NaN gives NaN. [degrees]

    Returns
    -------
    numpy.ndarray
        [km]
    """
    phi, lam = np.radians(latitude), np.radians(longitude)
    phis, lams = (
        np.radians(np.asarray(other_latitude, dtype=float)),
        np.radians(np.asarray(other_longitude, dtype=float)),
    )
    half = np.sin((phis - phi) / 2) ** 2 + np.cos(phi) * np.cos(phis) * np.sin((lams - lam) / 2) ** 2
    return np.asarray(2.0 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0))))
