"""Which stations and records are near a place, and how much error distance and height are likely to cost."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

__all__ = ["COLUMNS", "EARTH_RADIUS_KM", "distance_km", "expected_error", "nearest_stations"]

EARTH_RADIUS_KM = 6371.0088  # mean radius, International Union of Geodesy and Geophysics

# Daily tmin and tmax of one station moved by the seasonal lapse rates to another, mean square error. Fitted to the
# 123 pairs under 800 km of 38 stations of the U.S. Climate Reference Network, 2008 to 2024; no pair is nearer than
# 159 km, so that the value for near stations is an extension of the line.
_BASE = 1.8  # [°C²]
_PER_KM = 0.055  # [°C²/km]
_PER_HEIGHT = 4.5  # [°C² per km²]
# A winter that is missing cannot be averaged over: with fewer years the error grows. Common practice, no source.
_ENOUGH_YEARS = 30.0
_PER_MISSING_YEAR = 0.1  # [°C²]
# A record that ended long ago is of a colder climate. Warming over land of about 0.3 °C a decade: assumed.
_WARMING = 0.03  # [°C/year]


def distance_km(
    latitude: float, longitude: float, other_latitude: ArrayLike, other_longitude: ArrayLike
) -> NDArray[np.floating]:
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


def expected_error(
    distance: ArrayLike,
    height_difference: ArrayLike,
    years: ArrayLike,
    coverage: ArrayLike = 1.0,
    age: ArrayLike = 0.0,
) -> NDArray[np.floating]:
    """Error to be expected of a station's daily temperatures at the site, for ranking.

    Parameters
    ----------
    distance : array_like
        [km]
    height_difference : array_like
        Site less station; NaN counts as none. [m]
    years : array_like
        Years of record; NaN counts as 30. [year]
    coverage : array_like
        Share of days with a value, 0 to 1; NaN counts as 1.
    age : array_like
        Years since the record ended; NaN counts as none. [year]

    Returns
    -------
    numpy.ndarray
        Root mean square. [°C]
    """
    height = np.nan_to_num(np.asarray(height_difference, dtype=float)) / 1000.0
    known = np.nan_to_num(np.asarray(years, dtype=float), nan=_ENOUGH_YEARS)
    share = np.clip(np.nan_to_num(np.asarray(coverage, dtype=float), nan=1.0), 0.0, 1.0)
    missing = np.clip(_ENOUGH_YEARS - known * share, 0.0, None)
    old = np.clip(np.nan_to_num(np.asarray(age, dtype=float)), 0.0, None)
    square = _BASE + _PER_KM * np.asarray(distance, dtype=float) + _PER_HEIGHT * height**2 + _PER_MISSING_YEAR * missing
    return np.asarray(np.sqrt(square + (_WARMING * old) ** 2))


# Of the station list. ``first`` and ``last`` are years, ``coverage`` a share; NaN where the source does not say.
COLUMNS = ("station", "name", "country", "latitude", "longitude", "elevation", "first", "last", "coverage")
_CANDIDATES = 400


def nearest_stations(
    stations: pd.DataFrame,
    latitude: float,
    longitude: float,
    elevation: float | None = None,
    limit: int = 10,
    within_km: float = 300.0,
    this_year: int | None = None,
) -> pd.DataFrame:
    """Stations ranked by the error to be expected.

    Parameters
    ----------
    stations : pandas.DataFrame
        With the columns `COLUMNS`.
    latitude, longitude : float
        Of the site. [degrees]
    elevation : float or None
        Of the site; heights are left out of the ranking where it is not known. [m]
    limit : int
        Stations returned at most.
    within_km : float
        Farthest station considered. [km]
    this_year : int or None
        Year from which the age of a record is counted; ages are left out where it is not given.

    Returns
    -------
    pandas.DataFrame
        Best first, with ``distance_km``, ``height_difference_m`` (site less station), ``years`` and
        ``expected_error`` [°C]; empty where none is near.
    """
    far = distance_km(latitude, longitude, stations["latitude"], stations["longitude"])
    near = np.flatnonzero(far <= within_km)
    near = near[np.argsort(far[near], kind="stable")][:_CANDIDATES]
    chosen = stations.iloc[near].reset_index(drop=True)
    height = np.nan if elevation is None else elevation
    chosen["distance_km"] = far[near]
    chosen["height_difference_m"] = height - chosen["elevation"]
    chosen["years"] = chosen["last"] - chosen["first"] + 1
    chosen["expected_error"] = expected_error(
        chosen["distance_km"],
        chosen["height_difference_m"],
        chosen["years"],
        chosen["coverage"],
        np.nan if this_year is None else this_year - chosen["last"],
    )
    return chosen.sort_values("expected_error", kind="stable").head(limit).reset_index(drop=True)
