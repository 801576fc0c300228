"""Cuts a grid into regions that are computed and written one by one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from chillplan.physics.lanes import LANES
from chillplan.weather.grid import Grid

__all__ = ["BLOCK_BYTES", "Block", "blocks_of", "times_read"]

BLOCK_BYTES = 32_000_000
"""Input of one region, about; two or three of them are in memory for each worker. [byte]"""

CHUNKS = 4
"""A region may be larger by so much, where the input's own chunks are: each is then read once only."""


@dataclass(frozen=True)
class Block:
    """A rectangle of the grid.

    Attributes
    ----------
    number : int
    where : mapping of str to slice
        By dimension of space.
    """

    number: int
    where: Mapping[str, slice]


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
