"""The season simulation of a sowing.

One engine answers autumn sowing, spring sowing, pre-chilled seed and topping up: the seeds of a lot, from the least to
the most demanding, go through the phases of a recipe in every winter of the history and for every candidate sowing
date at once. `simulate` gives the days, `fates_of` the shares. Days are counted from the season's first day over two
seasons, or three where a lot is left so long.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.seasons.cut import DAYS, MIDWINTER
from chillplan.seeds.passage import NEVER, complete, whole_parts
from chillplan.seeds.recipe import Germination, Phase, Recipe, Species
from chillplan.seeds.requirement import QUANTILES, needs_of_lot, spread
from chillplan.seeds.search import Sums, count_by
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["FATES", "Fates", "Passage", "days_of_fates", "fates_of", "open_share", "simulate", "sorted_by_fate"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int32]

FATES = ("up in time", "killed by frost", "up too late", "still dormant", "sprouted in autumn")


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
        return np.asarray(self.shares[0])

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
    for phase, amount in zip(phases, _amounts(phases, credit), strict=True):
        done.append(complete(winters.steps(phase), ready, amount))
        ready = np.where(done[-1] < NEVER, done[-1] + 1, NEVER).astype(np.int32)
    warmth = winters.warmth_steps(germination.base_temperature)
    emergence = complete(warmth, ready, spread(*germination.thermal_time))
    return Passage(tuple(_in_season(days, winters.lead) for days in done), _in_season(emergence, winters.lead))


def _in_season(days: IntArray, lead: int) -> IntArray:
    """Days counted from the start of the arrays as day indices of the season. [day]"""
    return days if lead == 0 else np.where(days < NEVER, days - np.int32(lead), days).astype(np.int32)


def _amounts(phases: Sequence[Phase], credit: Sequence[float]) -> list[FloatArray]:
    """What the seeds of a lot need of each phase beyond what is done already; shape (quantile,). [day]"""
    done = [*credit, *[0.0] * len(phases)]
    return [needs_of_lot(phase) - done[number] for number, phase in enumerate(phases)]


def fates_of(
    winters: TwoWinters,
    phases: Sequence[Phase],
    germination: Germination,
    starts: IntArray,
    seedling_limit: float,
    credit: Sequence[float] = (),
) -> Fates:
    """Sort every seed into one of the fates, by the day on which it is up.

    A seedling dies when a minimum at its height at or below the limit follows its emergence within the season. What is
    up before the season began is a seedling of a summer before, in time by the same day of the year; what is not up by
    its end is dormant, and may be up in time in a later season.

    Parameters
    ----------
    winters, phases, germination, starts, credit
        As in `simulate`.
    seedling_limit : float
        [°C]

    Returns
    -------
    Fates
    """
    killing = winters.last_killing_frost(seedling_limit).astype(np.int32)
    ends = [*days_of_fates(killing[0], winters.deadline)]
    for season in range(1, len(killing)):
        killed = np.maximum(killing[season], season * DAYS)
        ends += [killed, np.maximum(killed, season * DAYS + winters.deadline + 1)]
    up = _up_before(winters, phases, germination, starts, ends, credit)
    later = (up[FATE_DAYS + 1 :: 2] - up[FATE_DAYS::2]) / QUANTILES.size
    shares = sorted_by_fate(up[:FATE_DAYS], QUANTILES.size) / QUANTILES.size
    return Fates(shares=shares, later=np.where(winters.usable[1:, None], later, np.nan))


FATE_DAYS = 6
"""Days that tell the fates of a season."""


def days_of_fates(killing: IntArray, deadline: IntArray | int) -> IntArray:
    """Days before which seeds of a lot are counted to tell their fates.

    Parameters
    ----------
    killing : numpy.ndarray of int, shape (season, ...)
        Last killing frost; -1 where there is none. [day]
    deadline : int or numpy.ndarray of int
        Last day on which a seedling is in time. [day]

    Returns
    -------
    numpy.ndarray of int, shape (`FATE_DAYS`, season, ...)
    """
    frost, in_time = np.maximum(killing, 0), np.asarray(deadline) + 1
    days = [in_time - DAYS, 0, np.minimum(frost, MIDWINTER), frost, np.maximum(frost, in_time), DAYS]
    return np.stack([np.broadcast_to(day, frost.shape) for day in days]).astype(np.int32)


def sorted_by_fate(up: IntArray, lot: int) -> IntArray:
    """Seeds by their fate, in the order of `FATES`, from those up before each of `days_of_fates`; shape (fate, ...)."""
    early, before, autumn, killed, timely, all_up = up
    late = before - early + all_up - timely
    return np.stack([early + timely - killed, killed - autumn, late, lot - all_up, autumn - before])


def _up_before(
    winters: TwoWinters,
    phases: Sequence[Phase],
    germination: Germination,
    starts: IntArray,
    ends: Sequence[IntArray],
    credit: Sequence[float],
) -> IntArray:
    """Seeds of a lot that are up before some days, told for every season; shape (end, start, season)."""
    steps = [*map(winters.steps, phases), winters.warmth_steps(germination.base_temperature)]
    sums = Sums(
        np.stack([one.total for one in steps]),
        np.stack([one.undone for one in steps]),
        np.arange(len(phases), dtype=np.int32),
    )
    amounts = [whole_parts(need, one.grain) for need, one in zip(_amounts(phases, credit), steps, strict=False)]
    thermal = whole_parts(spread(*germination.thermal_time), steps[-1].grain)
    days = np.maximum(np.stack(ends) + winters.lead, 0).astype(np.int32)
    counts = np.empty((len(ends), starts.size, days.shape[1]), np.int16)
    count_by(
        sums,
        np.stack(amounts) if amounts else np.zeros((0, thermal.size), np.int32),
        thermal,
        starts.astype(np.int32) + np.int32(winters.lead),
        days,
        counts,
    )
    return counts.astype(np.int32)


def open_share(species: Species, recipe: Recipe) -> float:
    """Share of the seed that water can enter in a winter; 1 but for hard seed left closed. [-]"""
    return species.trickle_share if species.hard_coat and not recipe.opens_coat else 1.0
