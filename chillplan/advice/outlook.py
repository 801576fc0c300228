"""How a species fares for every sowing date: the numbers a verdict rests on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from chillplan.seasons.chance import percentiles
from chillplan.seasons.cut import DAYS, MIDWINTER
from chillplan.seasons.dates import running_mean
from chillplan.seasons.summary import Ground
from chillplan.seeds.passage import NEVER
from chillplan.seeds.recipe import COLD_RESPONSE, REVERSAL_TEMPERATURE, Recipe, Species
from chillplan.seeds.simulate import FATES, Fates, fates_of, simulate
from chillplan.seeds.two_winters import TwoWinters

__all__ = [
    "AUTUMN",
    "SPRING",
    "STARTS",
    "Ease",
    "Spring",
    "Window",
    "chill_after",
    "ease_of",
    "outlook",
    "owed_at",
    "percentiles_of",
    "sowing_window",
    "spring_date",
]

FloatArray = NDArray[np.floating]

STARTS = np.arange(0, 336, 3, dtype=np.int32)  # candidate sowing dates, every third day of the season
LAST_AUTUMN_START = 210  # the end of February (August in the south): later sowings count as spring sowings
AUTUMN = STARTS <= LAST_AUTUMN_START
SPRING = ~AUTUMN
WORKABLE_TEMPERATURE = -0.5  # colder seed zone is frozen hard [°C]
WORKABLE_SNOW = 50.0  # deeper snow closes the bed [mm]
COOL_GROUND = 10.0  # seed sown into warmer ground may sprout before winter; common practice, no source [°C]
WARM_GROUND = 10.0  # mark for spring sowing, Forest Nursery Manual (1984) ch. 5, abstract [°C]
COOL_SPROUTER_GROUND = 5.0  # the same for seed that sprouts near freezing; common practice, no source [°C]
SPROUTS_COLD = 1.0  # such seed has a base temperature at or below this [°C]
NEARLY = 0.05  # share up that is given away for planting into warm ground [-]


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

    def autumn(self, species: Species, recipe: Recipe) -> NDArray[np.bool_]:
        """Autumn dates for a recipe: seed that wants cold first waits for cool ground, unless it must not be kept."""
        warm_first = bool(recipe.phases) and recipe.phases[0].kind == "warm"
        waits = not warm_first and species.storage == "dry"
        return AUTUMN & self.cool if waits and (AUTUMN & self.cool).any() else AUTUMN


@dataclass(frozen=True)
class Window:
    """Best sowing date and the dates around it that also meet the target.

    Attributes
    ----------
    first, last, best : int
        Positions in `STARTS`.
    good : int
        Good winters at the best date.
    meets : bool
    """

    first: int
    last: int
    best: int
    good: int
    meets: bool


@dataclass(frozen=True)
class Spring:
    """Best date to plant out seed that was treated indoors.

    Attributes
    ----------
    day : int
        Day index. [day]
    good : int
    meets : bool
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
    ground : Ground
    soil_warm : mapping of float to numpy.ndarray, shape (season,)
        Day index by threshold. [day]
    """
    open_ground = (ground.temperature >= WORKABLE_TEMPERATURE) & (ground.snow_depth <= WORKABLE_SNOW)
    middle = running_mean(np.median(ground.temperature, axis=1), 7)[STARTS]
    below = np.maximum.accumulate(np.nan_to_num(middle, nan=np.inf) <= COOL_GROUND)
    medians = {limit: percentiles(days, (0.5,))[0] for limit, days in soil_warm.items()}
    return Ease(
        workable=open_ground[STARTS].mean(axis=1) >= 0.5,
        cool=below,
        warm={limit: int(day) if np.isfinite(day) else LAST_AUTUMN_START for limit, day in medians.items()},
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
    winters : TwoWinters
    species : Species
    recipe : Recipe
    starts : numpy.ndarray of int, shape (start,)
        [day]
    credit : sequence of float
        Days of each phase done indoors before. [day]

    Notes
    -----
    Hard seed whose recipe does not open the coat takes up water only for the share that softens in a winter; the
    rest stays dormant.
    """
    passage = simulate(winters, recipe.phases, species.germination, starts, credit)
    fates = fates_of(winters, passage.emergence, species.seedling_limit)
    if species.hard_coat and not recipe.opens_coat:
        return _trickle(fates, species.trickle_share)
    return fates


def _trickle(fates: Fates, share: float) -> Fates:
    shares = fates.shares * share
    shares[FATES.index("still dormant")] += 1.0 - share
    again = fates.second_spring * share + (1.0 - share) * share * fates.share_up
    return Fates(shares=shares, second_spring=again)


def sowing_window(share_up: FloatArray, ease: Ease, accept: float, target: float, among: NDArray[np.bool_]) -> Window:
    """The sowing window: dates around the best one on which enough winters are good.

    Parameters
    ----------
    share_up : numpy.ndarray, shape (start, season)
        For all of `STARTS`. [-]
    ease : Ease
    accept, target : float
        Share of winters that must be good, and share up that makes a winter good. [-]
    among : numpy.ndarray of bool, shape (start,)
        Dates that may be chosen; a date before midwinter is preferred where one meets the target.
    """
    allowed = among & ease.workable if (among & ease.workable).any() else among
    good = (share_up >= target).sum(axis=1)
    meets = allowed & (good >= accept * share_up.shape[1] - 1e-9)
    score = np.where(allowed, good + share_up.mean(axis=1), -1.0)
    early = np.where(STARTS < MIDWINTER, score, -1.0)
    best = int(np.argmax(early if (meets & (STARTS < MIDWINTER)).any() else score))
    if not meets[best]:
        return Window(best, best, best, int(good[best]), False)
    first = last = best
    while first > 0 and meets[first - 1]:
        first -= 1
    while last + 1 < meets.size and meets[last + 1]:
        last += 1
    return Window(first, last, best, int(good[best]), True)


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
    winters : TwoWinters
    species : Species
    recipe : Recipe
        Its phases are taken as done indoors, for as long as nine seeds in ten need.
    accept, target : float
        [-]
    ease : Ease
    earliest : int
        First day index that may be chosen. [day]
    fixed : int, optional
        Take this day index. [day]
    """
    credit = [phase.days[1] for phase in recipe.phases]
    starts = STARTS[max(earliest, 0) <= STARTS] if fixed is None else np.array([fixed], dtype=np.int32)
    fates = outlook(winters, species, recipe, starts, credit)
    good = (fates.share_up >= target).sum(axis=1)
    best = _planting(starts, good, fates.share_up.mean(axis=1), _warm_day(ease, species))
    chosen = Fates(fates.shares[:, best : best + 1], fates.second_spring[best : best + 1])
    enough = bool(good[best] >= accept * fates.share_up.shape[1] - 1e-9)
    return Spring(int(starts[best]), int(good[best]), enough, chosen)


def _warm_day(ease: Ease, species: Species) -> int:
    cold_sprouter = species.germination.base_temperature <= SPROUTS_COLD
    return ease.warm[COOL_SPROUTER_GROUND if cold_sprouter else WARM_GROUND]


def _planting(starts: NDArray[np.int32], good: NDArray[np.int_], share: FloatArray, warm: int) -> int:
    """Position of the best date: the one nearest to warm ground among those that are nearly as good as the best."""
    best = int(np.argmax(good + share))
    near = (good == good[best]) & (share >= share[best] - NEARLY)
    return int(np.argmin(np.where(near, np.abs(starts - warm), np.inf)))


def chill_after(winters: TwoWinters, start: int) -> FloatArray:
    """Effective chill a seed sown on a date gathers by the season's end; shape (season,). [day]"""
    table = winters.table(COLD_RESPONSE, REVERSAL_TEMPERATURE, STARTS)
    return np.asarray(table.most[DAYS - 1, int(np.searchsorted(STARTS, start))])


def owed_at(winters: TwoWinters, species: Species, recipe: Recipe, start: int, lift: int) -> FloatArray:
    """Days of the last cold phase still owed on a date by the seed that needs most of nine in ten; shape (season,).

    NaN where an earlier phase is not complete by then. [day]
    """
    *before, last = recipe.phases
    seasons = winters.temperature.shape[1]
    ready: NDArray[np.int32] = np.full(seasons, start, dtype=np.int32)
    if before:
        demanding = [replace(phase, days=(phase.days[1], phase.days[1])) for phase in before]
        passage = simulate(winters, demanding, species.germination, np.array([start], dtype=np.int32))
        ready = passage.phase_done[-1][-1, 0] + 1
    gain = winters.gain(last.response)
    days = np.arange(gain.shape[0])[:, None]
    gathered = np.where((days >= ready) & (days < lift), gain, 0.0).sum(axis=0)
    return np.where(ready >= min(lift, NEVER), np.nan, np.maximum(last.days[1] - gathered, 0.0))


def percentiles_of(values: Sequence[float] | FloatArray) -> tuple[float, float, float]:
    """10th, 50th and 90th percentile as plain numbers."""
    low, middle, high = percentiles(values)
    return float(low), float(middle), float(high)
