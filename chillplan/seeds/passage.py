"""When a seed has had enough: seeds of a lot walked through the days of every winter, compiled.

Progress towards an amount grows with the days that count and falls, never below nothing, with those that undo it. Sums
are whole numbers and therefore exact.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.physics.lanes import kernel

__all__ = ["NEVER", "Steps", "complete", "steps_of", "whole_parts"]

IntArray = NDArray[np.int32]

NEVER = 1_000_000
"""A day index that no season reaches."""

SLACK = 1e-9
"""What a sum may lack through rounding. [day or °C d]"""


class Steps(NamedTuple):
    """Daily progress towards a phase, or towards emergence.

    Attributes
    ----------
    step : numpy.ndarray of int32, shape (season, day)
        Below zero where a day undoes progress. [parts of a day or of a degree day]
    total : numpy.ndarray of int32, shape (day + 1, season)
        Running total of the steps.
    undone : numpy.ndarray of int16, shape (day + 1, season)
        The last day before each that undid progress; -1 where there was none. [day]
    grain : float
        Parts of a day, or of a degree day.
    """

    step: IntArray
    total: IntArray
    undone: NDArray[np.int16]
    grain: float


def steps_of(step: ArrayLike, grain: float) -> Steps:
    """Prepare the daily progress of many seasons.

    Parameters
    ----------
    step : array_like, shape (day, season)
        Whole parts; NaN (a day that does not exist) is none. [day or °C d]
    grain : float
        Parts of a day, or of a degree day, in which it is counted.
    """
    parts = np.rint(np.nan_to_num(np.asarray(step, dtype=float)) * grain).astype(np.int32)
    total = np.pad(np.cumsum(parts, axis=0, dtype=np.int32), ((1, 0), (0, 0)))
    losses = np.where(parts < 0, np.arange(parts.shape[0], dtype=np.int16)[:, None], np.int16(-1))
    undone = np.pad(np.maximum.accumulate(losses, axis=0), ((1, 0), (0, 0)), constant_values=-1)
    return Steps(np.ascontiguousarray(parts.T), total, undone, grain)


def whole_parts(amount: ArrayLike, grain: float) -> IntArray:
    """Fewest whole parts that reach an amount."""
    return np.asarray(np.ceil((np.asarray(amount) - SLACK) * grain), dtype=np.int32)


def complete(steps: Steps, ready: IntArray, amount: ArrayLike) -> IntArray:
    """Day on which each seed has an amount.

    Parameters
    ----------
    steps : Steps
    ready : numpy.ndarray of int32, shape (seed, start, season)
        First day that counts; `NEVER` stays `NEVER`. [day]
    amount : array_like, shape (seed,)
        What each seed needs; zero or less is reached on the day before the first. [day or °C d]

    Returns
    -------
    numpy.ndarray of int32, shape (seed, start, season)
        `NEVER` where it is not reached.
    """
    done = np.empty(ready.shape, np.int32)
    ready = np.ascontiguousarray(ready)  # one kind of memory, so that one kernel is enough
    walk(steps.step, ready, whole_parts(amount, steps.grain), done)
    return done


@kernel
def walk(step, ready, need, done):
    """Write the day on which each seed has what it needs; arguments as in `complete`."""
    seeds, starts, seasons = ready.shape
    for seed in range(seeds):
        for start in range(starts):
            for season in range(seasons):
                begin, progress = ready[seed, start, season], 0
                day = begin
                while progress < need[seed] and day < step.shape[1]:
                    progress = max(progress + step[season, day], 0)
                    day += 1
                done[seed, start, season] = day - 1 if begin < NEVER and progress >= need[seed] else NEVER
