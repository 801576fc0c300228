"""The list of stations a source offers, and the nearest of them."""

from __future__ import annotations

import numpy as np
import pandas as pd

from chillplan.weather.nearness import distance_km, expected_error

__all__ = ["COLUMNS", "nearest_stations"]

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
