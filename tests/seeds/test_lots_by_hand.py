"""What a lot needs, worked out by hand: the rule, measured lots at every turn, results of trials, and what is done."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from chillplan.seeds.recipe import ColdResult, ColdTrials, Phase, Recipe, Response, Stated
from chillplan.seeds.requirement import (
    QUANTILES,
    RULE,
    TENTH,
    Lot,
    Seen,
    drawn,
    lot_needing,
    lot_of,
    lot_span,
    needs_of_lot,
    results_of,
    rising,
    share_ready,
    spread,
)


def told(temperature: tuple[float, float] | None = None, deep: bool = False, **trials: object) -> Phase:
    return Phase("cold", (60.0, 60.0), temperature, stated=Stated(deep, ColdTrials(**trials)))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("low", "high", "deep", "need", "days"),
    [
        (60.0, 60.0, False, 0.60, 36.3),
        (60.0, 60.0, True, 1.00, 36.3),
        (0.0, 120.0, False, -0.31, 36.3),
        (0.1, 119.9, False, 0.60, 36.3),
        (100.0, 140.0, False, 0.60 + 0.49 * math.log(2.0), 36.3 * 2.0**0.8),
        (0.5, 0.5, False, 0.60 - 0.49 * math.log(60.0), 36.3 / 60.0**0.8),  # no shorter than a day
    ],
)
def test_the_rule_by_hand(low: float, high: float, deep: bool, need: float, days: float) -> None:
    """0.60 spreads of 36.3 days at 60 days; longer advice asks for more, advice from 0 days for 0.91 spreads less."""
    assert tuple(RULE.lot(low, high, deep)) == pytest.approx((need, days))


@pytest.mark.parametrize(
    ("days", "untreated", "need", "deviation"),
    [
        ((10.0, 20.0, 30.0), None, 20.0 / (10.0 / TENTH), 10.0 / TENTH),
        ((20.0, 20.0, 20.5), None, 20.0, 1.0),
        ((0.0, 20.0, 30.0), None, 20.0 / (10.0 / TENTH), 10.0 / TENTH),
        ((0.0, 20.0, 20.5), None, 20.0, 1.0),
        ((0.0, 0.0, 30.0), None, 0.0, 30.0 / TENTH),
        ((0.0, 0.0, 30.0), 0.5, 0.0, 30.0 / TENTH),
        ((0.0, 0.0, 30.0), 0.95, -1.036433, 30.0 / (TENTH - 1.036433)),
        ((0.0, 0.0, 30.0), 0.001, 2.326348, 30.0 / (TENTH + 2.326348)),
        ((0.0, 0.0, 0.5), 0.5, 0.0, 1.0),
    ],
)
def test_a_measured_lot_by_hand(
    days: tuple[float, float, float], untreated: float | None, need: float, deviation: float
) -> None:
    """Half of it is ready at the middle figure; where that is none, the untreated share says where it lies."""
    lot = lot_of(told(lot_days=days, untreated_share=untreated))
    assert lot is not None
    assert tuple(lot) == pytest.approx((need, deviation), rel=1e-5)


def test_a_day_held_at_the_cold_edge_counts_in_part_and_never_less_than_a_fifth() -> None:
    """At 0 °C two thirds, at -1.9 °C one thirtieth and so a fifth; the trial's temperature goes before the phase's."""
    measured = {"lot_days": (50.0, 100.0, 150.0)}
    for degrees, share in ((0.0, 2.0 / 3.0), (-1.9, 0.2), (9.5, 0.5), (4.0, 1.0)):
        lot = lot_of(told(measured=degrees, **measured))
        assert lot is not None
        assert lot.need * lot.spread == pytest.approx(100.0 * share)
    assert lot_of(told((-1.0, 1.0))) == RULE.lot(40.0, 40.0, False)
    assert lot_of(told((-1.0, 1.0), measured=4.0)) == RULE.lot(60.0, 60.0, False)
    warm = replace(told((9.0, 10.0)), response=Response(0.0, 4.0, 10.0, 14.0))
    assert lot_of(warm) == RULE.lot(60.0, 60.0, False)


def test_results_are_shares_of_the_best_and_words_stand_for_shares() -> None:
    """'Worked' stands for 80 %, 'did not' for 10 %; beside shares all are taken of the best one."""
    said = told(worked=(ColdResult(90.0),), failed=(ColdResult(30.0),))
    assert results_of(said) == (Seen(30.0, 0.1), Seen(90.0, 0.8))
    shares = told(worked=(ColdResult(90.0, 0.0, 0.5), ColdResult(60.0, None, 0.25)), untreated_share=0.1)
    assert results_of(shares) == (Seen(0.0, 0.2), Seen(60.0, 0.5), Seen(60.0, 1.0))
    assert results_of(told(failed=(ColdResult(30.0, None, 0.05),))) == (Seen(30.0, 0.05),)
    assert results_of(told(failed=(ColdResult(30.0),), untreated_share=0.4)) == (Seen(0.0, 1.0), Seen(30.0, 1.0))
    assert rising([Seen(60.0, 0.3), Seen(30.0, 0.5), Seen(90.0, 1.2)]) == (
        Seen(30.0, 0.5),
        Seen(60.0, 0.5),
        Seen(90.0, 1.0),
    )


def test_one_length_that_worked_moves_the_lot_only_where_the_rule_has_less() -> None:
    usual = RULE.lot(60.0, 60.0, False)
    ready = float(usual.ready(60.0))
    assert lot_of(told(worked=(ColdResult(60.0, None, ready - 0.01),))) == usual
    assert lot_of(told(worked=(ColdResult(60.0, None, ready + 0.15),))) != usual
    assert lot_of(told(failed=(ColdResult(60.0, None, ready - 0.3),))) != usual
    assert drawn(RULE, usual, ()) == usual


def test_a_lot_far_from_the_rule_stays_within_four_deviations_of_species() -> None:
    """Ten thousand trials move its need by 4 times 0.8 spreads and its spread by exp(4 times 0.5), no further."""
    usual = RULE.lot(60.0, 60.0, False)

    def after(*results: Seen) -> Lot:
        return drawn(RULE, usual, results * 10_000)

    assert after(Seen(0.0, 1.0)).need == pytest.approx(usual.need - 3.2)
    assert after(Seen(500.0, 0.0)).need == pytest.approx(usual.need + 3.2)
    assert after(Seen(0.0, 0.5), Seen(1.0, 0.99)).spread == pytest.approx(usual.spread / math.exp(2.0))
    assert after(Seen(0.0, 0.5), Seen(1000.0, 0.6)).spread == pytest.approx(usual.spread * math.exp(2.0))


def test_the_spread_of_a_lot_by_hand() -> None:
    """From 60 to 90 days in a tenth and nine tenths: 75 in the middle; below nothing is nothing."""
    assert spread(60.0, 90.0, (0.1, 0.5, 0.9)) == pytest.approx([60.0, 75.0, 90.0])
    assert spread(-20.0, 40.0, (0.1, 0.5, 0.9)) == pytest.approx([0.0, 10.0, 40.0])
    assert pytest.approx([0.025, 0.975]) == QUANTILES[[0, -1]]
    assert Lot(2.0, 10.0).span == pytest.approx((20.0 - 10.0 * TENTH, 20.0 + 10.0 * TENTH))
    assert Lot(2.0, 10.0).ready(20.0) == pytest.approx(0.5)


def test_what_is_done_is_taken_off_and_a_slow_lot_needs_more_of_the_whole() -> None:
    begun = Phase("cold", (20.0, 50.0), done=40.0, asked=(60.0, 90.0), factor=1.5)
    assert lot_span(begun) == pytest.approx((90.0, 135.0))
    assert lot_span(Phase("cold", (20.0, 50.0))) == (20.0, 50.0)
    assert needs_of_lot(begun) == pytest.approx(np.maximum(spread(90.0, 135.0) - 40.0, 0.0))
    assert needs_of_lot(Phase("cold", (20.0, 50.0), done=40.0)).min() == 0.0
    known = replace(told(lot_days=(10.0, 20.0, 30.0)), done=15.0, factor=2.0)
    assert lot_span(known) == pytest.approx((20.0, 60.0))


def test_the_share_that_is_ready_by_hand() -> None:
    one = Phase("cold", (60.0, 90.0))
    assert [share_ready(one, days) for days in (60.0, 75.0, 90.0)] == pytest.approx([0.1, 0.5, 0.9])
    alike = Phase("cold", (60.0, 60.0))
    assert [share_ready(alike, days) for days in (59.95, 60.0, 60.05)] == pytest.approx([0.1, 0.5, 0.9])


def test_a_lot_that_wants_more_does_so_by_one_factor_in_each_cold_phase() -> None:
    """One deviation of lots that differ by 0.35: exp(sqrt(ln(1 + 0.35²))) = 1.405 times as much."""
    cold, warm = Phase("cold", (60.0, 90.0), variation=0.35, factor=2.0), Phase("warm", (30.0, 60.0))
    recipe = Recipe("both", (), (warm, cold))
    assert [phase.factor for phase in lot_needing(recipe, 1.0).phases] == pytest.approx([1.0, 2.0 * 1.404807], rel=1e-4)
    assert [phase.factor for phase in lot_needing(recipe, -1.0).phases] == pytest.approx(
        [1.0, 2.0 / 1.404807], rel=1e-4
    )
    assert lot_needing(recipe, 0.0) is recipe
    known = Recipe("known", (), (warm,))
    assert lot_needing(known, 1.0) is known
