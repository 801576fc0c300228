"""What a reader hands over: one station's rows as the file has them, in house units."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

__all__ = ["EXTRAS", "Record", "counted"]

# Columns kept beside those of `chillplan.variables` where a record has them.
EXTRAS = {
    "solar_radiation": "MJ m-2 d-1, daily sum on level ground",
    "surface_temperature": "°C, infrared surface temperature, daily mean",
    "new_snow": "mm, depth of snow fallen in the day",
}


@dataclass
class Record:
    """Rows of one station from one file, before dates are put in order.

    Attributes
    ----------
    frame : pandas.DataFrame
        Column ``date`` (datetime64) and variables in house units, any order; ``tmin_failed`` and
        ``tmax_failed`` (bool) where the source itself rejects a value.
    station : str
    source, licence : str
        In words.
    file : str
        File name without its folder.
    latitude, longitude, elevation : float or None
        Of the station. [degrees, degrees, m]
    soil_depth_cm : float or None
        Depth of the column ``soil_temperature``. [cm]
    notes : list of str
        What was decided while reading.
    """

    frame: pd.DataFrame
    station: str
    source: str
    file: str
    licence: str = "not stated"
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    soil_depth_cm: float | None = None
    notes: list[str] = field(default_factory=list)


def counted(number: int, noun: str) -> str:
    """A number and its noun, plural where there is not exactly one: ``1 day``, ``2 days``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
