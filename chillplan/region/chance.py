"""Chance of a good winter at every place, over the errors of the seed zone and of the lot, as a plan states it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.rules import possibilities
from chillplan.physics.lanes import LANES
from chillplan.physics.model_error import model_error
from chillplan.region.chance_kernel import chance_block
from chillplan.region.needs import Needs
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seasons.summary import TEMPERATURE_GRAIN
from chillplan.seeds.two_winters import WARMTH_GRAIN

__all__ = ["Shifted", "cases_of", "chance_over", "good_on", "moved"]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

GRAINS = np.array([DAY_GRAIN, WARMTH_GRAIN], np.float32)


class Shifted(NamedTuple):
    """One case of what is not known (`chillplan.advice.rules.Possible`), as the kernels take it.

    Attributes
    ----------
    shift : int
        The seed zone is warmer by so much, in the whole numbers in which the kernels keep it. [1/256 °C]
    lot : float
        The seed needs more than a usual lot by so many standard deviations. [-]
    weight : float
        [-]
    """

    shift: int
    lot: float
    weight: float


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


def moved(code: NDArray[np.int16], shift: int) -> NDArray[np.int16]:
    """A block's temperatures moved by a shift."""
    return code + np.int16(shift) if shift else code


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
            chance_block(
                code[block],
                np.int16(shift),
                wanted[lanes],
                treated[lanes],
                needs.response,
                needs.order,
                needs.needs,
                needs.owed,
                needs.thermal,
                np.float32(needs.base),
                GRAINS,
                deadline[lanes],
                np.ascontiguousarray(killing[:, lanes]),
                start[lanes],
                needs.once,
                good[block],
            )
    return good.reshape(-1).astype(int)
