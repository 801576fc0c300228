"""The decision on one recipe, wherever it is asked: at one site, or at every place of a map.

How seed fares is asked of `Sowings`. The last axis of every array is the place; one site has no such axis.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.rules import (
    LAST_AUTUMN_START,
    STARTS,
    Windows,
    at_position,
    autumn_dates,
    best_planting,
    best_window,
    enough,
    upright,
    verdict_of,
    waits_for_cool_ground,
)
from chillplan.advice.top_up import (
    begin_window,
    can_be_lifted,
    earliest_planting,
    gains_enough,
    lacks_chill,
    most_owed,
    top_up_pays,
    top_up_wanted,
)
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.simulate import FATES

__all__ = ["DORMANT", "LOST", "Begun", "Sowings", "Ways", "ways_of"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int_]
BoolArray = NDArray[np.bool_]

LOST = FATES[1:]
DORMANT = LOST.index("still dormant")


@dataclass(frozen=True)
class Sowings:
    """How the seed of a recipe fares at some places.

    Attributes
    ----------
    winters : int
    accept : float
        Share of winters that must be good. [-]
    cool, workable : numpy.ndarray of bool, shape (start, ...)
        Candidate dates from which the ground has cooled, and on which it can be worked.
    warm, lift : numpy.ndarray of int, shape (...,)
        Day on which the ground is warm, and by which seed is lifted. [day]
    plantings : numpy.ndarray of int32, shape (planting,)
        Days on which seed treated indoors may be planted out. [day]
    sown, planted : tuple of numpy.ndarray, shapes (start, ...) and (planting, ...)
        Good winters and mean share up, by date, of seed sown untreated and of seed treated indoors.
    left : callable
        The same of seed left in place until its second spring, or its third, shape (start, ...), at the places asked
        for; and the number of winters that are known so long.
    lying : callable
        For sowing on a candidate date, its position given, at the places asked for: mean shares of the ways to be
        `LOST`, shape (fate, ...), and days of cold owed when lifted, NaN where the last phase has not begun, shape
        (season, ...).
    finished : callable
        For sowing on a candidate date and planting on a day: whether each winter is good, and the share up, shape
        (season, ...).
    starts : numpy.ndarray of int32, shape (start,)
        The candidate dates; negative before the season's first day. [day]
    there : numpy.ndarray of bool, shape (start,), or None
        Dates on which the seed is ripe; None where that is left open.
    springs : int
        How many springs seed may be left to come up in: a third is asked for only where its grower chose to leave it
        outdoors. No verdict rests on it, since treatment indoors is over two years earlier.
    """

    winters: int
    accept: float
    cool: BoolArray
    workable: BoolArray
    warm: IntArray
    lift: IntArray
    plantings: NDArray[np.int32]
    sown: tuple[IntArray, FloatArray]
    planted: tuple[IntArray, FloatArray]
    left: Callable[[BoolArray, int], tuple[IntArray, FloatArray, int]]
    lying: Callable[[IntArray, BoolArray], tuple[FloatArray, FloatArray]]
    finished: Callable[[IntArray, IntArray, BoolArray], tuple[BoolArray, FloatArray]]
    starts: NDArray[np.int32] = field(default_factory=STARTS.copy)
    there: BoolArray | None = None
    springs: int = 2

    def among(self, dates: BoolArray) -> BoolArray:
        """Of some candidate dates those on which the seed is there."""
        return dates if self.there is None else dates & upright(self.there, dates.ndim)

    def planting_from(self, earliest: IntArray | int = 0) -> IntArray:
        """Position among `plantings` of the best day of those from one on, shape (...,)."""
        return best_planting(self.plantings, *self.planted, self.warm, earliest)

    def day_of(self, planting: IntArray) -> IntArray:
        """Day of a position among `plantings`. [day]"""
        return self.plantings[planting].astype(int)


@dataclass(frozen=True)
class Begun:
    """What beginning outdoors and finishing indoors gives; every array has the shape (...,).

    Attributes
    ----------
    good : numpy.ndarray of int
        Good winters.
    first, last : numpy.ndarray of int
        Positions of the sowing window.
    planted : numpy.ndarray of int
        [day]
    """

    pays: BoolArray
    good: IntArray
    first: IntArray
    last: IntArray
    planted: IntArray


@dataclass(frozen=True)
class Ways:
    """What each way of a recipe gives, and the verdict; every array has the shape (...,).

    Attributes
    ----------
    verdict : numpy.ndarray of int
        Position in `chillplan.verdicts.VERDICTS`.
    autumn, spring, second, third : Windows
        Sown untreated in autumn, in spring, and in autumn where two winters are allowed, or three.
    planting : numpy.ndarray of int
        Position of the best day to plant out after treatment indoors.
    planted : numpy.ndarray of int
        That day. [day]
    indoors : numpy.ndarray of bool
        It meets the accepted risk.
    indoors_good : numpy.ndarray of int
        Its good winters.
    """

    verdict: IntArray
    autumn: Windows
    spring: Windows
    second: Windows
    third: Windows
    planting: IntArray
    planted: IntArray
    indoors: BoolArray
    indoors_good: IntArray
    begun: Begun


def ways_of(species: Species, recipe: Recipe, at: Sowings) -> Ways:
    """Weigh the ways of a recipe."""
    dates = at.among(autumn_dates(at.among(at.cool), waits_for_cool_ground(species, recipe), at.starts))
    in_spring = at.among(np.broadcast_to(upright(at.starts > LAST_AUTUMN_START, dates.ndim), dates.shape))
    autumn = best_window(*at.sown, at.winters, at.accept, dates, at.workable, at.starts)
    spring = best_window(*at.sown, at.winters, at.accept, in_spring, at.workable, at.starts)
    planting = at.planting_from()
    indoors_good = at_position(np.asarray(at.planted[0]), planting)
    indoors = enough(indoors_good, at.winters, at.accept)
    chills = any(phase.days[0] > 0 for phase in recipe.phases)
    fails = ~autumn.meets & chills
    second = _left(at, dates, autumn, fails, 2)
    third = _left(at, dates, autumn, fails & ~second.meets, 3)
    begun = _begun(recipe, at, autumn.best, planting, fails & indoors)
    verdict = verdict_of(
        species,
        recipe,
        autumn=autumn.meets,
        spring=spring.meets,
        second=second.meets,
        indoors=indoors,
        top_up=begun.pays,
    )
    planted = at.day_of(planting)
    return Ways(verdict, autumn, spring, second, third, planting, planted, indoors, indoors_good, begun)


def _left(at: Sowings, dates: BoolArray, autumn: Windows, wanted: BoolArray, springs: int) -> Windows:
    """Windows of seed left until a later spring, where they are asked for; never met elsewhere."""
    none = autumn._replace(meets=np.zeros_like(autumn.meets))
    if springs > at.springs or not wanted.any():
        return none
    good, share, winters = at.left(wanted, springs)
    if winters == 0:
        return none
    found = best_window(good, share, winters, at.accept, dates, at.workable, at.starts)
    return found._replace(meets=found.meets & wanted)


def _begun(recipe: Recipe, at: Sowings, best: IntArray, planting: IntArray, wanted: BoolArray) -> Begun:
    """Whether beginning outdoors and finishing indoors pays, where autumn sowing fails and treatment indoors is good.

    Parameters
    ----------
    best : numpy.ndarray of int, shape (...,)
        Position of the best autumn date.
    planting : numpy.ndarray of int, shape (...,)
        Position of the best planting day after treatment wholly indoors.
    wanted : numpy.ndarray of bool, shape (...,)
    """
    planted = at.day_of(planting)
    first, last = begin_window(best, at.among(at.cool), recipe, at.starts)
    none = np.zeros(wanted.shape, dtype=int)
    nowhere = Begun(none > 0, none, first, last, planted)
    wanted = wanted & can_be_lifted(at.workable, at.lift, at.starts)
    if not top_up_wanted(recipe) or not wanted.any():
        return nowhere
    most = most_owed(recipe)
    losses, owed = at.lying(last, wanted)
    wanted = wanted & lacks_chill(losses, DORMANT) & gains_enough(owed, most, at.accept)
    if not wanted.any():
        return nowhere
    finished = at.day_of(at.planting_from(earliest_planting(owed, most, at.lift, at.accept)))
    good, share = at.finished(last, finished, wanted)
    treated = at_position(np.asarray(at.planted[1]), planting)
    pays = wanted & top_up_pays(good, share, treated, finished - planted, at.accept)
    return Begun(pays, good.sum(axis=0), first, last, finished)
