"""How much seed to order and sow: pure live seed, the chance of reaching a target, grams and packets."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri
from scipy.stats import binom

from chillplan.errors import InputError, Problems
from chillplan.seeds.recipe import Storage

__all__ = [
    "Amount",
    "Lot",
    "amount_for",
    "pure_live_seed",
    "seeds_for_target",
    "seeds_per_cell",
    "viability_after",
]

FloatArray = NDArray[np.floating]

MOST_SEEDS = 1_000_000_000
"""More seeds than this are not sown by a grower: the answer is that the target is out of reach."""

SPREAD_OF_LIFE = {"dry": 5.0, "short-lived": 0.8, "never dry": 0.15}
"""Years over which the life of single seeds spreads by one standard deviation, for each kind of storage done well
(dry and cool; moist and cool for seed that must never dry): assumptions of ours, no source. [year]"""


@dataclass(frozen=True)
class Lot:
    """Seed of one species from one source and year."""

    purity: float = 1.0  # share of the weight that is seed of the species [-]
    viability: float = 1.0  # share of the seeds that are alive, as tested (germination plus firm dormant seed) [-]
    seeds_per_gram: float | None = None  # clean seeds; None where unknown, so that no weight can be given [1/g]
    age: float = 0.0  # years since the test or since collecting [year]
    storage: Storage = "dry"  # one of 'dry', 'short-lived', 'never dry'

    def __post_init__(self) -> None:
        problems = Problems()
        for name, value in (("purity", self.purity), ("viability", self.viability)):
            if not 0.0 < value <= 1.0:
                problems.add(f"{name} {value:g} is outside 0 to 1: give a share, 0.85 for 85 %")
        if self.seeds_per_gram is not None and not 0.001 <= self.seeds_per_gram <= 2_000_000.0:
            given = f"{self.seeds_per_gram:.9g}"
            problems.add(f"seeds per gram {given} is outside 0.001 to 2000000: count a weighed sample")
        if not 0.0 <= self.age <= 200.0:
            problems.add(
                f"age {self.age:g} is outside 0 to 200 years: give the years since the test or since collecting"
            )
        problems.raise_if_any()

    @property
    def alive(self) -> float:
        """Share of the seeds alive now. [-]"""
        return viability_after(self.viability, self.age, self.storage)


@dataclass(frozen=True)
class Amount:
    """What to order and sow for a target."""

    target: int  # plants wanted
    chance: float  # chance of reaching the target that was asked for [-]
    reached: float  # chance that the seeds give [-]
    share: float  # mean share of single seeds that become plants [-]
    seeds: int | None  # seeds to sow; None where no number of seeds gives the chance
    grams: float | None  # of the lot as bought, impurities included; None where the seeds per gram are unknown [g]
    packets: int | None  # None where no packet was given
    best_chance: float  # chance that no amount of seed can better, since in some winters nothing comes up [-]


def pure_live_seed(purity: float, germination: float) -> float:
    """Share of the weight that is living seed of the species: purity times germination. [-]"""
    return purity * germination


def seeds_per_cell(share: float, chance: float) -> int:
    """Seeds to sow in one cell or station so that at least one plant comes of it with a given chance.

    n = ln(1 - chance) / ln(1 - share), rounded up.

    Raises
    ------
    InputError
        If the share is not above 0 and at most 1, or the chance not between 0 and 1.
    """
    _check_chance(chance)
    if not 0.0 < share <= 1.0:
        raise InputError(f"share {share:g} is outside 0 to 1: nothing can be expected of this seed")
    if share >= 1.0:
        return 1
    return max(1, math.ceil(math.log1p(-chance) / math.log1p(-share) - 1e-9))


def viability_after(viability: float, years: float, storage: Storage) -> float:
    """Share of seeds still alive after storage.

    Parameters
    ----------
    viability : float
        At the start; 1 stands for 0.999, since no lot is tested whole. [-]
    years : float
        [year]
    storage : {'dry', 'short-lived', 'never dry'}
        Sets the spread of the lives, an assumption.

    Returns
    -------
    float
        Falls along a normal curve: v = Phi(K - p / sigma). [-]

    References
    ----------
    Ellis and Roberts (1980), Annals of Botany 45:13-30, for the form; the spreads are ours.
    """
    if years == 0.0:
        return viability
    start = float(ndtri(min(viability, 0.999)))
    return float(ndtr(start - years / SPREAD_OF_LIFE[storage]))


def seeds_for_target(target: int, shares: ArrayLike, chance: float) -> int | None:
    """Fewest seeds that give at least `target` plants with a given chance.

    Parameters
    ----------
    target : int
        Plants wanted.
    shares : array_like, shape (winter,) or ()
        Share of single seeds that become plants, in each winter that may come; all winters are equally likely and
        seeds of one winter succeed independently of each other. [-]
    chance : float
        [-]

    Returns
    -------
    int or None
        None where no number of seeds gives the chance: in too many winters nothing comes up.

    Raises
    ------
    InputError
        If the target is below 1, or the chance or a share is not between 0 and 1.
    """
    values = _checked_shares(shares)
    _check_chance(chance)
    if target < 1:
        raise InputError(f"target {target} is below 1: give the number of plants wanted")
    most = target
    while _reached(most, target, values) < chance:
        most *= 2
        if most > MOST_SEEDS:
            return None
    least = most // 2
    while least < most:
        middle = (least + most) // 2
        if _reached(middle, target, values) >= chance:
            most = middle
        else:
            least = middle + 1
    return max(most, target)


def amount_for(
    target: int,
    lot: Lot,
    share_up: ArrayLike,
    losses: float = 0.0,
    chance: float = 0.9,
    packet_grams: float | None = None,
    packet_seeds: int | None = None,
) -> Amount:
    """Seeds, grams and packets for a number of plants.

    Parameters
    ----------
    target : int
    lot : Lot
    share_up : array_like, shape (winter,) or ()
        Share of viable seed that comes up alive, by winter. [-]
    losses : float
        Share of the seedlings lost afterwards. [-]
    chance : float
        [-]
    packet_grams, packet_seeds : float or int, optional
        What a packet holds; grams are used only where seeds are not given. [g]

    Raises
    ------
    InputError
        With every value that does not fit.
    """
    if not 0.0 <= losses < 1.0:
        raise InputError(f"losses {losses:g} is outside 0 to 1: give the share of seedlings lost, 0.2 for 20 %")
    shares = _checked_shares(share_up) * lot.alive * (1.0 - losses)
    seeds = seeds_for_target(target, shares, chance)
    weight = seeds is not None and lot.seeds_per_gram is not None
    grams = seeds / (lot.seeds_per_gram * lot.purity) if weight and seeds and lot.seeds_per_gram else None
    return Amount(
        target=target,
        chance=chance,
        reached=0.0 if seeds is None else _reached(seeds, target, shares),
        share=float(shares.mean()),
        seeds=seeds,
        grams=grams,
        packets=_packets(seeds, grams, packet_grams, packet_seeds),
        best_chance=float((shares > 0.0).mean()),
    )


def _packets(
    seeds: int | None, grams: float | None, packet_grams: float | None, packet_seeds: int | None
) -> int | None:
    problems = Problems()
    for name, value in (("grams", packet_grams), ("seeds", packet_seeds)):
        if value is not None and not 0 < value < math.inf:
            problems.add(f"packet of {value:g} {name} is not above 0: give what one packet holds")
    problems.raise_if_any()
    if seeds is not None and packet_seeds is not None:
        return math.ceil(seeds / packet_seeds)
    if grams is not None and packet_grams is not None:
        return math.ceil(grams / packet_grams - 1e-9)
    return None


def _reached(seeds: int, target: int, shares: FloatArray) -> float:
    """Chance of at least `target` plants of `seeds`, over all winters."""
    return float(np.mean(binom.sf(target - 1, seeds, shares)))


def _checked_shares(shares: ArrayLike) -> FloatArray:
    values = np.atleast_1d(np.asarray(shares, dtype=float))
    if values.size == 0 or not ((values >= 0.0) & (values <= 1.0)).all():
        raise InputError("the share up is outside 0 to 1: give a share, 0.6 for 60 %")
    return values


def _check_chance(chance: float) -> None:
    if not 0.0 < chance < 1.0:
        raise InputError(f"chance {chance:g} is outside 0 to 1: give 0.9 for nine times in ten; certainty has no price")
