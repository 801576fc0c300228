"""What a recipe asks of the ground, in the whole numbers that the kernels count in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.region.ground import response_row
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seeds.passage import whole_parts
from chillplan.seeds.recipe import COLD_RESPONSE, Recipe, Species
from chillplan.seeds.requirement import QUANTILES, needs_of_lot, spread
from chillplan.seeds.simulate import open_share
from chillplan.seeds.two_winters import WARMTH_GRAIN

__all__ = ["Needs", "needs_of"]


@dataclass(frozen=True)
class Needs:
    """A recipe as the kernels take it.

    Attributes
    ----------
    response : numpy.ndarray of float32, shape (kind, 6)
        Responses that differ, one row each.
    order : numpy.ndarray of int32, shape (phase,)
        Row of `response` of each phase.
    needs, owed : numpy.ndarray of int32, shape (phase, quantile)
        Parts of a day needed; and still needed after nine seeds in ten are served indoors.
    demanding : numpy.ndarray of int32, shape (phase,)
        Need of the 90th percentile.
    thermal : numpy.ndarray of int32, shape (quantile,)
        Parts of a degree day.
    base : float
        [°C]
    once, twice : numpy.ndarray of int16, shapes (quantile + 1,) and (quantile + 1, quantile + 1)
        Whether a winter is good, by the number of quantiles up in the first and in the second spring.
    open_share : float
        Share of the seed that water can enter; 1 but for hard seed whose coat stays closed. [-]
    """

    response: NDArray[np.float32]
    order: NDArray[np.int32]
    needs: NDArray[np.int32]
    owed: NDArray[np.int32]
    demanding: NDArray[np.int32]
    thermal: NDArray[np.int32]
    base: float
    once: NDArray[np.int16]
    twice: NDArray[np.int16]
    open_share: float


def needs_of(species: Species, recipe: Recipe, target: float) -> Needs:
    """Turn a recipe into whole numbers.

    Parameters
    ----------
    species : Species
    recipe : Recipe
    target : float
        Share up that makes a winter good. [-]
    """
    rows = [
        tuple(response_row(phase.response, phase.reversal if phase.kind == "cold" else None)) for phase in recipe.phases
    ]
    kinds = list(dict.fromkeys(rows)) or [tuple(response_row(COLD_RESPONSE))]
    amounts = [needs_of_lot(phase) for phase in recipe.phases]
    left = [amount - phase.days[1] for amount, phase in zip(amounts, recipe.phases, strict=True)]
    opened = open_share(species, recipe)
    up = np.arange(QUANTILES.size + 1) / QUANTILES.size
    once = up * opened
    twice = once[:, None] + once[None, :] + ((1.0 - opened) * opened * up)[:, None]
    return Needs(
        response=np.array(kinds, np.float32),
        order=np.array([kinds.index(row) for row in rows], np.int32),
        needs=_parts(amounts, DAY_GRAIN),
        owed=_parts(left, DAY_GRAIN),
        demanding=_parts([np.array([phase.factor * phase.days[1]]) for phase in recipe.phases], DAY_GRAIN)[:, 0],
        thermal=whole_parts(spread(*species.germination.thermal_time), WARMTH_GRAIN),
        base=species.germination.base_temperature,
        once=(once >= target).astype(np.int16),
        twice=(twice >= target).astype(np.int16),
        open_share=opened,
    )


def _parts(amounts: list[NDArray[np.floating]], grain: float) -> NDArray[np.int32]:
    if not amounts:
        return np.zeros((0, 1), np.int32)
    return np.stack([whole_parts(amount, grain) for amount in amounts])
