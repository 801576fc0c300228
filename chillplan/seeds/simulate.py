"""The season simulation of a sowing.

One engine answers autumn sowing, spring sowing, pre-chilled seed and topping up: the seeds of a lot, from the least to
the most demanding, go through the phases of a recipe in every winter of the history and for every candidate sowing
date at once. Days are counted from the season's first day over two seasons.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.seasons.cut import DAYS, MIDWINTER
from chillplan.seeds.passage import NEVER
from chillplan.seeds.recipe import Germination, Phase
from chillplan.seeds.requirement import QUANTILES, spread
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["FATES", "Fates", "Passage", "fates_of", "simulate"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int32]

FATES = ("up in time", "killed by frost", "up too late", "still dormant", "sprouted in autumn")
UP, KILLED, LATE, DORMANT, AUTUMN = range(5)


@dataclass(frozen=True)
class Passage:
    """When the seeds of a lot pass their phases; arrays have the shape (quantile, start, season).

    Attributes
    ----------
    phase_done : tuple of numpy.ndarray of int
        Day index on which each phase was complete; `NEVER` where it was not. [day]
    emergence : numpy.ndarray of int
        Day index of emergence. [day]
    """

    phase_done: tuple[IntArray, ...]
    emergence: IntArray


@dataclass(frozen=True)
class Fates:
    """What becomes of a lot, as shares of its viable seed.

    Attributes
    ----------
    shares : numpy.ndarray, shape (fate, start, season)
        In the order of `FATES`; sums to 1 over the fates. [-]
    second_spring : numpy.ndarray, shape (start, season)
        Further share that is up in time in the following spring; NaN where that season is not usable. [-]
    """

    shares: FloatArray
    second_spring: FloatArray

    @property
    def share_up(self) -> FloatArray:
        """Share up in time, shape (start, season)."""
        return np.asarray(self.shares[UP])


def simulate(
    winters: TwoWinters,
    phases: Sequence[Phase],
    germination: Germination,
    starts: IntArray,
    credit: Sequence[float] = (),
) -> Passage:
    """Take a lot through its phases.

    Parameters
    ----------
    winters : TwoWinters
    phases : sequence of Phase
    germination : Germination
    starts : numpy.ndarray of int, shape (start,)
        Sowing dates as day indices, rising. [day]
    credit : sequence of float
        Days of each phase already done indoors; missing ones are 0. [day]

    Returns
    -------
    Passage
        A phase whose requirement is zero is complete on the day before it could begin.
    """
    amounts = [spread(*phase.days) - (credit[n] if n < len(credit) else 0.0) for n, phase in enumerate(phases)]
    alike = _alike(winters, phases, amounts, germination, starts)
    first = np.flatnonzero(np.diff(alike, prepend=-1))
    passage = _pass(winters, phases, amounts, germination, starts[first])
    if first.size == starts.size:
        return passage
    return Passage(tuple(done[:, alike] for done in passage.phase_done), passage.emergence[:, alike])


def _alike(
    winters: TwoWinters,
    phases: Sequence[Phase],
    amounts: Sequence[FloatArray],
    germination: Germination,
    starts: IntArray,
) -> NDArray[np.int_]:
    """Number of the group of each start; starts of a group have no day that counts between them in any season."""
    if not phases:
        total = winters.thermal(germination.base_temperature).total
    elif (amounts[0] <= 0.0).any():
        return np.arange(starts.size)
    elif phases[0].kind == "warm":
        total = winters.running(phases[0].response).total
    else:
        total = winters.reversible(phases[0].response, phases[0].reversal).gained.total
    before = total[np.minimum(starts, total.shape[0] - 1)]
    return np.concatenate([[0], np.cumsum((before[1:] != before[:-1]).any(axis=1))])


def _pass(
    winters: TwoWinters,
    phases: Sequence[Phase],
    amounts: Sequence[FloatArray],
    germination: Germination,
    starts: IntArray,
) -> Passage:
    shape = (QUANTILES.size, starts.size, winters.temperature.shape[1])
    ready = np.broadcast_to(starts.astype(np.int32)[:, None], shape)
    done: list[IntArray] = []
    for phase, amount in zip(phases, amounts, strict=True):
        if (amount <= 0.0).all():
            done.append(_before(ready))
            continue
        done.append(_complete(winters, phase, amount, ready))
        ready = np.where(done[-1] < NEVER, done[-1] + 1, NEVER).astype(np.int32)
    thermal = winters.thermal(germination.base_temperature)
    return Passage(tuple(done), thermal.reach(ready, spread(*germination.thermal_time)[:, None, None]))


def _before(ready: IntArray) -> IntArray:
    return np.where(ready < NEVER, ready - 1, NEVER).astype(np.int32)


def _complete(winters: TwoWinters, phase: Phase, amount: FloatArray, ready: IntArray) -> IntArray:
    if phase.kind == "warm":
        return winters.running(phase.response).reach(ready, amount[:, None, None])
    return winters.reversible(phase.response, phase.reversal).reach(ready, amount[:, None, None])


def fates_of(winters: TwoWinters, emergence: IntArray, seedling_limit: float) -> Fates:
    """Sort every seed into one of the fates.

    A seedling dies when a minimum at its height at or below the limit follows its emergence within the season.

    Parameters
    ----------
    winters : TwoWinters
    emergence : numpy.ndarray of int, shape (quantile, start, season)
        [day]
    seedling_limit : float
        [°C]

    Returns
    -------
    Fates
    """
    killing = winters.last_killing_frost(seedling_limit)
    first = _season_fate(emergence, killing[0], 0, winters.deadline)
    shares = np.stack([(first == fate).mean(axis=0) for fate in range(len(FATES))])
    second = _season_fate(emergence, killing[1], DAYS, winters.deadline)
    again = ((first == DORMANT) & (second == UP)).mean(axis=0)
    return Fates(shares=shares, second_spring=np.where(winters.followed, again, np.nan))


def _season_fate(emergence: IntArray, killing: FloatArray, offset: int, deadline: int) -> NDArray[np.int8]:
    """Fate in the season that begins at a day index; seed not up by its end is dormant."""
    day = emergence - offset
    killed = emergence < killing
    fate = np.where(day < MIDWINTER, AUTUMN, KILLED).astype(np.int8)
    fate = np.where(~killed, np.where(day <= deadline, UP, LATE), fate).astype(np.int8)
    return np.where((day >= DAYS) | (day < 0), DORMANT, fate).astype(np.int8)
