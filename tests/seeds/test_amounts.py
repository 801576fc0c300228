"""Seed counts against worked examples of the trade and against the binomial law."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.seeds.amounts import (
    Lot,
    amount_for,
    pure_live_seed,
    seeds_for_target,
    seeds_per_cell,
    viability_after,
)


def test_pure_live_seed_of_a_highway_department() -> None:
    # Texas Department of Transportation, pure live seed page: purity 85 %, germination 75 %, printed 0.64 and 1.56 lb.
    assert pure_live_seed(0.85, 0.75) == pytest.approx(0.64, abs=0.005)
    assert 1.0 / pure_live_seed(0.85, 0.75) == pytest.approx(1.56, abs=0.01)


def test_pure_live_seed_of_a_job_sheet() -> None:
    # Soil Conservation Service job sheet, table 4 (npwrc.usgs.gov): purity 90 %, germination 80 % -> 1.4 lb.
    assert 1.0 / pure_live_seed(0.90, 0.80) == pytest.approx(1.4, abs=0.05)


def test_pure_live_seed_of_a_range_site() -> None:
    # rangelandsgateway.org: 0.91 x 0.96 = 87.36 %.
    assert pure_live_seed(0.91, 0.96) == pytest.approx(0.8736, abs=5e-5)


@pytest.mark.parametrize(("share", "seeds"), [(0.60, 4), (0.85, 2), (1.0, 1), (0.95, 1)])
def test_seeds_per_cell_by_arithmetic(share: float, seeds: int) -> None:
    # ln(0.05) / ln(0.40) = 3.27 and ln(0.05) / ln(0.15) = 1.58, rounded up; common practice, no source.
    assert seeds_per_cell(share, 0.95) == seeds


def test_an_even_chance_of_one_head_needs_one_coin() -> None:
    assert seeds_for_target(1, 0.5, 0.5) == 1
    assert seeds_for_target(1, 0.5, 0.75) == 2


@given(st.integers(1, 60), st.floats(0.05, 1.0), st.floats(0.05, 0.99))
def test_the_count_is_the_fewest_that_reaches_the_chance(target: int, share: float, chance: float) -> None:
    seeds = seeds_for_target(target, share, chance)
    assert seeds is not None

    def reached(number: int) -> float:
        """Upper tail summed term by term, independently of the library's survival function."""
        terms, term = 0.0, (1.0 - share) ** number
        for successes in range(target):
            terms += term
            if successes < number and share < 1.0:
                term *= (number - successes) / (successes + 1) * share / (1.0 - share)
            else:
                term = 0.0
        return 1.0 - terms if number >= target else 0.0

    assert reached(seeds) >= chance - 1e-9
    assert seeds == target or reached(seeds - 1) < chance + 1e-9


def test_against_drawing_seeds() -> None:
    generator = np.random.default_rng(7)
    shares = np.array([0.1, 0.3, 0.5, 0.7])
    seeds = seeds_for_target(25, shares, 0.7)
    plants = generator.binomial(seeds, generator.choice(shares, 200_000))
    fewer = generator.binomial(seeds - 5, generator.choice(shares, 200_000))
    assert (plants >= 25).mean() >= 0.7 - 0.004
    assert (fewer >= 25).mean() < 0.7


def test_winters_in_which_nothing_comes_up_set_a_ceiling() -> None:
    amount = amount_for(10, Lot(), [0.0, 0.0, 0.5, 0.5], chance=0.8)
    assert amount.seeds is None
    assert amount.best_chance == 0.5


def test_grams_count_impurity_and_packets_are_whole() -> None:
    lot = Lot(purity=0.5, viability=1.0, seeds_per_gram=100)
    amount = amount_for(100, lot, 1.0, chance=0.9, packet_grams=0.75)
    assert (amount.seeds, amount.grams, amount.packets) == (100, 2.0, 3)
    assert amount_for(100, lot, 1.0, packet_seeds=30).packets == 4
    assert amount_for(100, Lot(), 1.0).grams is None


def test_losses_and_age_raise_the_count() -> None:
    fresh = amount_for(20, Lot(viability=0.9), 0.5).seeds
    lossy = amount_for(20, Lot(viability=0.9), 0.5, losses=0.3).seeds
    old = amount_for(20, Lot(viability=0.9, age=6.0), 0.5).seeds
    assert fresh < lossy
    assert fresh < old


@given(st.floats(0.05, 0.99), st.floats(0.0, 30.0), st.sampled_from(["dry", "short-lived", "never dry"]))
def test_viability_only_falls(viability: float, years: float, storage: str) -> None:
    now, later = viability_after(viability, years, storage), viability_after(viability, years + 1.0, storage)  # type: ignore[arg-type]
    assert 0.0 <= later <= now <= viability + 1e-9


def test_seed_that_must_not_dry_is_gone_in_a_year() -> None:
    assert viability_after(0.95, 1.0, "never dry") < 0.01
    assert viability_after(0.95, 1.0, "dry") > 0.9


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Lot(purity=85), "purity 85 is outside 0 to 1: give a share, 0.85 for 85 %"),
        (lambda: Lot(viability=float("nan")), "viability nan is outside 0 to 1"),
        (lambda: Lot(seeds_per_gram=-1), "seeds per gram -1 is outside"),
        (lambda: Lot(age=-1), "age -1 is outside 0 to 200 years"),
        (lambda: amount_for(0, Lot(), 0.5), "target 0 is below 1"),
        (lambda: amount_for(5, Lot(), 1.5), "the share up is outside 0 to 1"),
        (lambda: amount_for(5, Lot(), []), "the share up is outside 0 to 1"),
        (lambda: amount_for(5, Lot(), 0.5, chance=1.0), "chance 1 is outside 0 to 1"),
        (lambda: amount_for(5, Lot(), 0.5, losses=1.0), "losses 1 is outside 0 to 1"),
        (lambda: amount_for(5, Lot(seeds_per_gram=1), 0.5, packet_grams=0.0), "packet of 0 grams is not above 0"),
        (lambda: seeds_per_cell(0.0, 0.9), "nothing can be expected of this seed"),
    ],
)
def test_impossible_values_are_refused(call, message: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError) as caught:
        call()
    assert message in str(caught.value)
