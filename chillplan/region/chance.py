"""Chance of a good winter at every place, with the error of the seed-zone model counted in, as a plan states it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.plan import POINTS
from chillplan.physics.lanes import LANES
from chillplan.physics.model_error import model_error, perturbations
from chillplan.region.chance_kernel import chance_block
from chillplan.region.needs import Needs
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seasons.summary import TEMPERATURE_GRAIN
from chillplan.seeds.two_winters import WARMTH_GRAIN

__all__ = ["ZoneError", "chance_over", "error_of", "good_on", "moved"]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

GRAINS = np.array([DAY_GRAIN, WARMTH_GRAIN], np.float32)


@dataclass(frozen=True)
class ZoneError:
    """Possible errors of the seed zone, in the whole numbers in which the kernels keep its temperature.

    Attributes
    ----------
    shifts : tuple of int
        Rising. [1/256 °C]
    weights : tuple of float
        Sum to 1. [-]
    """

    shifts: tuple[int, ...]
    weights: tuple[float, ...]


@cache
def error_of(dry: bool, calibrated: bool) -> ZoneError:
    """Error of the seed-zone model.

    Parameters
    ----------
    dry : bool
        No precipitation is known.
    calibrated : bool
        Calibrated with a thermometer of the place.
    """
    offsets, weights = perturbations(model_error(not dry, calibrated).together, POINTS)
    return ZoneError(tuple(2 * round(offset * TEMPERATURE_GRAIN) for offset in offsets), tuple(weights.tolist()))


def chance_over(error: ZoneError, share_good: Callable[[int], FloatArray]) -> FloatArray:
    """Chance of a good winter over the errors.

    Parameters
    ----------
    error : ZoneError
    share_good : callable
        Share of good winters, shape (place,), with the seed zone shifted by so much. [-]

    Returns
    -------
    numpy.ndarray, shape (place,)
        [-]
    """
    parts = [weight * share_good(shift) for shift, weight in zip(error.shifts, error.weights, strict=True)]
    return np.asarray(np.sum(parts, axis=0))


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
