"""The rules of a decision, element by element: a single site and every place of a map follow the same ones.

The first axis is the candidate date or the season; any further axes are places, and none at all is one site.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan import verdicts
from chillplan.physics.model_error import perturbations
from chillplan.seasons.chance import percentiles
from chillplan.seasons.cut import MIDWINTER
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.two_winters import TwoWinters
from chillplan.verdicts import VERDICTS

__all__ = [
    "AUTUMN",
    "COOL_GROUND",
    "DECIMALS",
    "LAST_AUTUMN_START",
    "NEARLY",
    "ROUNDING",
    "STARTS",
    "WAYS",
    "WORKABLE_SNOW",
    "WORKABLE_TEMPERATURE",
    "Member",
    "Possible",
    "Windows",
    "at_position",
    "autumn_dates",
    "best_planting",
    "best_window",
    "enough",
    "members_of",
    "possibilities",
    "sides_of",
    "upright",
    "verdict_of",
    "waits_for_cool_ground",
    "warm_ground",
    "warm_ground_day",
    "way_of",
    "whole_day",
]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int_]

STARTS = np.arange(0, 336, 3, dtype=np.int32)  # candidate sowing dates, every third day of the season
LAST_AUTUMN_START = 210  # the end of February (August in the south): later sowings count as spring sowings
AUTUMN = STARTS <= LAST_AUTUMN_START
WORKABLE_TEMPERATURE = -0.5  # colder seed zone is frozen hard [°C]
WORKABLE_SNOW = 50.0  # deeper snow closes the bed [mm]
COOL_GROUND = 12.0  # warmer ground gives no chill, and seed sown into it may sprout before winter [°C]
WARM_GROUND = 10.0  # mark for spring sowing, Forest Nursery Manual (1984) ch. 5, abstract [°C]
COOL_SPROUTER_GROUND = 5.0  # the same for seed that sprouts near freezing; common practice, no source [°C]
SPROUTS_COLD = 1.0  # such seed has a base temperature at or below this [°C]
NEARLY = 0.05  # share up that is given away for planting into warm ground, or for not waiting another year [-]
LONGEST_FRIDGE = 240  # longer treatment indoors is not proposed where two winters outdoors do [day]
HANDY_FRIDGE = 200  # up to this a refrigerator is a free choice beside sowing in autumn [day]
ROUNDING = 1e-9  # shares nearer than this are the same [-]
DECIMALS = 9

WAYS = ("autumn", "spring", "second", "top up", "indoors")


class Windows(NamedTuple):
    """Best sowing date and the dates around it that also meet the target; arrays have the shape (...,).

    Attributes
    ----------
    first, last, best : numpy.ndarray of int
        Positions among the candidate dates; all the best one where none meets the target.
    good : numpy.ndarray of int
        Good winters at the best date.
    """

    first: IntArray
    last: IntArray
    best: IntArray
    good: IntArray
    meets: BoolArray


def enough(good: ArrayLike, winters: ArrayLike, accept: float) -> BoolArray:
    """Whether as many winters are good as the accepted risk asks for."""
    return np.asarray(np.asarray(good) >= accept * np.asarray(winters) - ROUNDING)


def waits_for_cool_ground(species: Species, recipe: Recipe) -> bool:
    """Whether autumn sowing waits for cool ground: seed that wants cold first does, unless it must not be kept."""
    warm_first = bool(recipe.phases) and recipe.phases[0].kind == "warm"
    return not warm_first and species.storage == "dry"


def autumn_dates(cool: BoolArray, waits: bool, starts: NDArray[np.int32] = STARTS) -> BoolArray:
    """Autumn dates for a recipe, with those of summer where seed is sown fresh.

    Parameters
    ----------
    cool : numpy.ndarray of bool, shape (start, ...)
        From the autumn date on which the seed zone has cooled.
    waits : bool
        Whether the seed waits for that, where it happens at all.
    starts : numpy.ndarray of int, shape (start,)
        The candidate dates. [day]
    """
    autumn = np.broadcast_to(upright(starts <= LAST_AUTUMN_START, cool.ndim), cool.shape)
    inside = autumn & cool
    return np.where(inside.any(axis=0), inside, autumn) if waits else autumn


def best_window(
    good: ArrayLike,
    share: ArrayLike,
    winters: ArrayLike,
    accept: float,
    among: BoolArray,
    workable: BoolArray,
    starts: NDArray[np.int32] = STARTS,
) -> Windows:
    """The sowing window: dates around the best one on which enough winters are good.

    Parameters
    ----------
    good : array_like of int, shape (start, ...)
        Good winters of each candidate date.
    share : array_like, shape (start, ...)
        Mean share up. [-]
    winters : array_like of int, shape (...,) or ()
        Winters counted.
    accept : float
        Share of winters that must be good. [-]
    among, workable : numpy.ndarray of bool, shape (start, ...)
        Dates that may be chosen, a date before midwinter preferred where one meets the target; dates on which the
        ground can be worked, which are preferred where there is one.
    starts : numpy.ndarray of int, shape (start,)
        The candidate dates. [day]
    """
    both = among & workable
    allowed = np.where(both.any(axis=0), both, among)
    meets = allowed & enough(good, winters, accept)
    score = np.where(allowed, np.asarray(good) + np.round(np.asarray(share), DECIMALS), -1.0)
    before = upright(starts < MIDWINTER, score.ndim)
    early = np.where(before, score, -1.0)
    best = np.argmax(np.where((meets & before).any(axis=0), early, score), axis=0)
    position = upright(np.arange(starts.size), score.ndim)
    met = at_position(meets, best)
    first = np.where(~meets & (position < best), position, -1).max(axis=0) + 1
    last = np.where(~meets & (position > best), position, starts.size).min(axis=0) - 1
    return Windows(
        np.where(met, first, best), np.where(met, last, best), best, at_position(np.asarray(good), best), met
    )


def best_planting(
    starts: NDArray[np.int32], good: ArrayLike, share: ArrayLike, warm: ArrayLike, earliest: ArrayLike = 0
) -> IntArray:
    """Position of the best planting date: nearest to warm ground among those that are nearly as good as the best.

    Parameters
    ----------
    starts : numpy.ndarray of int, shape (start,)
        [day]
    good, share : array_like, shape (start, ...)
        Good winters and mean share up. [-]
    warm : array_like of int, shape (...,)
        Day index on which the ground is warm. [day]
    earliest : array_like of int, shape (...,)
        First day index that may be chosen; the last date where all are before it. [day]
    """
    days = upright(starts, np.ndim(good))
    allowed = (days >= np.asarray(earliest)) | (days == starts[-1])
    counts, shares = np.where(allowed, np.asarray(good), -1), np.round(np.asarray(share), DECIMALS)
    best = np.argmax(np.where(allowed, counts + shares, -1.0), axis=0)
    near = (counts == at_position(counts, best)) & (shares >= at_position(shares, best) - NEARLY - ROUNDING)
    away = np.abs(days - np.asarray(warm))
    return np.asarray(np.argmin(np.where(near, away, np.inf), axis=0))


def warm_ground(species: Species) -> float:
    """Seed-zone temperature that is warm enough to plant out. [°C]"""
    return COOL_SPROUTER_GROUND if sprouts_cold(species) else WARM_GROUND


def sprouts_cold(species: Species) -> bool:
    """Whether seed that has had its chill sprouts near freezing."""
    return species.germination.base_temperature <= SPROUTS_COLD


def warm_ground_day(soil_warm: ArrayLike) -> IntArray:
    """Middle date on which the ground is warm, from the dates of each season, shape (season, ...). [day]"""
    return whole_day(percentiles(soil_warm, (0.5,))[0])


def whole_day(day: FloatArray) -> IntArray:
    """Day index without its fraction; the end of the time for autumn sowing where there is no such day. [day]"""
    there = np.isfinite(day)
    return np.asarray(np.where(there, np.trunc(np.where(there, day, 0.0)), LAST_AUTUMN_START), dtype=int)


def verdict_of(
    species: Species,
    recipe: Recipe,
    *,
    autumn: ArrayLike,
    spring: ArrayLike,
    second: ArrayLike,
    indoors: ArrayLike,
    top_up: ArrayLike,
) -> IntArray:
    """Position in `VERDICTS`, from which ways meet the accepted risk.

    Parameters
    ----------
    autumn, spring, second, indoors : array_like of bool, shape (...,)
        Sown in autumn; in spring without chill; in autumn and left for two winters; planted out after treatment.
    top_up : array_like of bool, shape (...,)
        Begun outdoors and finished indoors pays.
    """
    autumn, spring, indoors = np.asarray(autumn), np.asarray(spring), np.asarray(indoors)
    if not any(phase.days[0] > 0 for phase in recipe.phases):
        in_spring = spring if recipe.phases else spring | indoors
        return _first_of(
            (in_spring, verdicts.SPRING),
            (autumn & indoors, verdicts.EITHER),
            (autumn, verdicts.AUTUMN),
            (indoors, verdicts.REFRIGERATOR),
        )
    total = recipe.total_days[1]
    awkward = total > HANDY_FRIDGE or sprouts_cold(species) or species.storage == "never dry"
    return _first_of(
        (autumn & indoors & (not awkward), verdicts.EITHER),
        (autumn, verdicts.AUTUMN),
        (np.asarray(second) & (~indoors | (total > LONGEST_FRIDGE)), verdicts.TWO_WINTERS),
        (indoors & np.asarray(top_up), verdicts.BEGUN),
        (indoors, verdicts.REFRIGERATOR),
    )


def _first_of(*cases: tuple[Any, str]) -> IntArray:
    conditions = [np.asarray(condition) for condition, _ in cases]
    codes = [VERDICTS.index(verdict) for _, verdict in cases]
    return np.asarray(np.select(conditions, codes, VERDICTS.index(verdicts.NOT_HERE)))


def way_of(verdict: ArrayLike, spring_meets: ArrayLike, autumn_good: ArrayLike, indoors_good: ArrayLike) -> IntArray:
    """Position in `WAYS` of the way whose numbers a verdict shows.

    Parameters
    ----------
    verdict : array_like of int, shape (...,)
        Position in `VERDICTS`.
    spring_meets : array_like of bool, shape (...,)
    autumn_good, indoors_good : array_like of int, shape (...,)
        Good winters; where nothing works the better of the two is shown.
    """
    code = np.asarray(verdict)
    name = {key: code == number for number, key in enumerate(VERDICTS)}
    autumn = name[verdicts.AUTUMN] | name[verdicts.EITHER]
    autumn = autumn | (name[verdicts.NOT_HERE] & (np.asarray(autumn_good) > np.asarray(indoors_good)))
    conditions = [
        autumn,
        name[verdicts.SPRING] & np.asarray(spring_meets),
        name[verdicts.TWO_WINTERS],
        name[verdicts.BEGUN],
    ]
    return np.asarray(np.select(conditions, list(range(4)), WAYS.index("indoors")))


def upright(values: NDArray[Any], dimensions: int) -> NDArray[Any]:
    """Values along the first of several axes."""
    return values.reshape((-1,) + (1,) * (dimensions - 1))


def at_position(values: NDArray[Any], position: IntArray) -> NDArray[Any]:
    """Value at a position along the first axis, shape (...,)."""
    return np.asarray(np.take_along_axis(values, np.expand_dims(position, 0), axis=0)[0])


POINTS = 3
"""Of the rule that stands for a normal error."""


class Possible(NamedTuple):
    """One case of what is not known.

    Attributes
    ----------
    offset : float
        The seed zone is warmer than modelled by so much. [°C]
    lot : float
        The seed needs more than a usual lot by so many standard deviations between lots. [-]
    weight : float
        [-]
    """

    offset: float
    lot: float
    weight: float


class Member(NamedTuple):
    """Winters of one case, the lot in them, and the case's weight."""

    weight: float
    winters: TwoWinters
    lot: float


def possibilities(deviation: float) -> tuple[Possible, ...]:
    """Cases that together stand for two normal errors that have nothing to do with each other.

    The usual case, and either error at the outer points of its own rule while the other is nothing. Against a fine grid
    of both errors the chances of 81 species of the demo are off by 0.014 (root of the mean square), by 0.04 at most.

    Parameters
    ----------
    deviation : float
        Standard deviation of the seed zone's error. [°C]

    References
    ----------
    Smolyak (1963), the sum rule of second level, on Gauss-Hermite quadrature of three points.
    """
    offsets, weights = (values.tolist() for values in perturbations(deviation, POINTS))
    lots = perturbations(1.0, POINTS)[0].tolist()
    middle = POINTS // 2
    ground = [Possible(offsets[at], 0.0, weights[at]) for at in range(POINTS) if at != middle]
    seed = [Possible(0.0, lots[at], weights[at]) for at in range(POINTS) if at != middle]
    return (Possible(0.0, 0.0, 2.0 * weights[middle] - 1.0), *ground, *seed)


def members_of(winters: TwoWinters, cases: Sequence[Possible]) -> list[Member]:
    """Winters of every case."""
    return [Member(one.weight, _moved(winters, one.offset), one.lot) for one in cases]


def sides_of(winters: TwoWinters, deviation: float) -> list[Member]:
    """The seed zone, then the lot, at one standard deviation of its own error to either side."""
    ends = (-1.0, 1.0)
    ground = [Member(0.0, _moved(winters, end * deviation), 0.0) for end in ends]
    return [*ground, *(Member(0.0, winters, end) for end in ends)]


def _moved(winters: TwoWinters, offset: float) -> TwoWinters:
    return winters.shifted(offset) if offset else winters
