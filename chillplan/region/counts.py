"""Good winters and seeds up of every candidate date, sown outdoors or lifted and finished indoors, block by block."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.decide import LOST, Begun
from chillplan.advice.rules import LAST_AUTUMN_START, STARTS, enough
from chillplan.advice.top_up import seeds_done
from chillplan.physics.lanes import LANES
from chillplan.region.chance import GRAINS, Shifted, moved
from chillplan.region.ground import STEP, GroundCounts
from chillplan.region.needs import Needs
from chillplan.region.places import Ask
from chillplan.region.seed_kernel import fates_block, second_block, single_block
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seeds.recipe import Recipe

__all__ = ["PLANTING", "Group", "Lifted", "counts_of", "good_begun", "left_of", "lifted", "second_counts"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int_]
BoolArray = NDArray[np.bool_]
Days = NDArray[np.int32]


@dataclass(frozen=True)
class Lifted:
    """Seeds of an autumn sowing: lost when left there, shape (place, fate); the rest has the shape (season, place).

    Attributes
    ----------
    owed : numpy.ndarray
        When lifted, NaN where the last phase has not begun. [day]
    risen, up : numpy.ndarray of int
        Quantiles up before lifting, and in time after planting out with all their cold.
    """

    lost: NDArray[np.int32]
    owed: FloatArray
    risen: IntArray
    up: IntArray


def good_begun(group: Group, needs: Needs, recipe: Recipe, begun: Begun, wanted: BoolArray, shift: int) -> IntArray:
    """Good winters of the same dates where the seed zone is moved by a shift; shape (place,)."""
    left = left_of(group, needs, recipe, STARTS[begun.last].astype(np.int32), begun.planted, wanted, shift)
    return np.asarray((needs.once[left] > 0).sum(axis=0))


def left_of(
    group: Group, needs: Needs, recipe: Recipe, sown: Days, planted: IntArray, wanted: BoolArray, shift: int = 0
) -> IntArray:
    """Quantiles that have all their cold and are up after planting out, less those up before lifting."""
    found = lifted(group, needs, recipe, sown, planted.astype(np.int32), wanted, shift)
    done = seeds_done(found.owed, recipe, planted - group.lift)
    return np.asarray(np.maximum(np.minimum(found.up, done) - found.risen, 0))


def lifted(
    group: Group, needs: Needs, recipe: Recipe, sown: Days, planted: Days, wanted: BoolArray, shift: int = 0
) -> Lifted:
    """Seeds sown and planted on given days, at the places asked for, with the seed zone moved by a shift."""
    code, places = group.ground.code, wanted.size
    seasons = code.shape[1]
    lost = np.zeros((places, len(LOST)), np.int32)
    gathered = np.full((seasons, places), -1, np.int32)
    before, after = (np.zeros((seasons, places), int) for _ in range(2))
    for block in range(len(code)):
        lanes = slice(block * LANES, (block + 1) * LANES)
        if wanted[lanes].any():
            chill = np.full((seasons, LANES), -1, np.int32)
            risen, up = (np.zeros((seasons, LANES), np.int16) for _ in range(2))
            single_block(
                moved(code[block], shift),
                wanted[lanes],
                needs.response,
                needs.order,
                needs.needs,
                needs.owed,
                needs.demanding,
                needs.thermal,
                np.float32(needs.base),
                GRAINS,
                group.deadline[lanes],
                np.ascontiguousarray(group.killing[:, lanes]),
                sown[lanes],
                planted[lanes],
                group.lift[lanes],
                lost[lanes],
                chill,
                risen,
                up,
            )
            gathered[:, lanes], before[:, lanes], after[:, lanes] = chill, risen, up
    rest = np.maximum(recipe.phases[-1].days[1] - gathered / DAY_GRAIN, 0.0)
    return Lifted(lost, np.where(gathered < 0, np.nan, rest), before, after)


@dataclass(frozen=True)
class Group:
    """A group of places, asked for one species.

    Attributes
    ----------
    ground : GroundCounts
    following : numpy.ndarray of int, shape (season,)
        Index of the season after each, -1 where it is not usable.
    deadline, lift : numpy.ndarray of int32, shape (place,)
        Last day on which a seedling is in time; last day to lift seed. [day]
    killing : numpy.ndarray of int32, shape (season, place)
        Last killing frost, -1 where there is none. [day]
    ask : Ask
    cases : tuple of Shifted
    """

    ground: GroundCounts
    following: NDArray[np.int64]
    deadline: NDArray[np.int32]
    lift: NDArray[np.int32]
    killing: NDArray[np.int32]
    ask: Ask
    cases: tuple[Shifted, ...]

    @property
    def followed(self) -> int:
        """Number of seasons that a usable one follows."""
        return int((self.following >= 0).sum())


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
    followed = np.arange(group.followed + 1)
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
