"""Opens the files of a grid, joins them, knows them again, and reads the dates on their time axis."""

from __future__ import annotations

import hashlib
import os
import zlib
from calendar import isleap
from collections.abc import Iterator, Sequence
from concurrent.futures import BrokenExecutor
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import InputError, Problems, SourceError, quoted

__all__ = ["NO_DAY", "day_numbers", "lost_chunks", "open_together", "reading", "stamp_of"]

JOINING: dict[str, Any] = {"combine_attrs": "drop_conflicts", "compat": "no_conflicts", "join": "exact"}
NEARLY = 1e-3  # of a step: coordinates nearer than this are the same, rounded otherwise [-]


def open_together(paths: Sequence[Path]) -> xr.Dataset:
    """One data set from NetCDF files or Zarr stores, lazily.

    Raises
    ------
    InputError
        If a path is not there, or the files do not fit together.
    SourceError
        If a file cannot be read.
    """
    problems = Problems()
    for path in paths:
        if not path.exists():
            problems.add(f"grid {quoted(path)} is not there: check the path")
    problems.raise_if_any()
    opened = [_open(path) for path in paths]
    if len(opened) == 1:
        return opened[0]
    names = ", ".join(path.name for path in paths)
    try:
        data = xr.combine_by_coords([opened[0], *(_alike(opened[0], other) for other in opened[1:])], **JOINING)
    except (ValueError, xr.MergeError) as error:
        raise InputError(f"{names} do not fit together: {error}; give files of one grid") from error
    if not isinstance(data, xr.Dataset):
        raise InputError(f"{names} hold no named variables: give NetCDF or Zarr with tmin and tmax")
    return data


def _open(path: Path) -> xr.Dataset:
    try:
        if path.is_dir():
            store: xr.Dataset = xr.open_zarr(path)
            return store
        return xr.open_dataset(path, chunks={})
    except (OSError, ValueError, KeyError, RuntimeError) as error:
        kind = "Zarr store" if path.is_dir() else "NetCDF file"
        # A file of no known kind is answered with a list of libraries to install.
        why = "it is of another kind" if "IO backends" in str(error) else _first_line(error)
        why = why.replace(str(path.absolute()), str(path))
        raise SourceError(f"{quoted(path)} cannot be read as a {kind}: {why}; is it whole?") from error


def _first_line(error: Exception) -> str:
    return next(iter(str(error).strip().splitlines()), type(error).__name__)


@contextmanager
def reading(where: str) -> Iterator[None]:
    """Tell of data that cannot be read when they are at last asked for.

    Parameters
    ----------
    where : str
        What is read, for the message.

    Raises
    ------
    SourceError
    """
    try:
        yield
    except BrokenExecutor:
        raise  # workers that died say nothing of the data
    except (OSError, RuntimeError, EOFError, zlib.error) as error:
        raise SourceError(
            f"{where} cannot be read: {_first_line(error)}; is it whole? Mend it, and give the command again"
        ) from error


def _alike(first: xr.Dataset, other: xr.Dataset) -> xr.Dataset:
    """The other with the coordinates of the first, where they differ by rounding only."""
    for name in first.indexes:
        if name not in other.indexes or first[name].dtype.kind != "f" or first[name].shape != other[name].shape:
            continue
        here, there = np.asarray(first[name].values, dtype=float), np.asarray(other[name].values, dtype=float)
        step = np.abs(np.diff(here)).min() if here.size > 1 else 1.0
        if np.abs(here - there).max() <= NEARLY * step:
            other = other.assign_coords({name: first[name]})
    return other


def stamp_of(paths: Sequence[Path]) -> str:
    """Sizes and times of files and of everything in stores, in short."""
    said = [(found.st_size, found.st_mtime_ns) for path in paths for found in _everything(path)]
    return hashlib.sha256(repr((len(said), sorted(said))).encode()).hexdigest()


def _everything(path: Path) -> Iterator[os.stat_result]:
    if not path.is_dir():
        yield path.stat()
        return
    for entry in os.scandir(path):
        if entry.is_dir():
            yield from _everything(Path(entry.path))
        else:
            yield entry.stat()


def lost_chunks(paths: Sequence[Path], names: Sequence[str]) -> list[str]:
    """A sentence for every variable of a Zarr store of which chunks were never written; they read as missing."""
    import zarr

    said = []
    for path in paths:
        if not path.is_dir():
            continue
        group = zarr.open_group(path, mode="r")
        for name in names:
            array = group.get(name)
            if isinstance(array, zarr.Array) and array.nchunks_initialized < array.nchunks:
                lost = array.nchunks - array.nchunks_initialized
                said.append(
                    f"{lost} of {array.nchunks} chunks of {name} were never written to {quoted(path)} and count as "
                    "missing: well if they are water, else write the store whole first"
                )
    return said


TAKEN_AS_DATES = {"standard", "gregorian", "proleptic_gregorian", "noleap", "365_day", "all_leap", "366_day"}
NO_DAY = 0  # ordinal of a date that does not exist
EPOCH = date(1970, 1, 1).toordinal()


def day_numbers(time: xr.DataArray, where: str) -> NDArray[np.int64]:
    """Proleptic Gregorian ordinal of every step of a time axis.

    Parameters
    ----------
    time : xarray.DataArray, shape (time,)
        Decoded times. A calendar without leap days is taken as it is: 29 February is then a missing day. One of 366
        days has some 29 February that does not exist: it is ``NO_DAY``. One of 360 days is spread over the real year.
    where : str
        File or store, for messages.

    Raises
    ------
    InputError
        If the calendar has days that do not exist, the steps are not daily, or a day comes twice.
    """
    if time.dtype.kind == "M":
        days = time.values.astype("datetime64[D]").astype(np.int64) + EPOCH
    elif time.dtype == object and hasattr(time.values.flat[0], "calendar"):
        days = _of_calendar(time, where)
    else:
        raise InputError(
            f"the time axis of {quoted(where)} holds no dates: give it units such as 'days since 1990-01-01' and "
            "a calendar"
        )
    order = np.sort(days[days != NO_DAY])
    steps = np.diff(order)
    if (steps == 0).any():
        again = date.fromordinal(int(order[1:][steps == 0][0]))
        raise InputError(
            f"{again} comes more than once on the time axis of {quoted(where)}: give one value a day "
            "(daily minimum and maximum, not hours), and no overlapping files"
        )
    if steps.size and np.median(steps) > 1:
        raise InputError(
            f"the time axis of {quoted(where)} has a step of {int(np.median(steps))} days: daily values are needed"
        )
    return days


def _of_calendar(time: xr.DataArray, where: str) -> NDArray[np.int64]:
    calendar = str(time.values.flat[0].calendar)
    if calendar == "360_day":
        return np.array([_spread(each) for each in time.values], dtype=np.int64)
    if calendar not in TAKEN_AS_DATES:
        raise InputError(
            f"calendar {quoted(calendar)} of {quoted(where)} has days that do not exist: convert it to real dates "
            "first, with xarray: data.convert_calendar('standard', align_on='year')"
        )
    return np.array([_dated(each) for each in time.values], dtype=np.int64)


def _dated(each: Any) -> int:
    if (each.month, each.day) == (2, 29) and not isleap(each.year):
        return NO_DAY
    return date(each.year, each.month, each.day).toordinal()


def _spread(each: Any) -> int:
    """Date of a day of a year of 360 days, as far through the real year; five days a year stay missing."""
    length = 366 if isleap(each.year) else 365
    return date(each.year, 1, 1).toordinal() - 1 + round(int(each.dayofyr) * length / 360)
