"""Seed that is begun outdoors and finished in the refrigerator, followed through every winter of a site."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.outlook import Ease, owed_at, percentiles_of, planted_out, spring_date
from chillplan.advice.rules import DECIMALS
from chillplan.advice.top_up import earliest_planting, gains_enough, seeds_done
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.requirement import QUANTILES
from chillplan.seeds.simulate import open_share, simulate
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
