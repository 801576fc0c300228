"""Reads daily files of the U.S. Climate Reference Network (product daily01, 28 columns).

References
----------
NOAA National Centers for Environmental Information, U.S. Climate Reference Network, readme of product daily01:
column order, units and missing values (-9999 and -99).
"""

from __future__ import annotations

import io
import re

import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.weather.record import Record

__all__ = ["is_uscrn_line", "read_uscrn"]

_LINE = re.compile(r"^\s*\d{1,6}\s+(1[6-9]|20|21)\d{6}\s+\S+(\s+-?\d+\.\d+){6,}")
_COLUMN_COUNT = 28
_COLUMNS = {
    0: "wban",
    1: "day",
    3: "longitude",
    4: "latitude",
    5: "tmax",
    6: "tmin",
    9: "precipitation",
    10: "solar_radiation",
    14: "surface_temperature",
    18: "soil_moisture",
    19: "soil_moisture_10cm",
    23: "soil_temperature",
    24: "soil_temperature_10cm",
}
_NAME = re.compile(r"CRN\w*-\d{4}-(?P<station>[A-Za-z0-9_.-]+?)(\.txt)?(\.gz)?$")


def is_uscrn_line(line: str) -> bool:
    """Whether a line looks like one of a daily01 file."""
    return len(line.split()) == _COLUMN_COUNT and bool(_LINE.match(line))


def read_uscrn(text: str, file: str) -> list[Record]:
    """Read one yearly file.

    Parameters
    ----------
    text : str
        Whole file.
    file : str
        File name; the station's name is taken from it where it follows the network's pattern.

    Returns
    -------
    list of Record
        One a station; the soil columns are those at 5 and 10 cm.

    Raises
    ------
    InputError
        If a row has another number of columns or a value is not a number.
    """
    try:
        rows = pd.read_csv(
            io.StringIO(text),
            sep=r"\s+",
            header=None,
            names=list(range(_COLUMN_COUNT)),
            usecols=list(_COLUMNS),
            dtype=dict.fromkeys((0, 1), "str"),
            index_col=False,
        )
        rows.columns = pd.Index([_COLUMNS[column] for column in sorted(_COLUMNS)])
        values = rows[[name for name in rows if name not in {"wban", "day"}]].astype("float64")
    except (ValueError, pd.errors.ParserError) as error:
        reason = str(error).strip().splitlines()[0]
        raise InputError(f"{quoted(file)} is a damaged USCRN daily file: {reason}; fetch it again") from error
    dates = pd.to_datetime(rows["day"], format="%Y%m%d", errors="coerce")
    if dates.isna().any():
        raise InputError(
            f"{quoted(rows['day'][dates.isna()].iloc[0])} in {quoted(file)} is not a date: fetch the file again"
        )
    frame = _without_missing(values)
    frame.insert(0, "date", dates)
    named = _NAME.search(file)
    return [
        Record(
            frame=frame.loc[group.index].drop(columns=["latitude", "longitude"]),
            station=named["station"] if named and rows["wban"].nunique() == 1 else f"WBAN {wban}",
            source="U.S. Climate Reference Network, daily files",
            licence="public domain (NOAA)",
            file=file,
            latitude=float(group["latitude"].iloc[-1]),
            longitude=float(group["longitude"].iloc[-1]),
            soil_depth_cm=5.0,
        )
        for wban, group in rows.groupby("wban", sort=True)
    ]


def _without_missing(values: pd.DataFrame) -> pd.DataFrame:
    """Missing is -9999, and -99 in soil moisture; a column without one value is left out."""
    result = values.mask(values <= -9998.0)
    for name in ("soil_moisture", "soil_moisture_10cm"):
        result[name] = result[name].mask(result[name] <= -98.0)
    return result
