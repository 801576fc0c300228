"""When a seed has had enough: first passages of accumulated days, for many starts at once.

Three kinds of accumulation are needed. Warm days and thermal time only grow, so the day on which a sum is reached is
found in the running total. Cold days can be lost again in a hot spell, down to nothing but not below: for the first
phase, whose starts are few and shared, the progress of each start is tabled once; for later phases, whose starts
differ from seed to seed, the days are walked through with all seeds at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["NEVER", "ProgressTable", "Running", "progress_table", "running_total", "walk"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int32]

NEVER = 1_000_000  # a day index that no season reaches
LOSS = 1.0  # progress lost on a day above the reversal temperature [day]; an assumption of ours


@dataclass(frozen=True)
class Running:
    """Running totals of a daily gain that never falls.

    Attributes
    ----------
    total : numpy.ndarray, shape (day + 1, season)
        Sum of the days before each day.
    line : numpy.ndarray, shape (season * (day + 1),)
        All seasons end to end, each lifted above the one before, so that one search serves all.
    lift : float
    """

    total: FloatArray
    line: FloatArray
    lift: float

    def reach(self, start: IntArray, amount: ArrayLike) -> IntArray:
        """First day on which the sum since the start reaches an amount.

        Parameters
        ----------
        start : numpy.ndarray of int, shape (..., season)
            First day that counts; `NEVER` stays `NEVER`. [day]
        amount : array_like, broadcast against `start`
            Zero or less is reached on the day before the start. [day or °C d]

        Returns
        -------
        numpy.ndarray of int, shape (..., season)
            `NEVER` where it is not reached.
        """
        days = self.total.shape[0] - 1
        season = np.arange(self.total.shape[1])
        begun = np.minimum(start, days)
        target = self.total[begun, season] + np.asarray(amount) - 1e-9
        found = np.searchsorted(self.line, target + season * self.lift) - season * (days + 1) - 1
        found = np.maximum(found, begun - 1)
        return np.where((start >= days) | (found >= days), NEVER, found).astype(np.int32)


def running_total(gain: ArrayLike) -> Running:
    """Prepare the running totals of a daily gain.

    Parameters
    ----------
    gain : array_like, shape (day, season)
        Zero or more; NaN (a day that does not exist) gains nothing. [day or °C d]
    """
    values = np.nan_to_num(np.asarray(gain, dtype=float))
    total = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])
    lift = float(total[-1].max(initial=0.0)) + 1e4
    line = (total + np.arange(values.shape[1]) * lift).T.reshape(-1)
    return Running(total, line, lift)


@dataclass(frozen=True)
class ProgressTable:
    """Most progress made so far, by start and day.

    Attributes
    ----------
    line : numpy.ndarray, shape (start, season, day)
        Progress, each start and season lifted above the one before, so that one search serves all. [day]
    starts : numpy.ndarray of int, shape (start,)
    lift : float
    """

    line: FloatArray
    starts: IntArray
    lift: float

    def most(self, position: int, day: int) -> FloatArray:
        """Most progress of one start by a day; shape (season,). [day]"""
        seasons = self.line.shape[1]
        return np.asarray(self.line[position, :, day] - (position * seasons + np.arange(seasons)) * self.lift)

    def reach(self, amount: FloatArray) -> IntArray:
        """First day on which each start's progress reaches an amount.

        Parameters
        ----------
        amount : numpy.ndarray, shape (quantile,)
            [day]

        Returns
        -------
        numpy.ndarray of int, shape (quantile, start, season)
            The day before the start where the amount is zero or less; `NEVER` where it is not reached.
        """
        starts, seasons, days = self.line.shape
        row = np.arange(starts * seasons).reshape(starts, seasons)
        target = np.asarray(amount, dtype=float)[:, None, None] - 1e-9
        found = np.searchsorted(self.line.reshape(-1), target + row * self.lift) - row * days
        found = np.where(target <= 0.0, self.starts[:, None] - 1, found)
        return np.where(found >= days, NEVER, found).astype(np.int32)


def progress_table(gain: ArrayLike, hot: ArrayLike, starts: ArrayLike) -> ProgressTable:
    """Table the progress of a cold phase for a few starts.

    Parameters
    ----------
    gain : array_like, shape (day, season)
        [day]
    hot : array_like of bool, shape (day, season)
        Days above the reversal temperature.
    starts : array_like of int, shape (start,)
        First day that counts. [day]
    """
    step = np.nan_to_num(np.asarray(gain, dtype=float)) - LOSS * np.asarray(hot, dtype=bool)
    begin = np.asarray(starts, dtype=np.int32)
    days, seasons = step.shape
    lift = float(days) + 1e3
    base = (np.arange(begin.size * seasons) * lift).reshape(begin.size, seasons)
    line = np.empty((begin.size, seasons, days))
    now, best = np.zeros((begin.size, seasons)), np.zeros((begin.size, seasons))
    for day, begun in enumerate(np.searchsorted(begin, np.arange(days), side="right").tolist()):
        if begun:
            now[:begun] = np.maximum(now[:begun] + step[day], 0.0)
            np.maximum(best[:begun], now[:begun], out=best[:begun])
        line[:, :, day] = best + base
    return ProgressTable(line, begin, lift)


def walk(gain: ArrayLike, hot: ArrayLike, start: IntArray, amount: ArrayLike) -> IntArray:
    """First day on which a cold phase is complete, for starts that differ from seed to seed.

    Parameters
    ----------
    gain, hot : array_like, shape (day, season)
        As for `progress_table`.
    start : numpy.ndarray of int, shape (..., season)
        First day that counts. [day]
    amount : array_like, broadcast against `start`
        [day]

    Returns
    -------
    numpy.ndarray of int, shape (..., season)
    """
    gained, heat = np.nan_to_num(np.asarray(gain, dtype=float)), np.asarray(hot, dtype=bool)
    running = running_total(gained)
    done = running.reach(start, amount)
    touched = _heat_matters(running.total, heat, start, done)
    if touched.any():
        season = np.broadcast_to(np.arange(start.shape[-1]), start.shape)[touched]
        wanted = np.broadcast_to(np.asarray(amount, dtype=float), start.shape)[touched]
        done[touched] = _walk_days(gained - LOSS * heat, season, start[touched], wanted)
    return done


def _heat_matters(total: FloatArray, heat: NDArray[np.bool_], start: IntArray, done: IntArray) -> NDArray[np.bool_]:
    """Whether a hot day falls on progress already made before the phase would be complete without losses."""
    days, season = heat.shape[0], np.arange(heat.shape[1])
    day = np.arange(days)[:, None]
    last_hot = np.concatenate([np.full((1, heat.shape[1]), -1), np.maximum.accumulate(np.where(heat, day, -1))])
    begun, end = np.minimum(start, days), np.minimum(done + 1, days)
    hottest = last_hot[end, season]
    made = total[np.maximum(hottest, 0), season] - total[begun, season]
    return np.asarray((start < days) & (hottest > begun) & (made > 0.0))


def _walk_days(step: FloatArray, season: NDArray[np.int_], start: IntArray, wanted: FloatArray) -> IntArray:
    """Walk a few seeds through their days; all arrays but `step` have the shape (seed,)."""
    done = np.full(start.shape, NEVER, dtype=np.int32)
    progress = np.zeros(start.shape)
    for day in range(int(start.min()), step.shape[0]):
        progress = np.where(start <= day, np.maximum(progress + step[day, season], 0.0), progress)
        done = np.where((progress >= wanted - 1e-9) & (done == NEVER) & (start <= day), np.int32(day), done)
    return done
