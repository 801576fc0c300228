"""Seed begun outdoors and finished in the refrigerator, at every place of a group."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.rules import STARTS
from chillplan.advice.top_up import (
    begin_window,
    can_be_lifted,
    earliest_planting,
    gains_enough,
    lacks_chill,
    most_owed,
    seeds_done,
    top_up_pays,
    top_up_wanted,
)
from chillplan.physics.lanes import LANES
from chillplan.region.chance import GRAINS, moved
from chillplan.region.group import Group
from chillplan.region.needs import Needs
from chillplan.region.seed_kernel import single_block
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seeds.recipe import Recipe
from chillplan.seeds.simulate import FATES

__all__ = ["Begun", "begun_outdoors", "good_begun"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int_]
BoolArray = NDArray[np.bool_]
Days = NDArray[np.int32]

LOST = FATES[1:]
DORMANT = LOST.index("still dormant")


@dataclass(frozen=True)
class Begun:
    """What beginning outdoors and finishing indoors gives; every array has the shape (place,).

    Attributes
    ----------
    pays : numpy.ndarray of bool
    good : numpy.ndarray of int
        Good winters.
    first, last : numpy.ndarray of int
        Positions of the sowing window.
    planted : numpy.ndarray of int
        [day]
    """

    pays: BoolArray
    good: IntArray
    first: IntArray
    last: IntArray
    planted: IntArray


@dataclass(frozen=True)
class _Lifted:
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


def begun_outdoors(
    group: Group,
    needs: Needs,
    recipe: Recipe,
    best: IntArray,
    indoors: tuple[Days, FloatArray],
    wanted: BoolArray,
    plant: Callable[[IntArray], IntArray],
) -> Begun:
    """Whether beginning outdoors and finishing indoors pays, in how many winters it is good, and its dates.

    Parameters
    ----------
    group : Group
    needs : Needs
    recipe : Recipe
    best : numpy.ndarray of int, shape (place,)
        Position of the best autumn date.
    indoors : tuple of numpy.ndarray, shape (place,)
        Best planting date after treatment wholly indoors, and its mean share up. [day, -]
    wanted : numpy.ndarray of bool, shape (place,)
        Autumn sowing fails there, and treatment indoors is good.
    plant : callable
        Best planting dates from given days on. [day]
    """
    seasons, accept = group.ground.code.shape[1], group.ask.accept
    planted, share = indoors
    first, last = begin_window(best, group.ground.cool, recipe)
    nowhere = Begun(np.zeros(wanted.size, bool), np.zeros(wanted.size, int), first, last, planted.astype(int))
    wanted = wanted & can_be_lifted(group.ground.workable, group.lift)
    if not top_up_wanted(recipe) or not wanted.any():
        return nowhere
    most, sown = most_owed(recipe), STARTS[last].astype(np.int32)
    lying = _lifted(group, needs, recipe, sown, planted, wanted)
    losses = lying.lost.T / (20.0 * seasons) * needs.open_share
    losses[DORMANT] += 1.0 - needs.open_share
    wanted = wanted & lacks_chill(losses, DORMANT) & gains_enough(lying.owed, most, accept)
    if not wanted.any():
        return nowhere
    finished = plant(earliest_planting(lying.owed, most, group.lift, accept))
    left = _left(group, needs, recipe, sown, finished, wanted)
    good = needs.once[left] > 0
    pays = wanted & top_up_pays(good, left / 20.0 * needs.open_share, share, finished - planted, accept)
    return Begun(pays, good.sum(axis=0), first, last, finished)


def good_begun(group: Group, needs: Needs, recipe: Recipe, begun: Begun, wanted: BoolArray, shift: int) -> IntArray:
    """Good winters of the same dates where the seed zone is moved by a shift; shape (place,)."""
    left = _left(group, needs, recipe, STARTS[begun.last].astype(np.int32), begun.planted, wanted, shift)
    return np.asarray((needs.once[left] > 0).sum(axis=0))


def _left(
    group: Group, needs: Needs, recipe: Recipe, sown: Days, planted: IntArray, wanted: BoolArray, shift: int = 0
) -> IntArray:
    """Quantiles that have all their cold and are up after planting out, less those up before lifting."""
    lifted = _lifted(group, needs, recipe, sown, planted.astype(np.int32), wanted, shift)
    done = seeds_done(lifted.owed, recipe, planted - group.lift)
    return np.asarray(np.maximum(np.minimum(lifted.up, done) - lifted.risen, 0))


def _lifted(
    group: Group, needs: Needs, recipe: Recipe, sown: Days, planted: Days, wanted: BoolArray, shift: int = 0
) -> _Lifted:
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
    return _Lifted(lost, np.where(gathered < 0, np.nan, rest), before, after)
