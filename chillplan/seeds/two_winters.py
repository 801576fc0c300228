"""The seed zone over two winters or three, as a sowing meets it, with the totals that sowings share."""

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

    Of seed that is left in place for longer there may be a third season in them.

    Attributes
    ----------
    temperature : numpy.ndarray
        NaN where a following season is not usable. [°C]
    moist : numpy.ndarray of bool
    minimum : numpy.ndarray
        At the height of a seedling; without the lead. [°C]
    deadline : int
        Last day index on which a seedling is in time. [day]
    lead : int
        Days before the season's first at the start of the arrays, for seed sown before it. [day]
    """

    temperature: FloatArray
    moist: NDArray[np.bool_]
    minimum: FloatArray
    deadline: int
    lead: int = 0
    _made: dict[Hashable, Any] = field(default_factory=dict, repr=False, compare=False)

    @property
    def usable(self) -> NDArray[np.bool_]:
        """Whether each of the seasons end to end is usable; shape (season end to end, season)."""
        return np.asarray(np.isfinite(self.temperature[self.lead :: DAYS]))

    @property
    def followed(self) -> NDArray[np.bool_]:
        """Whether the following season is usable, shape (season,)."""
        return np.asarray(self.usable[1])

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

    def steps(self, phase: Phase) -> Steps:
        """Daily progress of a phase; a day too warm for a cold phase undoes `REVERSAL_LOSS` of it."""

        def make() -> Steps:
            hot = self.temperature > phase.undone_above
            return steps_of(self.gain(phase.response) - REVERSAL_LOSS * hot, DAY_GRAIN)

        return self._once(("phase", phase.response, phase.undone_above), make)

    def warmth_steps(self, base: float) -> Steps:
        """Daily thermal time above a base temperature on moist days."""

        def make() -> Steps:
            return steps_of(np.where(self.moist, np.maximum(self.temperature - base, 0.0), 0.0), WARMTH_GRAIN)

        return self._once(("warmth", base), make)

    def last_killing_frost(self, limit: float) -> FloatArray:
        """Day of the last minimum at or below a limit in each of the seasons end to end, -1 where there is none.

        Shape (season end to end, season).
        """

        def make() -> FloatArray:
            frost = self.minimum.reshape(-1, DAYS, self.minimum.shape[1]) <= limit
            last = DAYS - 1 - frost[:, ::-1].argmax(axis=1)
            return np.where(frost.any(axis=1), last + DAYS * np.arange(len(frost))[:, None], -1)

        return self._once(("frost", limit), make)

    def _once(self, key: Hashable, make: Callable[[], Made]) -> Made:
        if key not in self._made:
            self._made[key] = make()
        made: Made = self._made[key]
        return made


def two_winters(seasons: Seasons, ground: Ground, lead: bool = False, springs: int = 2) -> TwoWinters:
    """Put each season and those that follow it end to end.

    Parameters
    ----------
    seasons : Seasons
    ground : Ground
        Of the same seasons.
    lead : bool
        Whether seed is sown before the season's first day.
    springs : int
        How many springs the seed is left to come up in.
    """
    following = seasons.following
    after = [np.arange(following.size)]
    while len(after) < springs:
        after.append(np.where(after[-1] >= 0, following[after[-1]], -1))

    def joined(values: NDArray[Any], missing: float | bool) -> NDArray[Any]:
        return np.concatenate([np.where(one >= 0, values[:, one], missing) for one in after])

    temperature, moist = joined(ground.temperature, np.nan), joined(ground.moist, False).astype(bool)
    if lead and ground.lead is not None:
        temperature, moist = np.concatenate([ground.lead[0], temperature]), np.concatenate([ground.lead[1], moist])
    return TwoWinters(
        temperature=temperature,
        moist=moist,
        minimum=joined(ground.minimum, np.nan),
        deadline=int(deadline_of(first_frost(ground.minimum, KILLING_FROST))),
        lead=temperature.shape[0] - springs * DAYS,
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
