"""How a species fares for every sowing date: the numbers a verdict rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.rules import (
    COOL_GROUND,
    LAST_AUTUMN_START,
    STARTS,
    WORKABLE_SNOW,
    WORKABLE_TEMPERATURE,
    Windows,
    best_planting,
    enough,
    warm_ground,
    warm_ground_day,
)
from chillplan.seasons.chance import percentiles
from chillplan.seasons.cut import DAYS
from chillplan.seasons.dates import running_mean
from chillplan.seasons.summary import Ground
from chillplan.seeds.passage import NEVER
from chillplan.seeds.recipe import COLD_RESPONSE, Recipe, Species
from chillplan.seeds.simulate import FATES, Fates, fates_of, open_share, simulate
from chillplan.seeds.two_winters import TwoWinters

__all__ = [
    "STARTS",
    "Ease",
    "Spring",
    "Window",
    "chill_after",
    "ease_of",
    "outlook",
    "owed_at",
    "percentiles_of",
    "planted_out",
    "spring_date",
]

FloatArray = NDArray[np.floating]


@dataclass(frozen=True)
class Ease:
    """What the ground is like on the candidate dates.

    Attributes
    ----------
    workable : numpy.ndarray of bool, shape (start,)
        Neither frozen hard nor under snow in at least half of the winters.
    cool : numpy.ndarray of bool, shape (start,)
        From the autumn date on which the seed zone has cooled enough for seed that is to be chilled first.
    warm : mapping of float to int
        Median day index on which the seed zone reaches a temperature in spring. [day]
    """

    workable: NDArray[np.bool_]
    cool: NDArray[np.bool_]
    warm: Mapping[float, int]


@dataclass(frozen=True)
class Window:
    """Best sowing date and the dates around it that also meet the target.

    Attributes
    ----------
    first, last, best : int
        Positions among the candidate dates.
    good : int
        Good winters at the best date.
    """

    first: int
    last: int
    best: int
    good: int
    meets: bool

    @classmethod
    def of(cls, found: Windows) -> Window:
        """The window of one site."""
        return cls(int(found.first), int(found.last), int(found.best), int(found.good), bool(found.meets))


@dataclass(frozen=True)
class Spring:
    """Best date to plant out seed that was treated indoors.

    Attributes
    ----------
    day : int
        Day index. [day]
    fates : Fates
        Of that one date.
    """

    day: int
    good: int
    meets: bool
    fates: Fates


def ease_of(ground: Ground, soil_warm: Mapping[float, FloatArray]) -> Ease:
    """What the ground is like on the candidate dates, in the middle of all winters.

    Parameters
    ----------
    soil_warm : mapping of float to numpy.ndarray, shape (season,)
        Day index by threshold. [day]
    """
    open_ground = (ground.temperature >= WORKABLE_TEMPERATURE) & (ground.snow_depth <= WORKABLE_SNOW)
    middle = running_mean(np.median(ground.temperature, axis=1), 7)[STARTS]
    below = np.maximum.accumulate(np.nan_to_num(middle, nan=np.inf) <= COOL_GROUND)
    return Ease(
        workable=open_ground[STARTS].mean(axis=1) >= 0.5,
        cool=below,
        warm={limit: int(warm_ground_day(days)) for limit, days in soil_warm.items()},
    )


def outlook(
    winters: TwoWinters,
    species: Species,
    recipe: Recipe,
    starts: NDArray[np.int32] = STARTS,
    credit: Sequence[float] = (),
) -> Fates:
    """Fates of seed sown outdoors after its coat treatment, for every candidate date.

    Parameters
    ----------
    starts : numpy.ndarray of int, shape (start,)
        [day]
    credit : sequence of float
        Days of each phase done indoors before. [day]

    Notes
    -----
    Hard seed whose recipe does not open the coat takes up water only for the share that softens in a winter; the
    rest stays dormant.
    """
    fates = fates_of(winters, recipe.phases, species.germination, starts, species.seedling_limit, credit)
    share = open_share(species, recipe)
    return _trickle(fates, share) if share < 1.0 else fates


def _trickle(fates: Fates, share: float) -> Fates:
    """The fates where a share of the closed seed opens each winter, what is left lying as a new sowing would."""
    shares = fates.shares * share
    shares[FATES.index("still dormant")] += 1.0 - share
    springs = [fates.share_up, *fates.later]
    later = [
        sum(share * (1.0 - share) ** waited * springs[spring - waited] for waited in range(spring + 1))
        for spring in range(1, len(springs))
    ]
    return Fates(shares=shares, later=np.stack(later))


def spring_date(
    winters: TwoWinters,
    species: Species,
    recipe: Recipe,
    accept: float,
    target: float,
    ease: Ease,
    earliest: int = LAST_AUTUMN_START,
    fixed: int | None = None,
) -> Spring:
    """Date on which pre-treated seed is best planted out.

    Parameters
    ----------
    recipe : Recipe
        Its phases are taken as done indoors, for as long as nine seeds in ten need.
    accept, target : float
        [-]
    earliest : int
        First day index that may be chosen; the last date where all are before it. [day]
    fixed : int, optional
        Take this day index. [day]
    """
    first = min(max(earliest, 0), int(STARTS[-1]))
    starts = STARTS[first <= STARTS] if fixed is None else np.array([fixed], dtype=np.int32)
    fates = planted_out(winters, species, recipe, starts)
    good = (fates.share_up >= target).sum(axis=1)
    best = int(best_planting(starts, good, fates.share_up.mean(axis=1), ease.warm[warm_ground(species)]))
    meets = bool(enough(good[best], fates.share_up.shape[1], accept))
    return Spring(int(starts[best]), int(good[best]), meets, fates.of_start(best))


def planted_out(winters: TwoWinters, species: Species, recipe: Recipe, days: NDArray[np.int32]) -> Fates:
    """Fates of seed that had its whole treatment indoors, planted out on some days."""
    return outlook(winters, species, recipe, days, [phase.days[1] for phase in recipe.phases])


def chill_after(winters: TwoWinters, start: int) -> FloatArray:
    """Effective chill between a sowing and the season's end; shape (season,). [day]"""
    first, last = start + winters.lead, DAYS + winters.lead
    return np.asarray(winters.gain(COLD_RESPONSE)[first:last].sum(axis=0))


def owed_at(winters: TwoWinters, species: Species, recipe: Recipe, start: int, lift: int) -> FloatArray:
    """Days of the last cold phase still owed on a date by the seed that needs most of nine in ten; shape (season,).

    NaN where an earlier phase is not complete by then. [day]
    """
    *before, last = recipe.phases
    seasons = winters.temperature.shape[1]
    ready: NDArray[np.int32] = np.full(seasons, start, dtype=np.int32)
    if before:
        demanding = [replace(phase, days=(phase.days[1], phase.days[1]), stated=None, done=0.0) for phase in before]
        passage = simulate(winters, demanding, species.germination, np.array([start], dtype=np.int32))
        ready = passage.phase_done[-1][-1, 0] + 1
    gain = winters.gain(last.response)
    days = np.arange(gain.shape[0])[:, None] - winters.lead
    gathered = np.where((days >= ready) & (days < lift), gain, 0.0).sum(axis=0)
    return np.where(ready >= min(lift, NEVER), np.nan, np.maximum(last.days[1] - gathered, 0.0))


def percentiles_of(values: Sequence[float] | FloatArray) -> tuple[float, float, float]:
    """10th, 50th and 90th percentile as plain numbers."""
    low, middle, high = percentiles(values)
    return float(low), float(middle), float(high)
