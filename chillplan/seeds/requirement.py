"""What the seeds of a lot need: the one place where lengths in sources become the need of each seed.

A source says which length worked, not what the quickest tenth of the seeds needs. Seeds are taken as normal around a
median, those below zero needing no cold. Two figures describe a lot: its spread in days, and its median in spreads,
from which the share that needs no cold follows. A rule gives both from the lengths that sources advise; results of
trials of the species draw them away from the rule, the more the more there are; a whole measured lot replaces them. How
the rule was fitted, and how it did on species left out: ``examples/requirements``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from chillplan.seasons.response import response_share
from chillplan.seeds.recipe import ColdTrials, Phase, Recipe, Response

__all__ = [
    "QUANTILES",
    "RULE",
    "TENTH",
    "USUAL_LENGTH",
    "Lot",
    "Rule",
    "Seen",
    "drawn",
    "lot_needing",
    "lot_of",
    "lot_span",
    "needs_of_lot",
    "results_of",
    "rising",
    "share_ready",
    "spread",
]

FloatArray = NDArray[np.floating]

QUANTILES: FloatArray = (np.arange(20) + 0.5) / 20.0
TENTH = float(ndtri(0.9))
"""Spreads between the median and the 90th percentile. [-]"""

USUAL_LENGTH = 60.0
"""Length at which the figures of the rule are given. [day]"""

NOISE = 0.2
"""Standard deviation of a trial's share around that of its lot. Our choice. [-]"""
WORKED, FAILED = 0.8, 0.1
"""What a length is taken to have brought up where a source says only that it worked, or did not. Our choice. [-]"""
SLIGHT = 0.1
"""Seeds that all need the same are taken to differ by so much. [day]"""
LEAST_COUNT = 0.2
"""A day at the temperature of a trial counts at least this much, however cold. Our choice. [-]"""


class Lot(NamedTuple):
    """A lot of seed.

    Attributes
    ----------
    need : float
        Median requirement in spreads; below zero where more than half of the seed needs none. [-]
    spread : float
        Standard deviation over its seeds. [day]
    """

    need: float
    spread: float

    @property
    def span(self) -> tuple[float, float]:
        """What satisfies the 10th and the 90th percentile; below zero where no cold is needed. [day]"""
        return ((self.need - TENTH) * self.spread, (self.need + TENTH) * self.spread)

    def ready(self, days: ArrayLike) -> FloatArray:
        """Share of the viable seed that is ready after days that count in full."""
        return np.asarray(ndtr(np.asarray(days) / self.spread - self.need))


class Seen(NamedTuple):
    """A result of a trial: days that count in full, and the share of the best that came up. [day, -]"""

    days: float
    share: float


@dataclass(frozen=True)
class Rule:
    """A lot from the lengths that sources advise; the figures were fitted, see ``examples/requirements``.

    Attributes
    ----------
    need : float
        Median in spreads, at a midpoint of `USUAL_LENGTH`. [-]
    need_longer : float
        Added for every e-fold of the midpoint. [-]
    need_few : float
        Added where a source says that few seeds need it. [-]
    need_deep : float
        Added for deep dormancy, hard stones, and seed that wants warmth first. [-]
    spread : float
        At that midpoint. [day]
    spread_power : float
        Power of the midpoint with which the spread grows. [-]
    need_error, spread_error : float
        Standard deviation between species of the need, and of the logarithm of the spread. [-]
    """

    need: float = 0.60
    need_longer: float = 0.49
    need_few: float = -0.91
    need_deep: float = 0.40
    spread: float = 36.3
    spread_power: float = 0.8
    need_error: float = 0.8
    spread_error: float = 0.5

    def lot(self, low: float, high: float, deep: bool) -> Lot:
        """The lot of an advised range. [day]"""
        middle = max((low + high) / 2.0, 1.0) / USUAL_LENGTH
        need = self.need + self.need_longer * np.log(middle) + self.need_few * (low <= 0.0) + self.need_deep * deep
        return Lot(float(need), float(self.spread * middle**self.spread_power))


RULE = Rule()


def spread(low: float, high: float, shares: ArrayLike = QUANTILES) -> FloatArray:
    """What the seeds of a lot need, from the least to the most demanding.

    Parameters
    ----------
    low, high : float
        Requirement of the 10th and the 90th percentile. [day or °C d]
    shares : array_like, shape (quantile,)
        Shares of the lot that need at most this. [-]

    Returns
    -------
    numpy.ndarray, shape (quantile,)
        Normal between the two, never below zero. The normal form is an assumption of ours.
    """
    middle, deviation = (low + high) / 2.0, (high - low) / (2.0 * TENTH)
    return np.maximum(middle + deviation * ndtri(np.asarray(shares, dtype=float)), 0.0)


def needs_of_lot(phase: Phase) -> FloatArray:
    """What the seeds of `QUANTILES` need of a phase, rising, in days that count in full; shape (quantile,). [day]"""
    return np.asarray(np.maximum(spread(*lot_span(phase)) - phase.done, 0.0))


def lot_span(phase: Phase) -> tuple[float, float]:
    """10th and 90th percentile of a phase's lot, with what is done; below zero where no cold is needed. [day]"""
    lot = lot_of(replace(phase, factor=1.0, done=0.0))
    low, high = (phase.asked or phase.days) if lot is None else lot.span
    return phase.factor * low, phase.factor * high


def share_ready(phase: Phase, days: float) -> float:
    """Share of the viable seed that is ready after days of a phase that count in full. [-]"""
    low, high = lot_span(phase)
    return float(ndtr((days - (low + high) / 2.0) * 2.0 * TENTH / max(high - low, SLIGHT)))


def lot_needing(recipe: Recipe, deviations: float) -> Recipe:
    """The recipe as a lot needs it that wants more cold than a usual one.

    Parameters
    ----------
    recipe : Recipe
    deviations : float
        By so many standard deviations between lots, less where below zero. What lots need is taken as log-normal, an
        assumption of ours; every seed of a lot needs more or less by the same factor. [-]
    """
    if deviations == 0.0 or not any(phase.variation for phase in recipe.phases):
        return recipe
    factors = [float(np.exp(deviations * np.sqrt(np.log1p(phase.variation**2)))) for phase in recipe.phases]
    phases = zip(recipe.phases, factors, strict=True)
    return replace(recipe, phases=tuple(replace(phase, factor=phase.factor * factor) for phase, factor in phases))


@lru_cache(maxsize=4096)
def lot_of(phase: Phase) -> Lot | None:
    """The lot behind a cold phase of a species table; None where the phase's days are the lot's own percentiles."""
    if phase.stated is None:
        return None
    trials = phase.stated.trials
    if trials.lot_days is not None:
        return _measured(trials, _counts(trials.measured, phase.response))
    held = None if phase.temperature is None else sum(phase.temperature) / 2.0
    counts = _counts(held if trials.measured is None else trials.measured, phase.response)
    low, high = phase.asked or phase.days
    usual, results = RULE.lot(counts * low, counts * high, phase.stated.deep), results_of(phase)
    if trials.worked and len(results) == 1 and usual.ready(results[0].days) >= results[0].share:
        return usual  # the rule has the least that was ready, and more
    return drawn(RULE, usual, results)


def results_of(phase: Phase) -> tuple[Seen, ...]:
    """What trials of a phase saw, by length.

    Shares are taken of the best result, since what no length brings up is not lack of cold. Where one length only was
    tried, and worked, it is its own best: there the share of all viable seed stands, the least that was ready.
    """
    assert phase.stated is not None
    trials = phase.stated.trials
    found = [
        Seen(_counts(one.temperature, phase.response) * one.days, usual if one.share is None else one.share)
        for results, usual in ((trials.worked, WORKED), (trials.failed, FAILED))
        for one in results
    ]
    if trials.untreated_share is not None:
        found.append(Seen(0.0, trials.untreated_share))
    succeeded = [one.share for one in trials.worked if one.share] + [trials.untreated_share or 0.0]
    best = max(succeeded) or 1.0
    if trials.worked and len({one.days for one in found}) == 1:
        return rising(found)
    return rising(Seen(one.days, one.share / best) for one in found)


def rising(results: Iterable[Seen]) -> tuple[Seen, ...]:
    """Results by length; a longer cold that brought up less than a shorter one has harmed seed, not left it dormant."""
    most, found = 0.0, []
    for one in sorted(results):
        most = max(most, min(one.share, 1.0))
        found.append(Seen(one.days, most))
    return tuple(found)


def drawn(rule: Rule, lot: Lot, results: tuple[Seen, ...]) -> Lot:
    """The most likely lot, given that of the rule, the spread of species around it, and results of trials."""
    if not results:
        return lot
    needs = lot.need + rule.need_error * np.linspace(-4.0, 4.0, 81)[:, None]
    spreads = lot.spread * np.exp(rule.spread_error * np.linspace(-4.0, 4.0, 81)[None, :])
    cost = ((needs - lot.need) / rule.need_error) ** 2 + (np.log(spreads / lot.spread) / rule.spread_error) ** 2
    for seen in results:
        cost = cost + ((ndtr(seen.days / spreads - needs) - seen.share) / NOISE) ** 2
    row, column = np.unravel_index(int(np.argmin(cost)), cost.shape)
    return Lot(float(needs[row, 0]), float(spreads[0, column]))


def _measured(trials: ColdTrials, counts: float) -> Lot:
    """A lot of which a trial measured a tenth, half and nine tenths."""
    assert trials.lot_days is not None
    tenth, half, most = (counts * days for days in trials.lot_days)
    if tenth > 0.0:
        deviation = max((most - tenth) / (2.0 * TENTH), 1.0)
        return Lot(half / deviation, deviation)
    if half > 0.0:
        deviation = max((most - half) / TENTH, 1.0)
        return Lot(half / deviation, deviation)
    need = -float(ndtri(np.clip(trials.untreated_share or 0.5, 0.01, 0.85)))
    return Lot(need, max(most / (need + TENTH), 1.0))


def _counts(temperature: float | None, response: Response) -> float:
    """Share of a day that counts at the temperature of a trial; all of it where that is not known."""
    if temperature is None:
        return 1.0
    corners = (response.zero_low, response.full_low, response.full_high, response.zero_high)
    return max(response_share(temperature, corners), LEAST_COUNT)
