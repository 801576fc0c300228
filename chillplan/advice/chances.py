"""What a chance counts over besides the winters: the error of the seed zone, and how lots of a species differ."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from chillplan.physics.model_error import perturbations
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["Member", "Possible", "members_of", "possibilities", "sides_of"]

POINTS = 3
"""Of the rule that stands for a normal error."""


class Possible(NamedTuple):
    """One case of what is not known.

    Attributes
    ----------
    offset : float
        The seed zone is warmer than modelled by so much. [°C]
    lot : float
        The seed needs more than a usual lot by so many standard deviations between lots. [-]
    weight : float
        [-]
    """

    offset: float
    lot: float
    weight: float


class Member(NamedTuple):
    """Winters of one case, the lot in them, and the case's weight."""

    weight: float
    winters: TwoWinters
    lot: float


def possibilities(deviation: float) -> tuple[Possible, ...]:
    """Cases that together stand for two normal errors that have nothing to do with each other.

    The usual case, and either error at the outer points of its own rule while the other is nothing. Against a fine grid
    of both errors the chances of 81 species of the demo are off by 0.014 (root of the mean square), by 0.04 at most.

    Parameters
    ----------
    deviation : float
        Standard deviation of the seed zone's error. [°C]

    References
    ----------
    Smolyak (1963), the sum rule of second level, on Gauss-Hermite quadrature of three points.
    """
    offsets, weights = (values.tolist() for values in perturbations(deviation, POINTS))
    lots = perturbations(1.0, POINTS)[0].tolist()
    middle = POINTS // 2
    ground = [Possible(offsets[at], 0.0, weights[at]) for at in range(POINTS) if at != middle]
    seed = [Possible(0.0, lots[at], weights[at]) for at in range(POINTS) if at != middle]
    return (Possible(0.0, 0.0, 2.0 * weights[middle] - 1.0), *ground, *seed)


def members_of(winters: TwoWinters, cases: Sequence[Possible]) -> list[Member]:
    """Winters of every case."""
    return [Member(one.weight, _moved(winters, one.offset), one.lot) for one in cases]


def sides_of(winters: TwoWinters, deviation: float) -> list[Member]:
    """The seed zone, then the lot, at one standard deviation of its own error to either side."""
    ends = (-1.0, 1.0)
    ground = [Member(0.0, _moved(winters, end * deviation), 0.0) for end in ends]
    return [*ground, *(Member(0.0, winters, end) for end in ends)]


def _moved(winters: TwoWinters, offset: float) -> TwoWinters:
    return winters.shifted(offset) if offset else winters
