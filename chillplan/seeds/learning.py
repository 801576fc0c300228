"""What counts of seedlings say about a requirement, and what about the site.

The requirement of a species (mean and spread over the seeds of a lot) lies on a grid with a prior from the published
range. The error of the seed-zone estimate is one offset that all species sown at the site share; losses between
germination and the count (dead seed, mice, crust) are one share for each species. Counts are beta-binomial. Because
the offset is shared and the requirements are not, several species, several winters, or seed chilled at a measured
temperature indoors tell them apart; one sowing alone cannot, and the answer says so.

What is expected of a sowing on the day of its count is the share that stands, for every possible requirement and error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaln, gammaln, ndtri

from chillplan.seeds.passage import NEVER, complete
from chillplan.seeds.recipe import Germination, Phase
from chillplan.seeds.requirement import QUANTILES, spread
from chillplan.seeds.simulate import simulate
from chillplan.seeds.two_winters import TwoWinters

__all__ = [
    "OFFSETS",
    "OFFSET_PRIOR",
    "Learned",
    "Lesson",
    "RequirementGrid",
    "Trial",
    "count_log_chance",
    "expected_shares",
    "learn",
    "requirement_grid",
]

FloatArray = NDArray[np.floating]

TENTH = float(ndtri(0.9))
OFFSETS: FloatArray = np.linspace(-2.4, 2.4, 9)
"""Possible errors of the modelled seed zone. [°C]"""
OFFSET_DEVIATION = 1.1
"""Standard deviation of that error at a hillside; an assumption of ours. Between 38 open stations whose own record was
used it is 0.6 °C; a record moved to a slope under another cover errs more. [°C]"""
OFFSET_PRIOR: FloatArray = np.exp(-0.5 * (OFFSETS / OFFSET_DEVIATION) ** 2)
OFFSET_PRIOR = OFFSET_PRIOR / OFFSET_PRIOR.sum()
KEPT: FloatArray = np.linspace(0.1, 1.0, 10)
"""Share of satisfied seed that stands at the count. [-]"""
KEPT_PRIOR: FloatArray = KEPT**3 * (1.05 - KEPT)
KEPT_PRIOR = KEPT_PRIOR / KEPT_PRIOR.sum()
"""Near Beta(4, 2), mean 0.7; common practice, no source."""
LIKENESS = 0.03
"""Correlation of the fate of seeds in one bed; an assumption of ours. [-]"""
MEAN_DEVIATION = 0.2
"""Least relative standard deviation of the mean between lots; an assumption of ours. [-]"""
SPREAD_DEVIATION = 0.4
"""Standard deviation of the logarithm of the spread; an assumption of ours. [-]"""
MEANS, SPREADS = 31, 5
ENTANGLED = 0.5
"""Correlation of offset and requirement from which they count as not told apart. Our choice. [-]"""


@dataclass(frozen=True)
class RequirementGrid:
    """Possible requirements of a species with their prior."""

    means: FloatArray  # [day]; shape (mean,)
    spreads: FloatArray  # standard deviation over the seeds of a lot [day]; shape (spread,)
    prior: FloatArray  # sums to 1; shape (mean, spread)
    published: tuple[float, float]  # 10th and 90th percentile it was laid around [day]

    @property
    def low(self) -> FloatArray:
        """10th percentile of each requirement, shape (mean, spread). [day]"""
        return np.maximum(self.means[:, None] - TENTH * self.spreads[None, :], 0.0)

    @property
    def high(self) -> FloatArray:
        """90th percentile of each requirement, shape (mean, spread). [day]"""
        return np.asarray(self.means[:, None] + TENTH * self.spreads[None, :])


@dataclass(frozen=True)
class Trial:
    """One counted sowing."""

    seeds: int  # seeds sown that were alive
    emerged: int  # standing at the count
    # share that should stand, before losses, for each offset of `OFFSETS` and each requirement [-]; shape (offset,
    # mean, spread)
    expected: FloatArray


@dataclass(frozen=True)
class Lesson:
    """What was learned about one species."""

    # the published 10th and 90th percentile of the lot, moved by as much as the counts moved their mean [day]
    low: float
    high: float
    # posterior mean and standard deviation of the mean requirement [day]
    mean: float
    deviation: float
    # the same before the counts [day]
    prior_mean: float
    prior_deviation: float
    # between the site's offset and the mean requirement, after the counts; 0 where one of them is certain [-]
    correlation: float
    kept: float  # posterior mean share of satisfied seed that stood [-]
    # share of the seed expected to stand in each trial by the published range and the unshifted seed zone [-]
    expected: tuple[float, ...]

    @property
    def told_apart(self) -> bool:
        """Whether the counts tell the requirement from an error of the site."""
        return abs(self.correlation) < ENTANGLED

    @property
    def certainty_gained(self) -> float:
        """Share of the prior standard deviation that the counts took away, 0 to 1. [-]"""
        return max(0.0, 1.0 - self.deviation / self.prior_deviation)


@dataclass(frozen=True)
class Learned:
    """What the counts of a site say."""

    # posterior mean and standard deviation of the seed-zone error; positive where the ground is warmer than modelled
    # [°C]
    offset: float
    offset_deviation: float
    lessons: Mapping[str, Lesson]


def requirement_grid(low: float, high: float) -> RequirementGrid:
    """Lay a grid over the requirements that a published range leaves possible.

    Parameters
    ----------
    low, high : float
        Days that satisfy the 10th and the 90th percentile; below zero where no cold is needed. [day]
    """
    centre, spread = (low + high) / 2.0, max((high - low) / (2.0 * TENTH), 0.05 * high, 1.0)
    deviation = max(MEAN_DEVIATION * centre, (high - low) / (2.0 * TENTH), 1.0)
    means = np.maximum(centre + deviation * np.linspace(-3.0, 3.0, MEANS), 0.0)
    spreads = spread * np.exp(SPREAD_DEVIATION * np.linspace(-2.0, 2.0, SPREADS))
    prior = np.exp(-0.5 * np.linspace(-3.0, 3.0, MEANS)[:, None] ** 2 - 0.5 * np.linspace(-2.0, 2.0, SPREADS) ** 2)
    return RequirementGrid(means, spreads, prior / prior.sum(), (max(low, 0.0), max(high, 0.0)))


def count_log_chance(emerged: ArrayLike, seeds: ArrayLike, share: ArrayLike, likeness: float = LIKENESS) -> FloatArray:
    """Logarithm of the beta-binomial chance of a count.

    Parameters
    ----------
    emerged, seeds : array_like of int
    share : array_like
        Mean share; drawn in to 0.2 to 99.8 %, since nothing is certain in a seed bed. [-]
    likeness : float
        Correlation between the seeds of one bed. [-]
    """
    mean = np.clip(np.asarray(share, dtype=float), 0.002, 0.998)
    size = (1.0 - likeness) / likeness
    count, total = np.asarray(emerged, dtype=float), np.asarray(seeds, dtype=float)
    choose = gammaln(total + 1.0) - gammaln(count + 1.0) - gammaln(total - count + 1.0)
    first, second = mean * size, (1.0 - mean) * size
    return np.asarray(choose + betaln(count + first, total - count + second) - betaln(first, second))


def learn(
    trials: Mapping[str, tuple[RequirementGrid, Sequence[Trial]]], offset_prior: ArrayLike = OFFSET_PRIOR
) -> Learned:
    """Update the requirement of every species and the error of the site together.

    Parameters
    ----------
    trials : mapping of str to (RequirementGrid, sequence of Trial)
        By species.
    offset_prior : array_like, shape (offset,)
        Chance of each offset of `OFFSETS` before the counts.

    Returns
    -------
    Learned
    """
    joint = {name: _joint(grid, counted) for name, (grid, counted) in trials.items()}
    evidence = {name: table.sum(axis=(1, 2, 3)) for name, table in joint.items()}
    weight = np.asarray(offset_prior, dtype=float)
    log_offset = np.log(weight / weight.sum())
    log_evidence = {name: np.log(np.maximum(values, 1e-300)) for name, values in evidence.items()}
    total = log_offset + sum(log_evidence.values(), np.zeros(OFFSETS.size))
    offsets = np.exp(total - total.max())
    offsets /= offsets.sum()
    lessons = {}
    for name, (grid, counted) in trials.items():
        others = total - log_evidence[name]
        table = joint[name] * np.exp(others - others.max())[:, None, None, None]
        lessons[name] = _lesson(grid, counted, table / table.sum())
    offset = float(offsets @ OFFSETS)
    return Learned(offset, float(np.sqrt(offsets @ (OFFSETS - offset) ** 2)), lessons)


def _joint(grid: RequirementGrid, trials: Sequence[Trial]) -> FloatArray:
    """Prior times likelihood but for the offset's prior; shape (offset, mean, spread, kept), the largest at most 1."""
    shape = (OFFSETS.size, *grid.prior.shape, KEPT.size)
    log_likelihood = np.zeros(shape)
    for trial in trials:
        log_likelihood += count_log_chance(trial.emerged, trial.seeds, trial.expected[..., None] * KEPT)
    prior = grid.prior[None, :, :, None] * KEPT_PRIOR
    return np.asarray(prior * np.exp(log_likelihood - log_likelihood.max()))


def _lesson(grid: RequirementGrid, trials: Sequence[Trial], posterior: FloatArray) -> Lesson:
    requirement = posterior.sum(axis=(0, 3))
    by_mean = requirement.sum(axis=1)
    mean = float(by_mean @ grid.means)
    deviation = float(np.sqrt(by_mean @ (grid.means - mean) ** 2))
    prior_by_mean = grid.prior.sum(axis=1)
    prior_mean = float(prior_by_mean @ grid.means)
    kept_prior = float(KEPT_PRIOR @ KEPT)
    centre = int(np.argmin(np.abs(OFFSETS)))
    return Lesson(
        low=max(grid.published[0] + float(((requirement - grid.prior) * grid.low).sum()), 0.0),
        high=grid.published[1] + float(((requirement - grid.prior) * grid.high).sum()),
        mean=mean,
        deviation=deviation,
        prior_mean=prior_mean,
        prior_deviation=float(np.sqrt(prior_by_mean @ (grid.means - prior_mean) ** 2)),
        correlation=_correlation(posterior.sum(axis=(2, 3)), grid.means),
        kept=float(posterior.sum(axis=(0, 1, 2)) @ KEPT),
        expected=tuple(float((trial.expected[centre] * grid.prior).sum()) * kept_prior for trial in trials),
    )


def _correlation(table: FloatArray, means: FloatArray) -> float:
    """Correlation of offset and mean requirement in a table of their chances, shape (offset, mean)."""
    offset, mean = table.sum(axis=1) @ OFFSETS, table.sum(axis=0) @ means
    away, apart = OFFSETS - offset, means - mean
    spread = float(np.sqrt((table.sum(axis=1) @ away**2) * (table.sum(axis=0) @ apart**2)))
    return float(away @ table @ apart) / spread if spread > 1e-9 else 0.0


def expected_shares(
    winter: TwoWinters,
    phases: Sequence[Phase],
    germination: Germination,
    grid: RequirementGrid,
    start: int,
    counted: int,
    seedling_limit: float,
    credit: Sequence[float] = (),
) -> FloatArray:
    """Walk a sowing through the season it was in.

    Parameters
    ----------
    winter : TwoWinters
        Of one season: its arrays have one column.
    phases : sequence of Phase
        The last is the cold phase whose requirement the grid varies.
    germination : Germination
    grid : RequirementGrid
    start, counted : int
        Day indices of sowing and count. [day]
    seedling_limit : float
        [°C]
    credit : sequence of float
        Days of each phase done indoors before sowing. [day]

    Returns
    -------
    numpy.ndarray, shape (offset, mean, spread)
        Share up and alive. [-]
    """
    done = credit[len(phases) - 1] if len(credit) >= len(phases) else 0.0
    mean, deviation = grid.means[:, None, None], grid.spreads[None, :, None]
    amounts = np.maximum(mean + deviation * ndtri(QUANTILES), 0.0) - done
    frost = np.flatnonzero(winter.minimum[: counted + 1, 0] <= seedling_limit)
    last_frost = int(frost[-1]) if frost.size else -1
    thermal_time = spread(*germination.thermal_time)
    shares = []
    for offset in OFFSETS:
        shifted = winter.shifted(float(offset))
        ready = _ready(shifted, phases, germination, start, credit)
        complete_on = complete(shifted.steps(phases[-1]), _one_by_one(ready, amounts.shape), amounts.reshape(-1))
        begun = np.where(complete_on < NEVER, complete_on + 1, NEVER).astype(np.int32)
        warmth = shifted.warmth_steps(germination.base_temperature)
        needed = np.broadcast_to(thermal_time, amounts.shape).reshape(-1)
        emergence = complete(warmth, begun, needed).reshape(amounts.shape)
        shares.append(((emergence <= counted) & (emergence >= last_frost)).mean(axis=2))
    return np.stack(shares)


def _ready(
    winter: TwoWinters, phases: Sequence[Phase], germination: Germination, start: int, credit: Sequence[float]
) -> NDArray[np.int32]:
    """First day on which the last phase of each quantile can gain; shape (quantile,)."""
    if len(phases) == 1:
        return np.full(QUANTILES.size, start, dtype=np.int32)
    before = simulate(
        winter, phases[:-1], germination, np.array([start], dtype=np.int32), list(credit)[: len(phases) - 1]
    )
    done = before.phase_done[-1][:, 0, 0]
    return np.where(done < NEVER, np.maximum(done + 1, start), NEVER).astype(np.int32)


def _one_by_one(ready: NDArray[np.int32], shape: tuple[int, ...]) -> NDArray[np.int32]:
    """The days of each quantile for seeds of every mean and spread, as `complete` takes them."""
    return np.broadcast_to(ready, shape).reshape(-1, 1, 1)
