"""Good winters and seeds up of every candidate date, counted block by block."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.rules import LAST_AUTUMN_START, STARTS, enough
from chillplan.physics.lanes import LANES
from chillplan.region.chance import GRAINS, moved
from chillplan.region.ground import STEP
from chillplan.region.group import Group
from chillplan.region.needs import Needs
from chillplan.region.seed_kernel import fates_block, second_block

__all__ = ["PLANTING", "counts_of", "second_counts"]

IntArray = NDArray[np.int_]
BoolArray = NDArray[np.bool_]

PLANTING = int(np.searchsorted(STARTS, LAST_AUTUMN_START))
"""Position of the first planting date."""


def counts_of(group: Group, needs: Needs) -> tuple[IntArray, IntArray, IntArray, IntArray, NDArray[np.int8]]:
    """Good winters and seeds up by date of sowing, the same by date of planting, and seeds up winter by winter."""
    code = group.ground.code
    blocks = [_count_block(group, needs, block, code[block]) for block in range(len(code))]
    ups, *tables = (np.stack(part) for part in zip(*blocks, strict=True))
    good, total, good_in, total_in = (_by_place(table) for table in tables)
    return good, total, good_in, total_in, ups


def _count_block(group: Group, needs: Needs, block: int, code: NDArray[np.int16]) -> list[NDArray[Any]]:
    """Of one block: seeds up, shape (season, date, lane); then good winters and seeds up, shape (date, lane)."""
    lanes, late = slice(block * LANES, (block + 1) * LANES), STARTS.size - PLANTING
    ups = np.empty((code.shape[0], STARTS.size, LANES), np.int8)
    tables = [np.zeros((dates, LANES), np.int32) for dates in (STARTS.size, STARTS.size, late, late)]
    fates_block(
        code,
        needs.response,
        needs.order,
        needs.needs,
        needs.owed,
        needs.thermal,
        np.float32(needs.base),
        GRAINS,
        group.deadline[lanes],
        np.ascontiguousarray(group.killing[:, lanes]),
        STEP,
        int(STARTS[PLANTING]),
        needs.once,
        ups,
        *tables,
    )
    return [ups, *tables]


def second_counts(
    group: Group, needs: Needs, wanted: BoolArray, ups: NDArray[np.int8] | None, shift: int = 0
) -> tuple[IntArray, IntArray, IntArray]:
    """Good winters, and seeds up in the first and in the second spring, shape (date, place), at places asked for.

    `ups` are the seeds up in the first spring where those are counted already. What is not within reach of the accepted
    risk is then not counted to the end.
    """
    followed = np.arange(int((group.following >= 0).sum()) + 1)
    fewest = 0 if ups is None else int(np.argmax(enough(followed, followed[-1], group.ask.accept)))
    code = group.ground.code
    good, once, later = (np.zeros((len(code), STARTS.size, LANES), np.int32) for _ in range(3))
    for block in range(len(code)):
        lanes = slice(block * LANES, (block + 1) * LANES)
        if wanted[lanes].any():
            temperatures = moved(code[block], shift)
            up = _count_block(group, needs, block, temperatures)[0] if ups is None else ups[block]
            second_block(
                temperatures,
                group.following,
                wanted[lanes],
                needs.response,
                needs.order,
                needs.needs,
                needs.thermal,
                np.float32(needs.base),
                GRAINS,
                group.deadline[lanes],
                np.ascontiguousarray(group.killing[:, lanes]),
                STEP,
                needs.twice,
                fewest,
                up,
                good[block],
                once[block],
                later[block],
            )
    return _by_place(good), _by_place(once), _by_place(later)


def _by_place(table: NDArray[np.int32]) -> IntArray:
    """From (block, date, lane) to (date, place)."""
    return table.transpose(1, 0, 2).reshape(table.shape[1], -1).astype(int)
