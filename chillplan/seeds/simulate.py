"""The season simulation of a sowing.

One engine answers autumn sowing, spring sowing, pre-chilled seed and topping up: the seeds of a lot, from the least to
the most demanding, go through the phases of a recipe in every winter of the history and for every candidate sowing
date at once. Days are counted from the season's first day over two seasons, or three where a lot is left so long.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numba
import numpy as np
from numpy.typing import NDArray

from chillplan.seasons.cut import DAYS, MIDWINTER
from chillplan.seeds.passage import NEVER, complete
from chillplan.seeds.recipe import Germination, Phase, Recipe, Species
from chillplan.seeds.requirement import QUANTILES, needs_of_lot, spread
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["FATES", "Fates", "Passage", "fates_of", "open_share", "simulate"]

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
    later : numpy.ndarray, shape (spring, start, season)
        Further shares that are up in time in the second spring, and in the third where the winters hold it; NaN where
        that season is not usable. [-]
    """

    shares: FloatArray
    later: FloatArray

    @property
    def share_up(self) -> FloatArray:
        """Share up in time, shape (start, season)."""
        return np.asarray(self.shares[UP])

    @property
    def second_spring(self) -> FloatArray:
        """Further share up in time in the second spring, shape (start, season)."""
        return np.asarray(self.later[0])

    def by_spring(self, spring: int) -> FloatArray:
        """Share up by a spring, 1 for the first, of the seasons that are known so long; shape (start, season)."""
        total = self.share_up + self.later[: spring - 1].sum(axis=0)
        return np.asarray(total[:, np.isfinite(total).all(axis=0)])

    def of_start(self, position: int) -> Fates:
        """The same of one sowing date alone."""
        one = slice(position, position + 1)
        return Fates(self.shares[:, one], self.later[:, one])


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
        Sowing dates as day indices, rising; from minus the winters' lead on. [day]
    credit : sequence of float
        Days of each phase already done indoors; missing ones are 0. [day]

    Returns
    -------
    Passage
        A phase whose requirement is zero is complete on the day before it could begin.
    """
    shape = (QUANTILES.size, starts.size, winters.temperature.shape[1])
    ready: IntArray = np.broadcast_to(starts.astype(np.int32)[:, None] + np.int32(winters.lead), shape)
    done: list[IntArray] = []
    for number, phase in enumerate(phases):
        amount = needs_of_lot(phase) - (credit[number] if number < len(credit) else 0.0)
        done.append(complete(winters.steps(phase), ready, amount))
        ready = np.where(done[-1] < NEVER, done[-1] + 1, NEVER).astype(np.int32)
    warmth = winters.warmth_steps(germination.base_temperature)
    emergence = complete(warmth, ready, spread(*germination.thermal_time))
    return Passage(tuple(_in_season(days, winters.lead) for days in done), _in_season(emergence, winters.lead))


def _in_season(days: IntArray, lead: int) -> IntArray:
    """Days counted from the start of the arrays as day indices of the season. [day]"""
    return days if lead == 0 else np.where(days < NEVER, days - np.int32(lead), days).astype(np.int32)


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
    killing = winters.last_killing_frost(seedling_limit).astype(np.int32)
    counts = np.zeros((len(FATES), *emergence.shape[1:]), np.int32)
    again = np.zeros((killing.shape[0] - 1, *emergence.shape[1:]), np.int32)
    _sort(emergence, killing, (DAYS, MIDWINTER, winters.deadline), counts, again)
    lot = emergence.shape[0]
    return Fates(shares=counts / lot, later=np.where(winters.usable[1:, None], again / lot, np.nan))


def open_share(species: Species, recipe: Recipe) -> float:
    """Share of the seed that water can enter in a winter; 1 but for hard seed left closed. [-]"""
    return species.trickle_share if species.hard_coat and not recipe.opens_coat else 1.0


@numba.njit(nogil=True, cache=True)
def _sort(emergence, killing, marks, counts, again):
    """Add each seed to the count of its fate, and to `again` where it is up in time in a later spring only.

    `marks` are the days of a season, midwinter and the deadline; a kept kernel sees no change in other files.
    """
    seeds, starts, seasons = emergence.shape
    for seed in range(seeds):
        for start in range(starts):
            for season in range(seasons):
                day = emergence[seed, start, season]
                fate = _fate(day, day < killing[0, season], marks)
                counts[fate, start, season] += 1
                later = day // marks[0]
                if 0 < later < killing.shape[0]:
                    inside = day - later * marks[0]
                    if _fate(inside, day < killing[later, season], marks) == UP:
                        again[later - 1, start, season] += 1


@numba.njit(nogil=True)
def _fate(day, killed, marks):
    """Fate in a season by the day of emergence in it; seed not up by its end is dormant.

    What is up before the season began is a seedling of a summer before, in time by the same day of the year.
    """
    days, midwinter, deadline = marks
    if day >= days:
        return DORMANT
    if day < 0:
        return UP if day % days <= deadline else LATE
    if killed:
        return AUTUMN if day < midwinter else KILLED
    return UP if day <= deadline else LATE
