"""Opens the files of a grid, joins them, and knows them again."""

from __future__ import annotations

import hashlib
import os
import zlib
from collections.abc import Iterator, Sequence
from concurrent.futures import BrokenExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from chillplan.errors import InputError, Problems, SourceError, quoted

__all__ = ["lost_chunks", "open_together", "reading", "stamp_of"]

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
            f"{where} cannot be read: {_first_line(error)}; is it whole? Mend it, and give the command again with "
            "--overwrite"
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
