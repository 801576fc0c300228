"""Reads weather files, whatever their format: recognised by content, checked, short gaps bridged.

Formats: daily files of the U.S. Climate Reference Network; GHCN-Daily as table, fixed width or by element; plain
tables as text or parquet, of one station or many; gridded files at the site by `load_history`.
"""

from __future__ import annotations

import contextlib
import difflib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from chillplan.errors import InputError, Problems, quoted
from chillplan.weather.check import first_checks
from chillplan.weather.file_bytes import bytes_of, is_grid, text_of
from chillplan.weather.fill import fill_from_neighbours, fill_short_gaps, neighbours_of
from chillplan.weather.history import History, Record, histories_of, history_of
from chillplan.weather.nearness import distance_km
from chillplan.weather.quality import quality_notes, shift_notes
from chillplan.weather.read_noaa import (
    StationPlace,
    is_dly_line,
    is_element_line,
    is_place_line,
    is_uscrn_line,
    put_in_place,
    read_dly,
    read_elements,
    read_places,
    read_uscrn,
)
from chillplan.weather.read_table import read_parquet_table, read_text_table

__all__ = ["load_history", "pick_station", "read_weather"]


@dataclass(frozen=True)
class Format:
    """A format of text without a header: how its first line is known, its unit of temperature, and its reader."""

    is_line: Callable[[str], bool]
    unit: str
    read: Callable[[str, str], list[Record]]


# One entry a format; text of none of them is a table with a header.
FORMATS = (
    Format(is_uscrn_line, "celsius", read_uscrn),
    Format(is_dly_line, "tenths", read_dly),
    Format(is_element_line, "tenths", read_elements),
)
_ENDINGS = (".csv", ".txt", ".tsv", ".dat", ".dly", ".parquet", ".pq", ".gz")


def read_weather(
    paths: Sequence[Path],
    *,
    units: str | None = None,
    station: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
    repair: bool = True,
) -> list[History]:
    """Read weather files and folders.

    Parameters
    ----------
    paths : sequence of pathlib.Path
        Files, or folders whose weather files are read; several files of one station are joined.
    units : {'celsius', 'fahrenheit', 'tenths', 'kelvin'} or None
        Unit of temperature where the header does not state it.
    station : str or None
        Keep only this station.
    latitude, longitude : float or None
        Of the station, for files that do not state it. [degrees]
    repair : bool
        Whether to remove impossible values and to bridge gaps of at most 5 days; both are flagged and noted.

    Returns
    -------
    list of History
        One a station, sorted by name.

    Raises
    ------
    InputError
        With every problem of every file.
    """
    records = _all_records(paths, units)
    if station is not None and len({record.station for record in records}) > 1:
        plain = station.strip().lower()
        exact = [record for record in records if record.station.lower() == plain]
        records = exact or records
    histories = histories_of(records)
    if station is not None:
        histories = [pick_station(histories, station)]
    histories = [_placed(history, latitude, longitude) for history in histories]
    if not repair:
        return histories
    problems = Problems()
    repaired = []
    for history in histories:
        try:
            repaired.append(fill_short_gaps(first_checks(history)))
        except InputError as error:
            problems.extend(error)
    problems.raise_if_any()
    return repaired


def load_history(
    paths: Sequence[Path],
    *,
    units: str | None = None,
    station: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
    between_cells: bool = False,
) -> History:
    """Read weather and pick the one station to use.

    Parameters
    ----------
    paths, units, station
        As for `read_weather`.
    latitude, longitude : float or None
        Of the site: decides between several stations. [degrees]
    between_cells : bool
        Take a gridded file between the four cells around the site instead of at the nearest.

    Returns
    -------
    History
        Gaps that are left are filled from other stations of the record within 100 km, flagged and noted.

    Raises
    ------
    InputError
        As for `read_weather`, `read_grid_point` and `pick_station`.
    """
    grids = [path for path in paths if is_grid(path)]
    if grids:
        return _of_grid(grids, len(paths), latitude, longitude, "bilinear" if between_cells else "nearest")
    raw = read_weather(paths, units=units, repair=False)
    chosen = pick_station(raw, station, latitude, longitude)
    near = []
    for history in neighbours_of(chosen, raw):
        with contextlib.suppress(InputError):
            near.append(fill_short_gaps(first_checks(history)))
    chosen = fill_short_gaps(first_checks(chosen))
    chosen = chosen.noted(*quality_notes(chosen.daily), *shift_notes(chosen, near))
    return fill_from_neighbours(chosen, near) if near else chosen


def _of_grid(grids: list[Path], count: int, latitude: float | None, longitude: float | None, method: str) -> History:
    if count > 1:
        raise InputError(f"gridded file {quoted(grids[0])} cannot be joined with other weather: pass it alone")
    if latitude is None or longitude is None:
        raise InputError(f"gridded file {quoted(grids[0])} needs a place: pass --latitude and --longitude")
    from chillplan.weather.grid import read_grid_point

    return fill_short_gaps(first_checks(history_of([read_grid_point(grids[0], latitude, longitude, method)])))


def _placed(history: History, latitude: float | None, longitude: float | None) -> History:
    provenance = history.provenance
    if latitude is None or longitude is None or provenance.latitude is not None:
        return history
    return replace(history, provenance=replace(provenance, latitude=latitude, longitude=longitude))


def _all_records(paths: Sequence[Path], units: str | None) -> list[Record]:
    if not paths:
        raise InputError("no weather file was given: pass --weather with a file or a folder")
    problems = Problems()
    records: list[Record] = []
    places: dict[str, StationPlace] = {}
    for path in paths:
        try:
            records += (_of_folder if path.is_dir() else _of_file)(path, units, places)
        except InputError as error:
            problems.extend(error)
        except OSError as error:
            problems.add(f"weather file {quoted(path)} cannot be read: {error.strerror or error}; check the path")
    problems.raise_if_any()
    if places and not records:
        raise InputError("the list of stations holds places only: pass the stations' daily files with it")
    put_in_place(records, places)
    return records


def _of_folder(folder: Path, units: str | None, places: dict[str, StationPlace]) -> list[Record]:
    files = sorted(
        entry
        for entry in folder.iterdir()
        if entry.suffix.lower() in _ENDINGS and not entry.name.startswith(".") and entry.is_file()
    )
    if not files:
        raise InputError(f"folder {quoted(folder)} has no weather files ({', '.join(_ENDINGS)}): check the path")
    records: list[Record] = []
    problems = Problems()
    skipped = []
    for file in files:
        try:
            records += _of_file(file, units, places)
        except InputError as error:
            if "is not a weather file" in str(error):
                skipped.append(file.name)
            problems.extend(error)
    if len(problems.found) > len(skipped) or not (records or places):
        problems.raise_if_any()
    for record in records:
        record.notes += [f"{quoted(name)} in the folder is not a weather file and was passed over." for name in skipped]
    return records


def _of_file(path: Path, units: str | None, places: dict[str, StationPlace]) -> list[Record]:
    content = bytes_of(path)
    if content[:4] == b"PAR1":
        return read_parquet_table(content, path.name, units)
    text = text_of(content, path)
    if is_place_line(text[:120].split("\n")[0]):
        places |= read_places(text)
        return []
    return _of_text(text, path.name, units)


def _of_text(text: str, name: str, units: str | None) -> list[Record]:
    line = next(line for line in text.splitlines() if line.strip())
    form = next((form for form in FORMATS if form.is_line(line)), None)
    if form is None:
        return read_text_table(text, name, units)
    if units not in {None, form.unit}:
        raise InputError(
            f"{quoted(name)} is in {form.unit} by its format but {units} was asked for: leave the option out"
        )
    return form.read(text, name)


_SHOWN = 12
_FAR_KM = 100.0
_SAME_PLACE_KM = 1.0  # of records that near to each other the longest is taken


def pick_station(
    histories: Sequence[History],
    station: str | None = None,
    latitude: float | None = None,
    longitude: float | None = None,
) -> History:
    """One history of several.

    Parameters
    ----------
    histories : sequence of History
    station : str or None
        Name or identifier, any case; part of a name will do if only one station has it.
    latitude, longitude : float or None
        Of the site: the nearest station is taken where no name is given, of several at one place the longest
        record. [degrees]

    Returns
    -------
    History
        With a note where others were passed over, or where it is more than 100 km away.

    Raises
    ------
    InputError
        If there is none, the name fits none or several, or several remain and nothing tells them apart.
    """
    if not histories:
        raise InputError("there is no weather record to choose from: pass --weather with a file or a folder")
    if station is not None:
        return _named(histories, station)
    if len(histories) == 1:
        return histories[0]
    placed = [
        history
        for history in histories
        if history.provenance.latitude is not None and history.provenance.longitude is not None
    ]
    if latitude is None or longitude is None or not placed:
        raise InputError(
            f"the weather has {len(histories)} stations ({_listed(histories)}): pass --station with one of them"
        )
    return _nearest(placed, latitude, longitude, len(histories))


def _nearest(placed: Sequence[History], latitude: float, longitude: float, count: int) -> History:
    far = distance_km(
        latitude,
        longitude,
        [history.provenance.latitude or 0.0 for history in placed],
        [history.provenance.longitude or 0.0 for history in placed],
    )
    here = np.flatnonzero(far <= far.min() + _SAME_PLACE_KM).tolist()
    at = max(here, key=lambda index: len(placed[index].daily))
    notes = [f"Nearest of {count} stations, {far[at]:.0f} km from the site."]
    if far[at] > _FAR_KM:
        notes.append(f"The station is {far[at]:.0f} km away: its weather may differ from the site's.")
    return placed[at].noted(*notes)


def _named(histories: Sequence[History], station: str) -> History:
    wanted = _plain(station)
    exact = [history for history in histories if _plain(history.provenance.station) == wanted]
    found = exact or [history for history in histories if wanted and wanted in _plain(history.provenance.station)]
    if len(found) > 1 and exact:
        return max(found, key=lambda history: len(history.daily)).noted(
            f"{len(found)} records carry this name; the longest was taken."
        )
    if len(found) > 1:
        raise InputError(
            f"station {quoted(station)} fits {len(found)} stations ({_listed(found)}): give the whole name"
        )
    if found:
        return found[0]
    names = [history.provenance.station for history in histories]
    near = difflib.get_close_matches(station, names, n=3, cutoff=0.4)
    hint = f"did you mean {', '.join(near)}?" if near else f"use one of {_listed(histories)}"
    raise InputError(f"station {quoted(station)} is not in the weather: {hint}")


def _plain(name: str) -> str:
    return "".join(letter for letter in name.lower() if letter.isalnum())


def _listed(histories: Sequence[History]) -> str:
    names = [history.provenance.station for history in histories]
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(quoted(name)[1:-1] for name in names[:_SHOWN]) + more
