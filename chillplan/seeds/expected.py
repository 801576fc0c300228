"""Share of a sowing that should stand on the day of a count, for every possible requirement and error of the site."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from chillplan.seeds.learning import OFFSETS, RequirementGrid
from chillplan.seeds.passage import NEVER, complete
from chillplan.seeds.recipe import Germination, Phase
from chillplan.seeds.requirement import QUANTILES, spread
from chillplan.seeds.simulate import simulate
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["expected_shares"]

FloatArray = NDArray[np.floating]


def expected_shares(
    winter: TwoWinters,
    phases: Sequence[Phase],
    germination: Germination,
    grid: RequirementGrid,
    start: int,
    counted: int,
    seedling_limit: float,
    credit: Sequence[float] = (),
) -> FloatArray:
    """Walk a sowing through the season it was in.

    Parameters
    ----------
    winter : TwoWinters
        Of one season: its arrays have one column.
    phases : sequence of Phase
        The last is the cold phase whose requirement the grid varies.
    germination : Germination
    grid : RequirementGrid
    start, counted : int
        Day indices of sowing and count. [day]
    seedling_limit : float
        [°C]
    credit : sequence of float
        Days of each phase done indoors before sowing. [day]

    Returns
    -------
    numpy.ndarray, shape (offset, mean, spread)
        Share up and alive. [-]
    """
    done = credit[len(phases) - 1] if len(credit) >= len(phases) else 0.0
    mean, deviation = grid.means[:, None, None], grid.spreads[None, :, None]
    amounts = np.maximum(mean + deviation * ndtri(QUANTILES), 0.0) - done
    frost = np.flatnonzero(winter.minimum[: counted + 1, 0] <= seedling_limit)
    last_frost = int(frost[-1]) if frost.size else -1
    thermal_time = spread(*germination.thermal_time)
    shares = []
    for offset in OFFSETS:
        shifted = winter.shifted(float(offset))
        ready = _ready(shifted, phases, germination, start, credit)
        complete_on = complete(shifted.steps(phases[-1]), _one_by_one(ready, amounts.shape), amounts.reshape(-1))
        begun = np.where(complete_on < NEVER, complete_on + 1, NEVER).astype(np.int32)
        warmth = shifted.warmth_steps(germination.base_temperature)
        needed = np.broadcast_to(thermal_time, amounts.shape).reshape(-1)
        emergence = complete(warmth, begun, needed).reshape(amounts.shape)
        shares.append(((emergence <= counted) & (emergence >= last_frost)).mean(axis=2))
    return np.stack(shares)


def _ready(
    winter: TwoWinters, phases: Sequence[Phase], germination: Germination, start: int, credit: Sequence[float]
) -> NDArray[np.int32]:
    """First day on which the last phase of each quantile can gain; shape (quantile,)."""
    if len(phases) == 1:
        return np.full(QUANTILES.size, start, dtype=np.int32)
    before = simulate(
        winter, phases[:-1], germination, np.array([start], dtype=np.int32), list(credit)[: len(phases) - 1]
    )
    done = before.phase_done[-1][:, 0, 0]
    return np.where(done < NEVER, np.maximum(done + 1, start), NEVER).astype(np.int32)


def _one_by_one(ready: NDArray[np.int32], shape: tuple[int, ...]) -> NDArray[np.int32]:
    """The days of each quantile for seeds of every mean and spread, as `complete` takes them."""
    return np.broadcast_to(ready, shape).reshape(-1, 1, 1)
