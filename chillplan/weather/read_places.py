"""Reads the list of stations of GHCN-Daily: coordinates, heights and names that its data files do not hold.

References
----------
NOAA National Centers for Environmental Information, Global Historical Climatology Network Daily, readme, version 3.26,
section IV: identifier in columns 1-11, latitude 13-20, longitude 22-30, elevation 32-37 (-999.9 missing), name 42-71.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from chillplan.weather.record import Record

__all__ = ["StationPlace", "is_place_line", "put_in_place", "read_places"]

_LINE = re.compile(r"^[A-Z]{2}[A-Z0-9_-]{9} [ -]{0,2}\d{1,2}\.\d{4} [ -]{0,3}\d{1,3}\.\d{4} [ -]{0,4}\d{1,4}\.\d( |$)")
_MISSING = -999.0


@dataclass(frozen=True)
class StationPlace:
    """Where a station stands. [degrees, degrees, m]"""

    latitude: float
    longitude: float
    elevation: float | None
    name: str


def is_place_line(line: str) -> bool:
    """Whether a line looks like one of the list of stations."""
    return bool(_LINE.match(line))


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
                elevation=None if height <= _MISSING else height,
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
