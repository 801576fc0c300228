"""Good winters and seeds up of a group of places: by date of sowing, lifted and finished indoors, and by chance.

The chance is taken over the errors of the seed zone and of the lot, as a plan states it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.decide import Begun
from chillplan.advice.rules import LAST_AUTUMN_START, STARTS, enough, possibilities
from chillplan.advice.top_up import seeds_done
from chillplan.physics.lanes import LANES
from chillplan.physics.model_error import model_error
from chillplan.region.ground import STEP, GroundCounts
from chillplan.region.places import Ask, Needs
from chillplan.region.seed_kernel import Asked, Ends, Fared, Fates, date_block, fates_block, second_block, single_block
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seasons.summary import TEMPERATURE_GRAIN
from chillplan.seeds.recipe import Recipe
from chillplan.seeds.requirement import QUANTILES
from chillplan.seeds.simulate import days_of_fates, sorted_by_fate

__all__ = [
    "PLANTING",
    "Group",
    "Lifted",
    "Shifted",
    "cases_of",
    "chance_over",
    "counts_of",
    "good_begun",
    "good_on",
    "left_of",
    "lifted",
    "moved",
    "second_counts",
]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int_]
BoolArray = NDArray[np.bool_]
Days = NDArray[np.int32]

PLANTING = int(np.searchsorted(STARTS, LAST_AUTUMN_START))
"""Position of the first planting date."""


class Shifted(NamedTuple):
    """One case of what is not known (`chillplan.advice.rules.Possible`), as the kernels take it."""

    shift: int  # the seed zone is warmer by so much, in the whole numbers in which the kernels keep it [1/256 °C]
    lot: float  # the seed needs more than a usual lot by so many standard deviations [-]
    weight: float  # [-]


@dataclass(frozen=True)
class Group:
    """A group of places, asked for one species."""

    ground: GroundCounts
    following: NDArray[np.int64]  # index of the season after each, -1 where it is not usable; shape (season,)
    # last day on which a seedling is in time; last day to lift seed [day]; shape (place,)
    deadline: NDArray[np.int32]
    lift: NDArray[np.int32]
    killing: NDArray[np.int32]  # last killing frost, -1 where there is none [day]; shape (season, place)
    ask: Ask
    cases: tuple[Shifted, ...]

    @property
    def followed(self) -> int:
        """Number of seasons that a usable one follows."""
        return int((self.following >= 0).sum())

    def ends(self, lanes: slice) -> Ends:
        """Deadline and killing frosts of a block."""
        return Ends(self.deadline[lanes], np.ascontiguousarray(self.killing[:, lanes]))


@cache
def cases_of(dry: bool, calibrated: bool) -> tuple[Shifted, ...]:
    """Cases of the error of the seed zone and of the lot.

    Parameters
    ----------
    dry : bool
        No precipitation is known.
    calibrated : bool
        Calibrated with a thermometer of the place.
    """
    cases = possibilities(model_error(not dry, calibrated).together)
    return tuple(Shifted(2 * round(offset * TEMPERATURE_GRAIN), lot, weight) for offset, lot, weight in cases)


def moved(code: NDArray[np.int16], shift: int) -> NDArray[np.int16]:
    """A block's temperatures moved by a shift."""
    return code + np.int16(shift) if shift else code


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
    fates_block(code, needs, group.ends(lanes), STEP, int(STARTS[PLANTING]), Fates(ups, *tables))
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
            found = Fates(up, good[block], once[block], good[block], later[block])
            ends = group.ends(lanes)
            second_block(temperatures, group.following, wanted[lanes], needs, ends, STEP, fewest, found)
    return _by_place(good), _by_place(once), _by_place(later)


def _by_place(table: NDArray[np.int32]) -> IntArray:
    """From (block, date, lane) to (date, place)."""
    return table.transpose(1, 0, 2).reshape(table.shape[1], -1).astype(int)


@dataclass(frozen=True)
class Lifted:
    """Seeds of an autumn sowing: lost when left there, shape (fate, place); the rest has the shape (season, place)."""

    lost: NDArray[np.int32]
    owed: FloatArray  # when lifted, NaN where the last phase has not begun [day]
    # quantiles up before lifting, and in time after planting out with all their cold
    risen: IntArray
    up: IntArray


def lifted(
    group: Group, needs: Needs, recipe: Recipe, sown: Days, planted: Days, wanted: BoolArray, shift: int = 0
) -> Lifted:
    """Seeds sown and planted on given days, at the places asked for, with the seed zone moved by a shift."""
    code, places = group.ground.code, wanted.size
    seasons = code.shape[1]
    days = np.maximum(days_of_fates(group.killing, group.deadline), 0)
    counted = np.zeros((len(days), places), np.int32)
    gathered = np.full((seasons, places), -1, np.int32)
    before, after = (np.zeros((seasons, places), int) for _ in range(2))
    for block in range(len(code)):
        lanes = slice(block * LANES, (block + 1) * LANES)
        if wanted[lanes].any():
            chill = np.full((seasons, LANES), -1, np.int32)
            risen, up = (np.zeros((seasons, LANES), np.int16) for _ in range(2))
            fates = np.ascontiguousarray(days[:, :, lanes])
            asked = Asked(wanted[lanes], sown[lanes], planted[lanes], group.lift[lanes], fates)
            found = Fared(np.zeros((len(days), LANES), np.int32), chill, risen, up)
            single_block(moved(code[block], shift), needs, group.ends(lanes), asked, found)
            counted[:, lanes], gathered[:, lanes], before[:, lanes], after[:, lanes] = found
    rest = np.maximum(recipe.phases[-1].days[1] - gathered / DAY_GRAIN, 0.0)
    lost = sorted_by_fate(counted, QUANTILES.size * seasons)[1:]
    return Lifted(lost, np.where(gathered < 0, np.nan, rest), before, after)


def left_of(
    group: Group, needs: Needs, recipe: Recipe, sown: Days, planted: IntArray, wanted: BoolArray, shift: int = 0
) -> IntArray:
    """Quantiles that have all their cold and are up after planting out, less those up before lifting."""
    found = lifted(group, needs, recipe, sown, planted.astype(np.int32), wanted, shift)
    done = seeds_done(found.owed, recipe, planted - group.lift)
    return np.asarray(np.maximum(np.minimum(found.up, done) - found.risen, 0))


def good_begun(group: Group, needs: Needs, recipe: Recipe, begun: Begun, wanted: BoolArray, shift: int) -> IntArray:
    """Good winters of the same dates where the seed zone is moved by a shift; shape (place,)."""
    left = left_of(group, needs, recipe, STARTS[begun.last].astype(np.int32), begun.planted, wanted, shift)
    return np.asarray((needs.once[left] > 0).sum(axis=0))


def good_on(
    code: NDArray[np.int16],
    shift: int,
    needs: Needs,
    deadline: NDArray[np.int32],
    killing: NDArray[np.int32],
    start: NDArray[np.int32],
    treated: BoolArray,
    wanted: BoolArray,
) -> NDArray[np.int_]:
    """Good winters of one date at each place, 0 where they are not wanted; shape (place,).

    Parameters
    ----------
    code : numpy.ndarray of int16, shape (block, season, day, lane)
    shift : int
        Added to it.
    needs : Needs
    deadline, start : numpy.ndarray of int32, shape (place,)
        Last day to be up; day of sowing or planting. [day]
    killing : numpy.ndarray of int32, shape (season, place)
        Last killing frost, -1 where there is none. [day]
    treated, wanted : numpy.ndarray of bool, shape (place,)
        Whether the seed was treated indoors before; which places to count.
    """
    good = np.zeros((len(code), LANES), np.int16)
    for block in range(len(code)):
        lanes = slice(block * LANES, (block + 1) * LANES)
        if wanted[lanes].any():
            ends = Ends(deadline[lanes], np.ascontiguousarray(killing[:, lanes]))
            date_block(
                code[block], np.int16(shift), wanted[lanes], treated[lanes], needs, ends, start[lanes], good[block]
            )
    return good.reshape(-1).astype(int)


def chance_over(cases: Sequence[Shifted], share_good: Callable[[int, float], FloatArray]) -> FloatArray:
    """Chance of a good winter over what is not known.

    Parameters
    ----------
    cases : sequence of Shifted
    share_good : callable
        Share of good winters, shape (place,), by the shift of the seed zone and the lot. [-]

    Returns
    -------
    numpy.ndarray, shape (place,)
        [-]
    """
    return np.asarray(np.sum([one.weight * share_good(one.shift, one.lot) for one in cases], axis=0))
