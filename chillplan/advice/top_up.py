"""When seed is begun outdoors and finished in the refrigerator, element by element for a site and for a map.

Sown in autumn, lifted before the soil warms, kept in the refrigerator for the days still owed, then planted out. A
grower who is rarely on the hill weighs it against two others. Autumn sowing that works asks for one visit and no
refrigerator. Treatment wholly indoors asks for one visit too, is safe from mice, thaws and frost heave, and ends on the
very day on which the ground is ready; it costs months of room in the refrigerator, with a look every week. To begin
outdoors saves most of those months, and costs a visit in late winter and some weeks of spring, since lifting seed
earlier does not make it owe less. So it is advised only where all of these hold:

- autumn sowing fails, and what it lacks is chill: most of the loss is seed still dormant;
- the ground is open when the seed is to be lifted;
- the whole treatment is long (`LONG`), and the winter does at least half of the last cold phase and spares at least two
  months indoors (`SPARED`), in as many winters as the accepted risk asks for; a seed whose need is short, or that gains
  little outdoors, is simply chilled in the refrigerator;
- in as many winters half the lot (or what is asked for) is up in time from a planting date fixed beforehand, by which
  the days owed are done even in a poor winter (`POOR`); seed that came up before it was lifted, and seed whose cold is
  not done by then, counts as lost;
- at most a tenth of the lot (`FEWER`) is lost in these ways: scarce seed is worth more than room in the refrigerator;
- that date is at most six weeks after the best one for seed treated wholly indoors (`LATER`): beyond that, the better
  spring is worth more than the room in the refrigerator.

The first axis is the season or the fate; any further axes are places, and none at all is one site.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.advice.outlook import Ease, owed_at, percentiles_of, planted_out, spring_date
from chillplan.advice.rules import (
    DECIMALS,
    LAST_AUTUMN_START,
    ROUNDING,
    STARTS,
    autumn_dates,
    enough,
    whole_day,
)
from chillplan.seasons.chance import percentiles
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.requirement import QUANTILES, needs_of_lot
from chillplan.seeds.simulate import open_share, simulate
from chillplan.seeds.two_winters import TwoWinters

__all__ = [
    "LIFT_WITHIN",
    "Begun",
    "Finish",
    "begin_window",
    "can_be_lifted",
    "earliest_planting",
    "finish_of",
    "finished_share",
    "gains_enough",
    "lacks_chill",
    "lift_day",
    "most_owed",
    "owed_range",
    "seeds_done",
    "top_up_pays",
    "top_up_wanted",
]

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int_]

# All of them common practice or our choice, no source.
LONG = 90  # shorter treatments are simply done in the refrigerator [day]
SPARED = 60  # least time indoors that the winter outdoors must spare, for the sake of a further visit [day]
POOR = 0.9  # share of winters in which the days owed are done by the planting date [-]
FEWER = 0.1  # share of the lot that may be lost by it, beside treatment wholly indoors [-]
LATER = 42  # latest planting, after the best date for seed treated wholly indoors [day]
LIFT_AHEAD = 7  # days before the soil warms on which seed is lifted at the latest [day]
LIFT_WITHIN = 14  # it may be lifted so much earlier: indoors no day counts less than outdoors [day]
SOW_WITHIN = 5  # candidate dates, two weeks, within which it is sown


def lift_day(soil_warm: ArrayLike) -> IntArray:
    """Last day to lift seed before the soil warms: a week before the early tenth of the dates. [day]

    Parameters
    ----------
    soil_warm : array_like, shape (season, ...)
        Day index on which the seed zone reaches the temperature at which the species is planted out. [day]
    """
    early = percentiles(soil_warm, (0.1,))[0]
    return np.asarray(whole_day(early) - np.where(np.isfinite(early), LIFT_AHEAD, 0))


def begin_window(
    best: ArrayLike, cool: BoolArray, recipe: Recipe, starts: NDArray[np.int32] = STARTS
) -> tuple[IntArray, IntArray]:
    """First and last sowing date of seed that is to be lifted, as positions among the candidate dates.

    Seed that wants cold first is sown when the ground has cooled, or before it must dry; other seed on the best autumn
    date. The days owed are reckoned from the last date, so that they hold for the whole window.

    Parameters
    ----------
    best : array_like of int, shape (...,)
        Position of the best autumn date of seed that is left in place.
    cool : numpy.ndarray of bool, shape (start, ...)
        From the autumn date on which the seed zone has cooled.
    starts : numpy.ndarray of int, shape (start,)
        The candidate dates. [day]
    """
    best, latest = np.asarray(best), int((starts <= LAST_AUTUMN_START).sum()) - 1
    begin = best
    if recipe.phases and recipe.phases[0].kind == "cold":
        begin = np.argmax(autumn_dates(cool, waits=True, starts=starts), axis=0)
    return np.minimum(best, begin), np.asarray(np.minimum(begin + SOW_WITHIN, latest))


def can_be_lifted(workable: BoolArray, lift: ArrayLike, starts: NDArray[np.int32] = STARTS) -> BoolArray:
    """Whether the ground is open on a date within the two weeks in which seed is lifted.

    Parameters
    ----------
    workable : numpy.ndarray of bool, shape (start, ...)
        Candidate dates on which the ground is neither frozen hard nor under snow.
    lift : array_like of int, shape (...,)
        Last day to lift. [day]
    starts : numpy.ndarray of int, shape (start,)
        The candidate dates. [day]
    """
    days = starts.reshape((-1,) + (1,) * (workable.ndim - 1))
    within = (days <= np.asarray(lift)) & (days >= np.asarray(lift) - LIFT_WITHIN)
    return np.asarray((within & workable).any(axis=0))


def top_up_wanted(recipe: Recipe) -> bool:
    """Whether the treatment ends with cold and is long enough to be begun outdoors."""
    return bool(recipe.phases) and recipe.phases[-1].kind == "cold" and recipe.total_days[1] >= LONG


def most_owed(recipe: Recipe) -> float:
    """Most cold that the winter may leave undone: half of the last phase, and two months less than all phases. [day]"""
    return float(min(recipe.phases[-1].days[1] / 2.0, recipe.total_days[1] - SPARED))


def earliest_planting(owed: ArrayLike, most: float, lift: ArrayLike, accept: float) -> IntArray:
    """Day by which the days owed are done in a poor winter.

    Parameters
    ----------
    owed : array_like, shape (season, ...)
        When lifted; more than `most`, and NaN where the cold phase has not begun, count as that most. [day]
    most : float
        Most that is worth finishing. [day]
    lift : array_like of int, shape (...,)
        [day]
    accept : float
        Share of winters that must be good; more than nine in ten makes the winter that is planned for poorer. [-]
    """
    counted = np.minimum(np.where(np.isnan(owed), most, owed), most)
    poor = percentiles(counted, (max(POOR, accept),))[0]
    day = np.asarray(lift) + np.ceil(poor - ROUNDING).astype(int)
    return np.asarray(np.maximum(day, LAST_AUTUMN_START))


def gains_enough(owed: ArrayLike, most: float, accept: float) -> BoolArray:
    """Whether the winter leaves no more undone than is worth finishing, as often as the accepted risk asks for.

    Parameters
    ----------
    owed : array_like, shape (season, ...)
        NaN where the cold phase has not begun: too much. [day]
    most : float
        Most that is worth finishing. [day]
    accept : float
        [-]
    """
    little = np.asarray(owed) <= most + ROUNDING
    return enough(little.sum(axis=0), little.shape[0], accept)


def seeds_done(owed: ArrayLike, recipe: Recipe, room: ArrayLike) -> IntArray:
    """How many seeds of the lot have all their cold when planted out, counted from the least demanding.

    Parameters
    ----------
    owed : array_like, shape (season, ...)
        By the seed that needs most of nine in ten; NaN where the cold phase has not begun: none is done. [day]
    room : array_like, shape (...,)
        Days from lifting to planting out. [day]

    Returns
    -------
    numpy.ndarray of int, shape (season, ...)
        Of the seeds in `chillplan.seeds.requirement.QUANTILES`.
    """
    cold = recipe.phases[-1]
    found = [np.asarray(owed) + (need - cold.days[1]) <= np.asarray(room) + ROUNDING for need in needs_of_lot(cold)]
    return np.asarray(np.sum(found, axis=0))


def lacks_chill(losses: ArrayLike, dormant: int) -> BoolArray:
    """Whether most of what is lost outdoors is seed still dormant.

    Parameters
    ----------
    losses : array_like, shape (fate, ...)
        Mean shares of the ways to be lost. [-]
    dormant : int
        Which of them is seed still dormant.
    """
    return np.asarray(np.argmax(np.round(np.asarray(losses), DECIMALS), axis=0) == dormant)


def top_up_pays(good: BoolArray, share: ArrayLike, indoors: ArrayLike, later: ArrayLike, accept: float) -> BoolArray:
    """Whether seed that lacks chill outdoors is begun there; the reasons stand at the top of this module.

    Parameters
    ----------
    good : numpy.ndarray of bool, shape (season, ...)
        The share up reaches the target.
    share : array_like, shape (season, ...)
        Share up. [-]
    indoors : array_like, shape (...,)
        Mean share up after treatment wholly indoors, at its best planting date. [-]
    later : array_like, shape (...,)
        Days from that date to the planting date of lifted seed. [day]
    accept : float
        [-]
    """
    mean = np.round(np.asarray(share).mean(axis=0), DECIMALS)
    as_many = mean >= np.round(np.asarray(indoors) - FEWER, DECIMALS)
    return np.asarray(enough(good.sum(axis=0), good.shape[0], accept) & as_many & (np.asarray(later) <= LATER))


FloatArray = NDArray[np.floating]


@dataclass(frozen=True)
class Begun:
    """Seed of a species lying outdoors.

    Attributes
    ----------
    first, sown : int
        Day indices between which it is sown; what is said of it is reckoned from the last. [day]
    lift : int
        Day index by which it is lifted. [day]
    """

    species: Species
    recipe: Recipe
    first: int
    sown: int
    lift: int

    def owed(self, winters: TwoWinters) -> FloatArray:
        """Days of cold owed when lifted, NaN where the cold phase has not begun; shape (season,). [day]"""
        return owed_at(winters, self.species, self.recipe, self.sown, self.lift)


@dataclass(frozen=True)
class Finish:
    """Lifted, finished indoors and planted out.

    Attributes
    ----------
    planting : int
        Day index of planting out. [day]
    owed : numpy.ndarray, shape (season,)
        Days of cold owed when lifted; NaN where the cold phase has not begun. [day]
    share : numpy.ndarray, shape (season,)
        Share up. [-]
    """

    begun: Begun
    planting: int
    owed: FloatArray
    share: FloatArray


def finish_of(
    winters: TwoWinters,
    begun: Begun,
    most: float,
    accept: float,
    target: float,
    ease: Ease,
) -> Finish | None:
    """Choose the planting date from the day on by which the days owed are done in a poor winter.

    None where more is owed than is worth finishing, or the cold phase has not begun, in too many winters.

    Parameters
    ----------
    most : float
        Most cold owed that is worth finishing. [day]
    accept, target : float
        [-]
    """
    owed = begun.owed(winters)
    if not gains_enough(owed, most, accept):
        return None
    earliest = int(earliest_planting(owed, most, begun.lift, accept))
    risk = (accept, target, ease)
    spring = spring_date(winters, begun.species, begun.recipe, *risk, earliest=earliest)
    return Finish(begun, spring.day, owed, finished_share(winters, begun, spring.day))


def finished_share(winters: TwoWinters, begun: Begun, planting: int) -> FloatArray:
    """Share up of seed planted out on a day after it was finished indoors; shape (season,). [-]

    What has all its cold and is up after planting out, less what came up before it was lifted.
    """
    species, recipe, day = begun.species, begun.recipe, np.array([planting], dtype=np.int32)
    up = planted_out(winters, species, recipe, day).share_up[0]
    start = np.array([begun.sown], dtype=np.int32)
    passage = simulate(winters, recipe.phases, species.germination, start)
    opened = open_share(species, recipe)
    risen = (passage.emergence[:, 0] < begun.lift).mean(axis=0) * opened
    done = seeds_done(begun.owed(winters), recipe, planting - begun.lift) / QUANTILES.size * opened
    return np.asarray(np.round(np.maximum(np.minimum(up, done) - risen, 0.0), DECIMALS))


def owed_range(finish: Finish) -> tuple[float, float, float]:
    """Days of cold owed when lifted, by winter: 10th, 50th and 90th percentile; all of it where it has not begun."""
    whole = finish.begun.recipe.phases[-1].days[1]
    return percentiles_of(np.where(np.isnan(finish.owed), whole, finish.owed))
