"""When a seed has had enough: first passages of accumulated days, for many starts at once.

Two kinds of accumulation are needed. Warm days and thermal time only grow, so the day on which a sum is reached is
found in the running total. Cold days can be lost again in a hot spell, down to nothing but not below: between spells
the progress only grows and is found the same way, and the spells, few in two seasons, are gone through one by one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["NEVER", "Reversible", "Running", "reversible_total", "running_total", "walk"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int32]

NEVER = 1_000_000  # a day index that no season reaches
SLACK = 1e-9  # what a sum may lack through rounding [day or °C d]
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
        return self.reach_of(np.arange(self.total.shape[1]), start, amount)

    def reach_of(self, season: NDArray[np.int_], start: IntArray, amount: ArrayLike) -> IntArray:
        """The same for seeds whose season is given; `season` is broadcast against `start`."""
        days = self.total.shape[0] - 1
        begun = np.minimum(start, days)
        target = self.total[begun, season] + np.asarray(amount) - SLACK
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
class Reversible:
    """Running totals of a gain that hot spells take away again, down to nothing but not below.

    Attributes
    ----------
    gained : Running
        Totals of the gains alone.
    lost : numpy.ndarray, shape (day + 1, season)
        Sum of the losses of the days before each day.
    first, last : numpy.ndarray of int, shape (spell + 1, season)
        First and last day of each hot spell, a spell being losses with no gain between them; the number of days where
        there are no more.
    coming : numpy.ndarray of int, shape (day + 1, season)
        Which spell is under way on a day or comes next.
    """

    gained: Running
    lost: FloatArray
    first: IntArray
    last: IntArray
    coming: IntArray

    def reach(self, start: IntArray, amount: ArrayLike) -> IntArray:
        """First day on which the progress since the start reaches an amount.

        Parameters
        ----------
        start : numpy.ndarray of int, shape (..., season)
            First day that counts; `NEVER` stays `NEVER`. [day]
        amount : array_like, broadcast against `start`
            Zero or less is reached on the day before the start. [day]

        Returns
        -------
        numpy.ndarray of int, shape (..., season)
            `NEVER` where it is not reached.
        """
        days = self.lost.shape[0] - 1
        amounts = np.broadcast_to(np.asarray(amount, dtype=float), start.shape)
        season = np.arange(start.shape[-1])
        day = np.minimum(_shared(start), days)
        spell = self.coming[day, season]
        end = np.maximum(self.first[spell, season], day)
        gain = self.gained.total[end, season] - self.gained.total[day, season]
        nothing = amounts <= SLACK
        before_heat = (day < days) & ((amounts <= gain + SLACK) | (end >= days)) & ~nothing
        done = np.where(nothing & (day < days), start - 1, NEVER).astype(np.int32)
        place = np.nonzero(before_heat)
        done[place] = self.gained.reach_of(place[-1], start[place], amounts[place])
        place = np.nonzero((day < days) & ~before_heat & ~nothing)
        if place[0].size:
            done[place] = self._through_heat(place[-1], start[place].astype(np.int64), amounts[place])
        return done

    def _through_heat(self, season: NDArray[np.int_], day: NDArray[np.int_], amount: FloatArray) -> IntArray:
        """The same, spell by spell, for seeds that meet a hot spell first; all arrays have the shape (seed,)."""
        days = self.lost.shape[0] - 1
        done = np.full(day.shape, NEVER, dtype=np.int32)
        seed, need, spell = np.arange(day.size), amount, self.coming[day, season].astype(np.int64)
        while seed.size:
            end = np.maximum(self.first[spell, season], day)
            gain = self.gained.total[end, season] - self.gained.total[day, season]
            complete = (need <= gain + SLACK) | (end >= days)
            done[seed[complete]] = self.gained.reach_of(season[complete], day[complete], need[complete])
            left = ~complete
            seed, season, end, gain, need = seed[left], season[left], end[left], gain[left], need[left]
            spell = spell[left]
            over = self.last[spell, season] + 1
            loss = self.lost[over, season] - self.lost[end, season]
            need = np.minimum(need - gain + loss, amount[seed])
            day, spell = np.maximum(over, day[left]), spell + 1
        return done


def _shared(start: IntArray) -> IntArray:
    """Without the leading axis where all along it are the same start in memory."""
    return start[0] if start.ndim > 1 and start.strides[0] == 0 else start


def reversible_total(gain: ArrayLike, hot: ArrayLike) -> Reversible:
    """Prepare the running totals of a cold phase.

    Parameters
    ----------
    gain : array_like, shape (day, season)
        [day]
    hot : array_like of bool, shape (day, season)
        Days above the reversal temperature.
    """
    step = np.nan_to_num(np.asarray(gain, dtype=float)) - LOSS * np.asarray(hot, dtype=bool)
    days, seasons = step.shape
    up, down = np.maximum(step, 0.0), np.maximum(-step, 0.0)
    day = np.arange(days)[:, None]
    before = np.full((1, seasons), -1)
    latest_up = np.concatenate([before, np.maximum.accumulate(np.where(up > 0.0, day, -1))])[:-1]
    latest_down = np.concatenate([before, np.maximum.accumulate(np.where(down > 0.0, day, -1))])[:-1]
    begins = (down > 0.0) & (latest_down <= latest_up)
    number = np.cumsum(begins, axis=0) - 1
    first = np.full((int(begins.sum(axis=0).max(initial=0)) + 1, seasons), days, dtype=np.int32)
    last = np.full(first.shape, days - 1, dtype=np.int32)
    at, which = np.nonzero(begins)
    first[number[at, which], which] = at
    at, which = np.nonzero(down > 0.0)
    last[number[at, which], which] = at  # later days overwrite earlier ones
    ended = np.zeros((days + 1, seasons), dtype=np.int32)
    spell, which = np.nonzero(first < days)
    np.add.at(ended, (last[spell, which] + 1, which), 1)
    lost = np.concatenate([np.zeros((1, seasons)), np.cumsum(down, axis=0)])
    return Reversible(running_total(up), lost, first, last, np.cumsum(ended, axis=0, dtype=np.int32))


def walk(gain: ArrayLike, hot: ArrayLike, start: IntArray, amount: ArrayLike) -> IntArray:
    """First day on which a cold phase is complete; see `reversible_total` and `Reversible.reach`."""
    return reversible_total(gain, hot).reach(start, amount)
