"""Seed that is begun outdoors and finished in the refrigerator, followed through every winter of a site."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.outlook import Ease, Spring, owed_at, percentiles_of, planted_out, spring_date
from chillplan.advice.rules import DECIMALS
from chillplan.advice.top_up import earliest_planting, gains_enough, seeds_done
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.requirement import QUANTILES
from chillplan.seeds.simulate import simulate
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["Begun", "Finish", "finish_of", "finished_share", "owed_range"]

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
    begun : Begun
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
    fixed: int | None = None,
    stride: int = 1,
) -> Finish | None:
    """Choose the planting date from the day on by which the days owed are done in a poor winter.

    None where more is owed than is worth finishing, or the cold phase has not begun, in too many winters.

    Parameters
    ----------
    winters : TwoWinters
    begun : Begun
    most : float
        Most cold owed that is worth finishing. [day]
    accept, target : float
        [-]
    ease : Ease
    fixed : int, optional
        Take this planting date. [day]
    stride : int
        Look at every so many candidate dates.
    """
    owed = begun.owed(winters)
    if not gains_enough(owed, most, accept):
        return None
    earliest = int(earliest_planting(owed, most, begun.lift, accept))
    risk = (accept, target, ease)
    spring = spring_date(winters, begun.species, begun.recipe, *risk, earliest=earliest, fixed=fixed, stride=stride)
    return Finish(begun, spring.day, owed, _share(winters, begun, spring, owed))


def finished_share(winters: TwoWinters, finish: Finish) -> FloatArray:
    """Share up when the same dates meet other winters; shape (season,). [-]"""
    begun = finish.begun
    planted = planted_out(winters, begun.species, begun.recipe, finish.planting)
    return _share(winters, begun, Spring(finish.planting, 0, False, planted), begun.owed(winters))


def _share(winters: TwoWinters, begun: Begun, spring: Spring, owed: FloatArray) -> FloatArray:
    """What has all its cold and is up after planting out, less what came up before it was lifted."""
    start = np.array([begun.sown], dtype=np.int32)
    passage = simulate(winters, begun.recipe.phases, begun.species.germination, start)
    open_share = 1.0 if begun.recipe.opens_coat or not begun.species.hard_coat else begun.species.trickle_share
    risen = (passage.emergence[:, 0] < begun.lift).mean(axis=0) * open_share
    done = seeds_done(owed, begun.recipe, spring.day - begun.lift) / QUANTILES.size * open_share
    return np.asarray(np.round(np.maximum(np.minimum(spring.fates.share_up[0], done) - risen, 0.0), DECIMALS))


def owed_range(finish: Finish) -> tuple[float, float, float]:
    """Days of cold owed when lifted, by winter: 10th, 50th and 90th percentile; all of it where it has not begun."""
    whole = finish.begun.recipe.phases[-1].days[1]
    return percentiles_of(np.where(np.isnan(finish.owed), whole, finish.owed))
