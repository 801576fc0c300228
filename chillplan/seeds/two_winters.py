"""The seed zone over two winters, as a sowing meets it, with the totals that sowings share."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from chillplan.seasons.chance import percentiles
from chillplan.seasons.chill import DAY_GRAIN, counted_share
from chillplan.seasons.cut import DAYS, MIDWINTER, Seasons
from chillplan.seasons.dates import first_frost
from chillplan.seasons.response import REVERSAL_LOSS
from chillplan.seasons.summary import TEMPERATURE_GRAIN, Ground
from chillplan.seeds.passage import Steps, steps_of
from chillplan.seeds.recipe import Phase, Response

__all__ = ["KILLING_FROST", "WARMTH_GRAIN", "TwoWinters", "deadline_of", "two_winters"]

FloatArray = NDArray[np.floating]
IntArray = NDArray[np.int32]
Made = TypeVar("Made")

ESTABLISHMENT = 60  # days a seedling wants before the autumn's first killing frost; common practice, no source
KILLING_FROST = -2.0  # that frost; planning warning [°C]
WARMTH_GRAIN = 4096.0
"""Parts of a degree day in which thermal time is counted, so that sums are exact in any order. [1/(°C d)]"""


@dataclass(frozen=True)
class TwoWinters:
    """Seed zone over each season and the one that follows it; arrays have the shape (lead + 2 * 365 days, season).

    Attributes
    ----------
    temperature : numpy.ndarray
        NaN in the second half where the following season is not usable. [°C]
    moist : numpy.ndarray of bool
    minimum : numpy.ndarray
        At the height of a seedling; without the lead. [°C]
    followed : numpy.ndarray of bool, shape (season,)
        The following season is usable.
    deadline : int
        Last day index on which a seedling is in time. [day]
    lead : int
        Days before the season's first at the start of the arrays, for seed sown before it. [day]
    """

    temperature: FloatArray
    moist: NDArray[np.bool_]
    minimum: FloatArray
    followed: NDArray[np.bool_]
    deadline: int
    lead: int = 0
    _made: dict[Hashable, Any] = field(default_factory=dict, repr=False, compare=False)

    def shifted(self, offset: float) -> TwoWinters:
        """The same winters with a seed zone warmer by an offset: one possible error of the model. [°C]

        The offset is taken to the part of a degree in which the seed zone is kept, so that sums stay exact.
        """
        kept = round(offset * TEMPERATURE_GRAIN) / TEMPERATURE_GRAIN
        return replace(self, temperature=self.temperature + kept, _made={})

    def gain(self, response: Response) -> FloatArray:
        """Share of each day that counts for a phase, dry days counting nothing; shape (day, season)."""
        corners = (response.zero_low, response.full_low, response.full_high, response.zero_high)
        return np.asarray(np.where(self.moist, counted_share(self.temperature, *corners), 0.0))

    def hot(self, reversal: float) -> NDArray[np.bool_]:
        """Days that undo chilling; shape (day, season)."""
        return np.asarray(self.temperature > reversal)

    def steps(self, phase: Phase) -> Steps:
        """Daily progress of a phase; a day too warm for a cold phase undoes `REVERSAL_LOSS` of it."""
        reversal = phase.reversal if phase.kind == "cold" else np.inf

        def make() -> Steps:
            return steps_of(self.gain(phase.response) - REVERSAL_LOSS * self.hot(reversal), DAY_GRAIN)

        return self._once(("phase", phase.response, reversal), make)

    def warmth_steps(self, base: float) -> Steps:
        """Daily thermal time above a base temperature on moist days."""

        def make() -> Steps:
            return steps_of(np.where(self.moist, np.maximum(self.temperature - base, 0.0), 0.0), WARMTH_GRAIN)

        return self._once(("warmth", base), make)

    def last_killing_frost(self, limit: float) -> FloatArray:
        """Day of the last minimum at or below a limit in each season; shape (2, season), -1 where there is none."""

        def make() -> FloatArray:
            frost = self.minimum.reshape(2, DAYS, -1) <= limit
            last = DAYS - 1 - frost[:, ::-1].argmax(axis=1)
            return np.where(frost.any(axis=1), last + np.array([[0], [DAYS]]), -1)

        return self._once(("frost", limit), make)

    def _once(self, key: Hashable, make: Callable[[], Made]) -> Made:
        if key not in self._made:
            self._made[key] = make()
        made: Made = self._made[key]
        return made


def two_winters(seasons: Seasons, ground: Ground, lead: bool = False) -> TwoWinters:
    """Put each season and its follower end to end.

    Parameters
    ----------
    seasons : Seasons
    ground : Ground
        Of the same seasons.
    lead : bool
        Whether seed is sown before the season's first day.
    """
    following = seasons.following
    followed = following >= 0

    def double(values: NDArray[Any], missing: float | bool) -> NDArray[Any]:
        return np.concatenate([values, np.where(followed, values[:, following], missing)])

    temperature, moist = double(ground.temperature, np.nan), double(ground.moist, False).astype(bool)
    if lead and ground.lead is not None:
        temperature, moist = np.concatenate([ground.lead[0], temperature]), np.concatenate([ground.lead[1], moist])
    return TwoWinters(
        temperature=temperature,
        moist=moist,
        minimum=double(ground.minimum, np.nan),
        followed=followed,
        deadline=int(deadline_of(first_frost(ground.minimum, KILLING_FROST))),
        lead=temperature.shape[0] - 2 * DAYS,
    )


def deadline_of(first_killing_frost: FloatArray) -> NDArray[np.int_]:
    """Last day index on which a seedling is in time to establish before the autumn that follows.

    Parameters
    ----------
    first_killing_frost : numpy.ndarray, shape (season, ...)
        Day index of the first minimum at or below `KILLING_FROST` at its height; ``inf`` where there is none. [day]

    Returns
    -------
    numpy.ndarray of int, shape (...,)
        The last day of the season where half of the seasons have no such frost. [day]
    """
    middle = percentiles(first_killing_frost, (0.5,))[0]
    there = np.isfinite(middle)
    day = DAYS + np.rint(np.where(there, middle, 0.0)) - ESTABLISHMENT
    return np.asarray(np.where(there, np.clip(day, MIDWINTER, DAYS - 1), DAYS - 1), dtype=int)
