"""Cuts a grid into regions, and works out each one lazily, chunk by chunk, with any scheduler."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import DataGapError
from chillplan.physics.lanes import LANES
from chillplan.region.decide import answers_of, empty_answers
from chillplan.region.layout import Layout
from chillplan.region.places import Places
from chillplan.seasons.cut import SeasonRows, whole_rows
from chillplan.weather.check import clean_places, each_day
from chillplan.weather.grid import Grid

__all__ = ["BLOCK_BYTES", "Block", "Job", "blocks_of", "job_of", "lazy_numbers", "times_read"]

BLOCK_BYTES = 32_000_000
"""Input of one region, about; two or three of them are in memory for each worker. [byte]"""

CHUNKS = 4
"""A region may be larger by so much, where the input's own chunks are: each is then read once only."""


@dataclass(frozen=True)
class Block:
    """A rectangle of the grid."""

    number: int
    where: Mapping[str, slice]  # by dimension of space


def blocks_of(grid: Grid, most_bytes: int = BLOCK_BYTES) -> list[Block]:
    """Rectangles of about `most_bytes` of input that cover the grid, along the input's chunks where they fit.

    Parameters
    ----------
    grid : Grid
    most_bytes : int
        [byte]
    """
    daily = sum(name in grid.data for name in ("tmin", "tmax", "precipitation"))
    cells = max(most_bytes // (4 * daily * grid.days.size), LANES)
    sizes = [grid.data.sizes[name] for name in grid.space]
    chunks = grid.data["tmin"].chunksizes
    within = [min(max(chunks.get(name, (size,))), size) for name, size in zip(grid.space, sizes, strict=True)]
    cells = min(max(cells, math.prod(within)), CHUNKS * cells)
    last = min(within[-1], cells) if within[-1] < sizes[-1] else min(sizes[-1], cells)
    steps = [last] if len(sizes) == 1 else [max(min(cells // last, sizes[0]), 1), last]
    if len(steps) == 2 and within[0] < sizes[0] and steps[0] > within[0]:
        steps[0] -= steps[0] % within[0]
    ranges = [range(0, size, step) for size, step in zip(sizes, steps, strict=True)]
    corners = [(begin,) for begin in ranges[0]] if len(sizes) == 1 else [(a, b) for a in ranges[0] for b in ranges[1]]
    return [
        Block(
            number,
            {
                name: slice(begin, min(begin + step, size))
                for name, begin, step, size in zip(grid.space, corner, steps, sizes, strict=True)
            },
        )
        for number, corner in enumerate(corners)
    ]


def times_read(grid: Grid, blocks: Sequence[Block]) -> float:
    """How often each chunk of the input is read, on the average; 1 where it is not cut along time and so read in part.

    Parameters
    ----------
    grid : Grid
    blocks : sequence of Block
    """
    chunks = grid.data["tmin"].chunksizes
    if len(chunks.get("time", ())) < 2:
        return 1.0
    ends = {name: np.cumsum(chunks[name]) for name in grid.space}
    touched = sum(
        math.prod(
            int(np.searchsorted(ends[name], part.stop) - np.searchsorted(ends[name], part.start, side="right")) + 1
            for name, part in block.where.items()
        )
        for block in blocks
    )
    return touched / math.prod(len(chunks[name]) for name in grid.space)


LOOK_STEP = 97  # days between those looked at for cells without any data


@dataclass(frozen=True)
class Job:
    """What is computed for every cell."""

    layout: Layout
    # for each period the seasons by hemisphere (``southern``), on a time axis of every day
    rows: tuple[dict[bool, SeasonRows], ...]
    days: NDArray[np.int64]  # dates of the grid's own time axis, as ordinals [day]; shape (time,)


def job_of(grid: Grid, layout: Layout, periods: Sequence[tuple[int, int] | None]) -> Job:
    """Find the seasons of every period.

    Raises
    ------
    DataGapError
        If a period has fewer than 3 seasons.
    """
    south = grid.data["latitude_of_place"].values < 0.0
    sides = [side for side in (False, True) if (south == side).any()]
    if not sides:
        raise DataGapError("the grid has no cells: give one with at least one place")
    rows = tuple({side: whole_rows(each_day(grid.days), side, years) for side in sides} for years in periods)
    return Job(layout, rows, grid.days)


def lazy_numbers(grid: Grid, block: Block, job: Job) -> xr.DataArray:
    """All numbers of one region, not yet computed, the dimensions of space first and ``number`` last."""
    data = grid.data.isel(dict(block.where)).map(_own_memory).chunk(-1)
    daily = ["tmin", "tmax", *(["precipitation"] if "precipitation" in data else [])]
    fixed = [name for name in ("elevation", "slope", "aspect", "land") if name in data]
    arrays = [data[name].transpose(..., "time") for name in daily]
    arrays += [data[name] for name in ("latitude_of_place", *fixed)]
    result = xr.apply_ufunc(
        partial(chunk_numbers, job=job, daily=len(daily), fixed=("latitude", *fixed)),
        *arrays,
        input_core_dims=[["time"]] * len(daily) + [[]] * (len(fixed) + 1),
        output_core_dims=[["number"]],
        dask="parallelized",
        output_dtypes=[np.float32],
        dask_gufunc_kwargs={"output_sizes": {"number": job.layout.count}},
    )
    assert isinstance(result, xr.DataArray)
    return result


def _own_memory(array: xr.DataArray) -> xr.DataArray:
    """Copies of the parts of chunks that are needed, so that the rest of the chunks need not be kept."""
    return array if array.chunks is None else array.copy(data=array.data.map_blocks(_compact))


def _compact(part: NDArray[Any]) -> NDArray[Any]:
    return part if part.base is None else part.copy()


def chunk_numbers(*arrays: NDArray[Any], job: Job, daily: int, fixed: tuple[str, ...]) -> NDArray[np.float32]:
    """The whole chain for one chunk.

    Parameters
    ----------
    *arrays : numpy.ndarray
        Daily series, shape (..., time), then what does not change, shape (...,) or such as broadcasts to it.
    job : Job
    daily : int
        How many of them are daily.
    fixed : tuple of str
        Names of the others.

    Returns
    -------
    numpy.ndarray of float32, shape (..., number)
    """
    space = arrays[0].shape[:-1]
    series = [_by_time(array) for array in arrays[:daily]]
    values = {
        name: np.broadcast_to(array, space).reshape(-1) for name, array in zip(fixed, arrays[daily:], strict=True)
    }
    cells = int(np.prod(space))
    latitude = values["latitude"].astype(float)
    land = np.asarray(values.get("land", np.ones(cells, dtype=bool)), dtype=bool)
    series = clean_places(job.days, series, _with_data(series, land))
    kept = _with_data(series, land)
    result = np.full((job.layout.count, cells), np.nan, np.float32)
    for side in job.rows[0]:
        where = np.flatnonzero(kept & ((latitude < 0.0) == side))
        if where.size:
            result[:, where] = _side_numbers(_places(series, values, latitude, where, cells), job, side)
    return np.ascontiguousarray(result.T).reshape(*space, -1)


def _by_time(array: NDArray[Any]) -> NDArray[np.float32]:
    """Shape (time, cell), without a copy where time came first."""
    front = np.moveaxis(array, -1, 0)
    return np.ascontiguousarray(front, dtype=np.float32).reshape(front.shape[0], -1)


def _with_data(series: list[NDArray[np.float32]], land: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Cells on land that have any temperature."""
    low, high = series[:2]
    bare = np.asarray(np.isnan(low[::LOOK_STEP]).all(axis=0) | np.isnan(high[::LOOK_STEP]).all(axis=0))
    for cell in np.flatnonzero(bare & land):
        bare[cell] = bool(np.isnan(low[:, cell]).all() or np.isnan(high[:, cell]).all())
    return land & ~bare


def _places(
    series: list[NDArray[np.float32]],
    values: dict[str, NDArray[Any]],
    latitude: NDArray[np.float64],
    where: NDArray[np.int_],
    cells: int,
) -> Places:
    def each(name: str, default: float) -> NDArray[np.float64]:
        given = values.get(name)
        return np.full(cells, default) if given is None else np.nan_to_num(given.astype(float), nan=default)

    everywhere = Places(
        series[0],
        series[1],
        series[2] if len(series) > 2 else None,
        latitude,
        each("elevation", 0.0),
        each("slope", 0.0),
        each("aspect", 180.0),
    )
    return everywhere if where.size == cells else everywhere.at(where)


def _side_numbers(places: Places, job: Job, side: bool) -> NDArray[np.float32]:
    parts = []
    for rows in job.rows:
        for warming in job.layout.warmings:
            ask = replace(job.layout.ask, warming=warming)
            found = answers_of(places, rows[side], ask) if side in rows else empty_answers(ask, len(places))
            parts.append(job.layout.pack(found))
    return np.concatenate(parts)
