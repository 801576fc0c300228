"""Reads files of NOAA: GHCN-Daily with one element a line, its list of stations, and daily files of the USCRN.

References
----------
NOAA National Centers for Environmental Information, Global Historical Climatology Network Daily, readme, version 3.26:
fixed-width layout, elements in tenths of °C and mm, missing -9999, quality flags (blank = passed); section IV, list of
stations: identifier in columns 1-11, latitude 13-20, longitude 22-30, elevation 32-37 (-999.9 missing), name 42-71.
U.S. Climate Reference Network, readme of product daily01: order of its 28 columns, units, missing -9999 and -99.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.weather.history import Record
from chillplan.weather.read_table import NOAA_LICENCE

__all__ = [
    "StationPlace",
    "is_dly_line",
    "is_element_line",
    "is_place_line",
    "is_uscrn_line",
    "put_in_place",
    "read_dly",
    "read_elements",
    "read_places",
    "read_uscrn",
]

_DLY = re.compile(r"^[A-Za-z0-9_-]{11}(1[6-9]|20|21)\d{2}(0[1-9]|1[0-2])[A-Z][A-Z0-9*#]{3}[ \d-]{5}")
_ELEMENT = re.compile(r"^[A-Za-z0-9_-]{11},(1[6-9]|20|21)\d{6},[A-Z][A-Z0-9]{3},\s*-?\d+")
# Element, name in the history, and factor to the house unit.
_ELEMENTS = {
    "TMIN": ("tmin", 0.1),
    "TMAX": ("tmax", 0.1),
    "PRCP": ("precipitation", 0.1),
    "SNWD": ("snow_depth", 1.0),
    "SNOW": ("new_snow", 1.0),
}
_HEAD, _GROUP, _DAYS = 21, 8, 31
_MISSING = -9999


def is_dly_line(line: str) -> bool:
    """Whether a line looks like one of a fixed-width GHCN-Daily file."""
    return bool(_DLY.match(line))


def is_element_line(line: str) -> bool:
    """Whether a line looks like one of a comma separated GHCN-Daily file with one element a line."""
    return bool(_ELEMENT.match(line))


def read_dly(text: str, file: str) -> list[Record]:
    """Read a fixed-width file; values with a quality flag are kept apart as failed.

    Parameters
    ----------
    text : str
        Whole file, one line a month and element.
    file : str
        File name.

    Returns
    -------
    list of Record
        One a station.

    Raises
    ------
    InputError
        If a line is not of this layout or no temperature is in the file.
    """
    lines = [line.ljust(_HEAD + _GROUP * _DAYS) for line in text.splitlines() if line.strip()]
    lines = [line for line in lines if _matters(line[17:21]) or not is_dly_line(line)]
    parts = []
    for number, line in enumerate(lines, start=1):
        if line[17:21] not in _ELEMENTS or not is_dly_line(line):
            raise InputError(f"line {number} of {quoted(file)} is not of the GHCN-Daily layout: fetch the file again")
    for element in _ELEMENTS:
        chosen = [line for line in lines if line[17:21] == element]
        if chosen:
            parts.append(_months(chosen, element, file))
    return _records(parts, file, "GHCN-Daily, fixed width")


def _matters(element: str) -> bool:
    """Whether an element is wanted, or a wanted one with a broken letter; no element of the format is that near."""
    return any(sum(a != b for a, b in zip(element, known, strict=False)) <= 1 for known in _ELEMENTS)


def _months(lines: list[str], element: str, file: str) -> pd.DataFrame:
    fields = [line[_HEAD + day * _GROUP : _HEAD + day * _GROUP + _GROUP] for line in lines for day in range(_DAYS)]
    try:
        values = np.array([int(field[:5]) if field[:5].strip() else _MISSING for field in fields])
    except ValueError as error:
        raise InputError(f"{quoted(file)} has a value that is not a number: {error}; fetch the file again") from error
    failed = np.array([field[6] != " " for field in fields])
    starts = pd.to_datetime(pd.Series([line[11:17] for line in lines]), format="%Y%m")
    months = starts.repeat(_DAYS).reset_index(drop=True)
    dates = months + pd.to_timedelta(np.tile(np.arange(_DAYS), len(lines)), unit="D")
    frame = pd.DataFrame(
        {"station": np.repeat([line[:11] for line in lines], _DAYS), "date": dates, "element": element, "value": values}
    )
    frame["failed"] = failed
    kept = (values != _MISSING) & (dates.dt.month == months.dt.month).to_numpy()
    return frame.iloc[np.flatnonzero(kept)]


def read_elements(text: str, file: str) -> list[Record]:
    """Read a comma separated file of lines "station, date, element, value, flags"; result and errors as `read_dly`."""
    names = ["station", "day", "element", "value", "measurement", "quality"]
    try:
        rows = pd.read_csv(
            io.StringIO(text), header=None, names=names, usecols=range(6), dtype={"day": "str", "quality": "str"}
        )
        values = rows["value"].astype("int64")
    except (ValueError, pd.errors.ParserError) as error:
        reason = str(error).strip().splitlines()[0]
        raise InputError(f"{quoted(file)} is a damaged GHCN-Daily file: {reason}; fetch it again") from error
    dates = _dates(rows["day"], file)
    frame = pd.DataFrame({"station": rows["station"], "date": dates, "element": rows["element"], "value": values})
    frame["failed"] = rows["quality"].fillna("").str.strip() != ""
    return _records(
        [frame[frame["element"].isin(_ELEMENTS) & (frame["value"] != _MISSING)]], file, "GHCN-Daily, by element"
    )


def _records(parts: list[pd.DataFrame], file: str, source: str) -> list[Record]:
    rows = pd.concat(parts) if parts else pd.DataFrame()
    if rows.empty or not {"TMIN", "TMAX"} <= set(rows["element"]):
        raise InputError(f"{quoted(file)} has no daily minimum or no daily maximum (TMIN, TMAX): give another station")
    return [
        Record(
            frame=_one_row_a_day(group, file),
            station=str(station),
            source=source,
            licence=NOAA_LICENCE,
            file=file,
            notes=["Temperatures are in tenths of °C, as the format says."],
        )
        for station, group in rows.groupby("station", sort=True)
    ]


def _dates(days: pd.Series, file: str) -> pd.Series:
    dates = pd.to_datetime(days, format="%Y%m%d", errors="coerce")
    if dates.isna().any():
        raise InputError(f"{quoted(days[dates.isna()].iloc[0])} in {quoted(file)} is not a date: fetch the file again")
    return dates


def _one_row_a_day(rows: pd.DataFrame, file: str) -> pd.DataFrame:
    doubled = rows.duplicated(["date", "element"])
    if doubled.any():
        first = rows[doubled].iloc[0]
        raise InputError(
            f"{first['element']} on {first['date']:%Y-%m-%d} is twice in {quoted(file)}: remove one of the lines"
        )
    wide = rows.pivot(index="date", columns="element", values=["value", "failed"])
    frame = pd.DataFrame({"date": wide.index})
    for element, (name, factor) in _ELEMENTS.items():
        if ("value", element) in wide:
            frame[name] = wide[("value", element)].to_numpy(dtype=float) * factor
            if name in {"tmin", "tmax"}:
                frame[f"{name}_failed"] = wide[("failed", element)].to_numpy() == True  # noqa: E712
    for name in ("tmin", "tmax"):
        if name not in frame:
            raise InputError(f"{quoted(file)} has a station without {name}: give another station")
    return frame


_PLACE_LINE = re.compile(
    r"^[A-Z]{2}[A-Z0-9_-]{9} [ -]{0,2}\d{1,2}\.\d{4} [ -]{0,3}\d{1,3}\.\d{4} [ -]{0,4}\d{1,4}\.\d( |$)"
)
_UNKNOWN_HEIGHT = -999.0


@dataclass(frozen=True)
class StationPlace:
    """Where a station stands. [degrees, degrees, m]"""

    latitude: float
    longitude: float
    elevation: float | None
    name: str


def is_place_line(line: str) -> bool:
    """Whether a line looks like one of the list of stations."""
    return bool(_PLACE_LINE.match(line))


def read_places(text: str) -> dict[str, StationPlace]:
    """Places by identifier; lines of another form are passed over.

    Parameters
    ----------
    text : str
        Whole list.
    """
    places = {}
    for line in text.splitlines():
        if is_place_line(line):
            height = float(line[31:37])
            places[line[:11]] = StationPlace(
                latitude=float(line[12:20]),
                longitude=float(line[21:30]),
                elevation=None if height <= _UNKNOWN_HEIGHT else height,
                name=line[41:71].strip(),
            )
    return places


def put_in_place(records: Iterable[Record], places: dict[str, StationPlace]) -> None:
    """Give records that lack coordinates those of the list, in place."""
    for record in records:
        place = places.get(record.station.split(" ")[0])
        if place is None or record.latitude is not None:
            continue
        record.latitude, record.longitude, record.elevation = place.latitude, place.longitude, place.elevation
        if place.name and " " not in record.station:
            record.station = f"{record.station} {place.name}"
        record.notes.append("Coordinates and height are those of the list of stations.")


_DAY_LINE = re.compile(r"^\s*\d{1,6}\s+(1[6-9]|20|21)\d{6}\s+\S+(\s+-?\d+\.\d+){6,}")
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
    return len(line.split()) == _COLUMN_COUNT and bool(_DAY_LINE.match(line))


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
    dates = _dates(rows["day"], file)
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
