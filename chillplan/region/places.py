"""Places side by side, what the user asks of each, and what a recipe asks of the ground, in whole numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from chillplan.physics.climate import filled_precipitation
from chillplan.seasons.chill import DAY_GRAIN, sides_of
from chillplan.seeds.passage import whole_parts
from chillplan.seeds.recipe import COLD_RESPONSE, Recipe, Response, Species
from chillplan.seeds.requirement import QUANTILES, needs_of_lot, spread
from chillplan.seeds.simulate import open_share
from chillplan.seeds.two_winters import WARMTH_GRAIN

__all__ = ["Ask", "Needs", "Places", "needs_of", "response_row"]

FloatArray = NDArray[np.float32]


@dataclass(frozen=True)
class Places:
    """Daily weather of many places; the last axis is the place."""

    # NaN is missing [°C]; shape (time, place)
    tmin: FloatArray
    tmax: FloatArray
    precipitation: FloatArray | None  # [mm]; shape (time, place)
    # [degrees, m, degrees, degrees]; shape (place,)
    latitude: NDArray[np.float64]
    elevation: NDArray[np.float64]
    slope: NDArray[np.float64]
    aspect: NDArray[np.float64]
    first: int = 0  # column of the daily arrays at which the places begin; more columns may lie to both sides

    def __len__(self) -> int:
        return int(self.latitude.size)

    def at(self, where: NDArray[np.int_] | slice) -> Places:
        """Some of the places."""
        return Places(
            np.ascontiguousarray(self.own(self.tmin)[:, where]),
            np.ascontiguousarray(self.own(self.tmax)[:, where]),
            None if self.precipitation is None else np.ascontiguousarray(self.own(self.precipitation)[:, where]),
            self.latitude[where],
            self.elevation[where],
            self.slope[where],
            self.aspect[where],
        )

    def window(self, begin: int, end: int) -> Places:
        """Neighbouring places, their daily weather left where it is."""
        return replace(
            self,
            latitude=self.latitude[begin:end],
            elevation=self.elevation[begin:end],
            slope=self.slope[begin:end],
            aspect=self.aspect[begin:end],
            first=self.first + begin,
        )

    def own(self, values: FloatArray) -> FloatArray:
        """The columns of a daily array that are of these places."""
        return values[:, self.first : self.first + len(self)]

    def filled(self) -> Places:
        """The same places with missing precipitation guessed."""
        if self.precipitation is None or not np.isnan(self.own(self.precipitation)).any():
            return self
        low, high, water = (self.own(values) for values in (self.tmin, self.tmax, self.precipitation))
        return replace(self, tmin=low, tmax=high, precipitation=filled_precipitation(low, high, water), first=0)

    def dry(self) -> Places:
        """The same places without their precipitation."""
        return replace(self, precipitation=None)


@dataclass(frozen=True)
class Ask:
    """What is asked of every place."""

    species: tuple[Species, ...]
    cover: str = "short grass"
    depth_cm: float = 2.0  # [cm]
    # share of winters that must be good, and share up that makes a winter good [-]
    accept: float = 0.8
    target: float = 0.5
    warming: float = 0.0  # added to every temperature [°C]
    calibration: Mapping[str, float] = field(default_factory=dict)  # site parameters of the seed-zone model


GRAINS = np.array([DAY_GRAIN, WARMTH_GRAIN], np.float32)


class Needs(NamedTuple):
    """A recipe as the kernels take it."""

    response: NDArray[np.float32]  # responses that differ, one row each; shape (kind, 5)
    order: NDArray[np.int32]  # row of `response` of each phase; shape (phase,)
    # parts of a day needed; and still needed after nine seeds in ten are served indoors; shape (phase, quantile)
    needs: NDArray[np.int32]
    owed: NDArray[np.int32]
    demanding: NDArray[np.int32]  # need of the 90th percentile; shape (phase,)
    thermal: NDArray[np.int32]  # parts of a degree day; shape (quantile,)
    base: np.float32  # [°C]
    # whether a winter is good, by the number of quantiles up in the first and in the second spring; shape (quantile +
    # 1,) and (quantile + 1, quantile + 1)
    once: NDArray[np.int16]
    twice: NDArray[np.int16]
    open_share: float  # share of the seed that water can enter; 1 but for hard seed whose coat stays closed [-]
    grains: NDArray[np.float32] = GRAINS  # parts of a day and of a degree day; shape (2,)


def response_row(response: Response, reversal: float = np.inf) -> list[float]:
    """A response as the kernels take it: its sides, and the temperature above which days are lost, if there is one."""
    sides = sides_of(response.zero_low, response.full_low, response.full_high, response.zero_high)
    return [*sides, reversal]


def needs_of(species: Species, recipe: Recipe, target: float) -> Needs:
    """Turn a recipe into whole numbers.

    Parameters
    ----------
    species : Species
    recipe : Recipe
    target : float
        Share up that makes a winter good. [-]
    """
    rows = [tuple(response_row(phase.response, phase.undone_above)) for phase in recipe.phases]
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
        base=np.float32(species.germination.base_temperature),
        once=(once >= target).astype(np.int16),
        twice=(twice >= target).astype(np.int16),
        open_share=opened,
    )


def _parts(amounts: list[NDArray[np.floating]], grain: float) -> NDArray[np.int32]:
    if not amounts:
        return np.zeros((0, 1), np.int32)
    return np.stack([whole_parts(amount, grain) for amount in amounts])
