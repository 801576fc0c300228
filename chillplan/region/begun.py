"""Seed begun outdoors and finished in the refrigerator, at every place of a group."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.decide import LOST, Begun
from chillplan.advice.rules import STARTS
from chillplan.advice.top_up import seeds_done
from chillplan.physics.lanes import LANES
from chillplan.region.chance import GRAINS, moved
from chillplan.region.group import Group
from chillplan.region.needs import Needs
from chillplan.region.seed_kernel import single_block
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seeds.recipe import Recipe

__all__ = ["Lifted", "good_begun", "left_of", "lifted"]

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
