"""Cuts a grid into regions that are computed and written one by one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from chillplan.region.lanes import LANES
from chillplan.region.read_grid import Grid

__all__ = ["BLOCK_BYTES", "Block", "blocks_of"]

BLOCK_BYTES = 128_000_000
"""Input of one region, about; two or three of them are in memory for each worker. [byte]"""


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
