"""How much seed, by hand: the chance that is reached, the life of a lot, packets; and every refusal word by word."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from scipy.stats import norm

from chillplan.errors import InputError
from chillplan.seeds.amounts import Lot, amount_for, seeds_for_target, seeds_per_cell, viability_after


def test_the_life_of_a_lot_by_hand() -> None:
    """It falls along a normal curve whose deviation is 5 years dry, 0.8 moist and 0.15 for what must never dry."""
    for storage, deviation in (("dry", 5.0), ("short-lived", 0.8), ("never dry", 0.15)):
        assert viability_after(0.5, deviation, storage) == pytest.approx(norm.cdf(-1.0))  # type: ignore[arg-type]
        assert viability_after(0.9, 2.0 * deviation, storage) == pytest.approx(  # type: ignore[arg-type]
            norm.cdf(norm.ppf(0.9) - 2.0)
        )
    assert (
        viability_after(1.0, 5.0, "dry")
        == viability_after(0.999, 5.0, "dry")
        == pytest.approx(norm.cdf(norm.ppf(0.999) - 1.0))
    )
    assert viability_after(1.0, 0.0, "dry") == 1.0
    assert Lot(viability=0.5, age=5.0).alive == pytest.approx(norm.cdf(-1.0))
    assert Lot(viability=0.5).alive == 0.5


def test_seeds_for_a_target_by_hand() -> None:
    """Of n seeds of which half come up none does in 1 of 2**n; of two winters, one without any, the chance halves."""
    assert [seeds_for_target(1, 0.5, chance) for chance in (0.5, 0.51, 0.75, 0.76, 0.875)] == [1, 2, 2, 3, 3]
    assert seeds_for_target(1, [0.0, 0.5], 0.25) == 1
    assert seeds_for_target(1, [0.0, 0.5], 0.26) == 2
    assert seeds_for_target(1, [0.0, 0.5], 0.51) is None
    assert seeds_for_target(2, 0.5, 0.6875) == 4
    assert seeds_for_target(2, 0.5, 0.688) == 5
    assert seeds_for_target(3, 1.0, 0.99) == 3
    assert seeds_for_target(1, 1e-8, 0.9) == pytest.approx(math.log(0.1) / math.log1p(-1e-8), rel=1e-6)
    assert seeds_for_target(1, 2.3e-9, 0.9) is None


def test_an_amount_by_hand() -> None:
    """Half alive, a fifth lost, nine tenths up: 36 of 100 seeds; 2 seeds fail in 0.64², 5 in 0.64⁵ = 0.107."""
    lot = Lot(purity=0.8, viability=0.5, seeds_per_gram=25.0)
    amount = amount_for(1, lot, 0.9, losses=0.2, chance=0.59, packet_grams=0.1)
    assert amount.share == pytest.approx(0.36)
    assert (amount.target, amount.chance, amount.seeds, amount.best_chance) == (1, 0.59, 2, 1.0)
    assert amount.reached == pytest.approx(1.0 - 0.64**2)
    assert amount.grams == pytest.approx(2 / 25.0 / 0.8)
    assert amount.packets == 1
    more = amount_for(1, lot, 0.9, losses=0.2, chance=0.89, packet_grams=0.1, packet_seeds=2)
    assert (more.seeds, more.packets) == (5, 3), "what a packet holds in seeds goes before what it weighs"
    never = amount_for(1, lot, [0.0, 0.9, 0.9], chance=0.7, packet_seeds=10)
    assert (never.seeds, never.grams, never.packets, never.reached) == (None, None, None, 0.0)
    assert never.best_chance == pytest.approx(2 / 3)
    assert never.share == pytest.approx(0.3)
    assert amount_for(1, Lot(), 0.9).chance == 0.9
    assert amount_for(1, Lot(), 0.9, packet_grams=1.0).packets is None
    assert amount_for(4, Lot(seeds_per_gram=10.0), 1.0, packet_grams=0.1).packets == 4
    assert amount_for(4, Lot(seeds_per_gram=10.0), 1.0, packet_grams=0.39).packets == 2


def test_seeds_in_a_cell_by_hand() -> None:
    """Two of a half give three in four, and no third is wanted for that."""
    assert [seeds_per_cell(0.5, chance) for chance in (0.01, 0.5, 0.51, 0.75, 0.76)] == [1, 1, 2, 2, 3]
    assert seeds_per_cell(1.0, 0.99) == 1


SHARE = "the share up is outside 0 to 1: give a share, 0.6 for 60 %"
PACKET = "is not above 0: give what one packet holds"


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: Lot(purity=0.0), "purity 0 is outside 0 to 1: give a share, 0.85 for 85 %"),
        (lambda: Lot(viability=1.01), "viability 1.01 is outside 0 to 1: give a share, 0.85 for 85 %"),
        (
            lambda: Lot(seeds_per_gram=0.0009),
            "seeds per gram 0.0009 is outside 0.001 to 2000000: count a weighed sample",
        ),
        (
            lambda: Lot(seeds_per_gram=2_100_000.0),
            "seeds per gram 2100000 is outside 0.001 to 2000000: count a weighed sample",
        ),
        (
            lambda: Lot(age=200.1),
            "age 200.1 is outside 0 to 200 years: give the years since the test or since collecting",
        ),
        (
            lambda: Lot(purity=2.0, age=-1.0),
            "purity 2 is outside 0 to 1: give a share, 0.85 for 85 %\n"
            "age -1 is outside 0 to 200 years: give the years since the test or since collecting",
        ),
        (lambda: seeds_for_target(0, 0.5, 0.9), "target 0 is below 1: give the number of plants wanted"),
        (lambda: seeds_for_target(1, 1.01, 0.9), SHARE),
        (lambda: seeds_for_target(1, [0.5, -0.01], 0.9), SHARE),
        (lambda: seeds_for_target(1, [], 0.9), SHARE),
        (
            lambda: seeds_for_target(1, 0.5, 0.0),
            "chance 0 is outside 0 to 1: give 0.9 for nine times in ten; certainty has no price",
        ),
        (
            lambda: seeds_per_cell(0.5, 1.0),
            "chance 1 is outside 0 to 1: give 0.9 for nine times in ten; certainty has no price",
        ),
        (lambda: seeds_per_cell(0.0, 0.9), "share 0 is outside 0 to 1: nothing can be expected of this seed"),
        (lambda: seeds_per_cell(1.01, 0.9), "share 1.01 is outside 0 to 1: nothing can be expected of this seed"),
        (
            lambda: amount_for(1, Lot(), 0.5, losses=1.0),
            "losses 1 is outside 0 to 1: give the share of seedlings lost, 0.2 for 20 %",
        ),
        (
            lambda: amount_for(1, Lot(), 0.5, losses=-0.1),
            "losses -0.1 is outside 0 to 1: give the share of seedlings lost, 0.2 for 20 %",
        ),
        (
            lambda: amount_for(1, Lot(), 0.5, packet_grams=0.0, packet_seeds=-1),
            f"packet of 0 grams {PACKET}\npacket of -1 seeds {PACKET}",
        ),
        (lambda: amount_for(1, Lot(), 0.5, packet_grams=math.inf), f"packet of inf grams {PACKET}"),
    ],
)
def test_a_refusal_says_what_to_give(call: Callable[[], object], said: str) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert "\n".join(caught.value.problems) == said


def test_values_at_the_ends_are_taken() -> None:
    assert Lot(purity=1.0, viability=1.0, seeds_per_gram=0.001, age=200.0).alive < 1e-6
    assert Lot(seeds_per_gram=2_000_000.0, age=0.0).alive == 1.0
    assert amount_for(1, Lot(), [0.0, 1.0], losses=0.0, chance=0.5).seeds == 1
