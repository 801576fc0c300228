"""What all species of a group of places share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from chillplan.region.chance import Shifted
from chillplan.region.ground import GroundCounts
from chillplan.region.places import Ask

__all__ = ["Group"]


@dataclass(frozen=True)
class Group:
    """A group of places, asked for one species.

    Attributes
    ----------
    ground : GroundCounts
    following : numpy.ndarray of int, shape (season,)
        Index of the season after each, -1 where it is not usable.
    deadline, lift : numpy.ndarray of int32, shape (place,)
        Last day on which a seedling is in time; last day to lift seed. [day]
    killing : numpy.ndarray of int32, shape (season, place)
        Last killing frost, -1 where there is none. [day]
    ask : Ask
    cases : tuple of Shifted
    """

    ground: GroundCounts
    following: NDArray[np.int64]
    deadline: NDArray[np.int32]
    lift: NDArray[np.int32]
    killing: NDArray[np.int32]
    ask: Ask
    cases: tuple[Shifted, ...]
