"""What the seeds of a lot need: the rule, trials of the species, measured lots, and how they were judged."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import ndtr

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seasons.cut import DAYS
from chillplan.seeds.catalogue import find_species, merge_rows, parse_catalogue
from chillplan.seeds.recipe import Germination, Phase
from chillplan.seeds.requirement import (
    NOISE,
    QUANTILES,
    RULE,
    Seen,
    drawn,
    lot_of,
    lot_span,
    needs_of_lot,
    results_of,
    spread,
)
from chillplan.seeds.simulate import FATES, fates_of
from chillplan.seeds.two_winters import TwoWinters

FloatArray = NDArray[np.floating]
ROW = {"name": "Testus unus", "phases": "cold moist, 60 to 90 days, 1 to 5 °C"}


def phase(**cells: str) -> Phase:
    return parse_catalogue([{**ROW, "trials_source": "made for the test", **cells}])[0].recipe.phases[-1]


def half(one: Phase) -> float:
    lot = lot_of(one)
    assert lot is not None
    return lot.need * lot.spread


def test_advised_lengths_are_more_than_most_of_the_seed_needs() -> None:
    lot = lot_of(phase())
    assert lot is not None
    assert 0.2 < float(lot.ready(0.0)) < 0.4
    assert float(lot.ready(60.0)) > 0.7
    assert float(lot.ready(90.0)) > 0.9


def test_days_outside_a_table_are_the_lot_itself() -> None:
    own = Phase("cold", (30.0, 60.0))
    assert lot_of(own) is None
    assert needs_of_lot(own) == pytest.approx(spread(30.0, 60.0))


def test_a_measured_lot_is_taken_as_it_is() -> None:
    # Penstemon strictus at 1 °C, Meyer and Kitchen 1994, Am. Midl. Nat. 132: 83, 130 and 176 days.
    strictus = find_species(built_in_catalogue(), "Penstemon strictus").recipe.phases[-1]
    assert lot_span(strictus) == pytest.approx((83.0, 176.0), abs=1.0)
    assert half(strictus) == pytest.approx(130.0, abs=1.0)


def test_an_untreated_share_of_a_measured_lot_is_kept() -> None:
    # Veronicastrum virginicum, Ahmad and Hitchmough 2007, Seed Sci. Technol. 35: 57 % without cold, nine tenths at 72.
    lot = lot_of(find_species(built_in_catalogue(), "Veronicastrum virginicum").recipe.phases[-1])
    assert lot is not None
    assert float(lot.ready(0.0)) == pytest.approx(0.57, abs=0.01)
    assert float(lot.ready(72.0)) == pytest.approx(0.9, abs=0.01)


def test_days_in_a_trial_count_by_the_response_at_its_temperature() -> None:
    # By the default response a day at 0 °C counts two thirds, so 150 such days are 100.
    days = {"lot_days_10": "90", "lot_days_50": "150", "lot_days_90": "210"}
    assert half(phase(**days, cold_measured_c="0")) == pytest.approx(100.0, abs=0.5)
    assert half(phase(**days, cold_measured_c="4")) == pytest.approx(150.0, abs=0.5)
    assert results_of(phase(cold_worked="150 days at 0 °C: 83 %", untreated_share="0.1"))[1].days == pytest.approx(
        100.0
    )


def test_results_draw_the_lot_from_the_rule_and_many_outweigh_it() -> None:
    rule = RULE.lot(60.0, 90.0, deep=False)
    long = (Seen(0.0, 0.0), Seen(60.0, 0.1), Seen(90.0, 0.5), Seen(120.0, 0.9))
    halves = [one.need * one.spread for one in (rule, drawn(rule=RULE, lot=rule, results=long[2:3]),
                                                drawn(rule=RULE, lot=rule, results=long))]  # fmt: skip
    assert halves[0] < halves[1] < halves[2]
    assert halves[2] == pytest.approx(90.0, abs=12.0)


def test_advised_lengths_count_by_the_temperature_they_were_measured_at() -> None:
    # 60 to 90 days at 0 °C, where a day counts two thirds, are 40 to 60 days that count in full.
    cold = lot_of(phase(cold_measured_c="0"))
    assert cold == RULE.lot(40.0, 60.0, deep=False)


def test_the_drawn_lot_is_the_most_likely_one() -> None:
    # Reference: scipy.optimize.minimize on the same three normal errors, without a grid.
    rule, results = RULE.lot(60.0, 90.0, deep=False), (Seen(20.0, 0.05), Seen(60.0, 0.4), Seen(120.0, 0.6))

    def cost(at: FloatArray) -> float:
        need, log = at
        misses = [float(ndtr(one.days / (rule.spread * np.exp(log)) - need)) - one.share for one in results]
        from_rule = ((need - rule.need) / RULE.need_error) ** 2 + (log / RULE.spread_error) ** 2
        return float(from_rule + sum((miss / NOISE) ** 2 for miss in misses))

    best = minimize(cost, [rule.need, 0.0], method="Nelder-Mead").x
    found = drawn(RULE, rule, results)
    assert found.need == pytest.approx(best[0], abs=0.1 * RULE.need_error)
    assert found.spread == pytest.approx(rule.spread * np.exp(best[1]), rel=0.1 * RULE.spread_error)
    assert found.spread > 1.1 * rule.spread


def test_trials_of_cold_alone_say_nothing_of_seed_that_had_warmth_first() -> None:
    ways = "cold moist, 60 to 90 days or warm moist, 60 days; cold moist, 60 to 90 days"
    trials = {"cold_failed": "90 days at 4 °C: 0 %", "untreated_share": "0", "trials_source": "made for the test"}
    failed, plain = (parse_catalogue([{**ROW, "phases": ways, **cells}])[0].recipes for cells in (trials, {}))
    assert lot_of(failed[0].phases[-1]) != lot_of(plain[0].phases[-1])
    assert lot_of(failed[1].phases[-1]) == lot_of(plain[1].phases[-1])


def test_seed_that_needs_no_cold_sprouts_in_autumn_when_sown_early_and_warm() -> None:
    one = phase()
    lot = lot_of(one)
    assert lot is not None
    day = np.arange(2 * DAYS)[:, None]
    temperature = 10.0 + 12.0 * np.cos(2.0 * np.pi * (day + 20) / DAYS)  # 1 August is warm, 1 February cold
    winters = TwoWinters(
        temperature=temperature,
        moist=np.ones(temperature.shape, dtype=bool),
        minimum=temperature - 6.0,
        deadline=DAYS - 1,
    )
    starts = np.array([10, 120], dtype=np.int32)
    autumn = fates_of(winters, [one], Germination(5.0, (100.0, 250.0)), starts, -2.0).shares[
        FATES.index("sprouted in autumn"), :, 0
    ]
    assert autumn[0] == pytest.approx(float(lot.ready(0.0)), abs=0.5 / QUANTILES.size)
    assert autumn[1] == 0.0


def test_deep_dormancy_leaves_less_untreated_seed() -> None:
    shallow, deep = lot_of(phase()), lot_of(phase(dormancy="physiological (hard stone)"))
    assert shallow is not None
    assert deep is not None
    assert float(deep.ready(0.0)) < float(shallow.ready(0.0))
    assert lot_of(phase(dormancy="physiological (non-deep)")) == shallow


def test_a_users_own_phases_are_not_judged_by_our_trials() -> None:
    ours = [{**ROW, "lot_days_10": "83", "lot_days_50": "130", "lot_days_90": "176", "trials_source": "a trial"}]
    (merged,) = merge_rows(ours, [{"name": "Testus unus", "phases": "cold moist, 30 days"}])
    assert not merged["lot_days_50"]
    (kept,) = merge_rows(ours, [{"name": "Testus unus", "light": "needed"}])
    assert kept["lot_days_50"] == "130"


@given(
    st.floats(0.0, 200.0), st.floats(0.0, 200.0), st.booleans(), st.lists(st.tuples(st.floats(0, 300), st.floats(0, 1)))
)
def test_needs_rise_over_the_lot_and_are_never_below_nothing(
    first: float, second: float, deep: bool, results: list[tuple[float, float]]
) -> None:
    lot = drawn(RULE, RULE.lot(min(first, second), max(first, second), deep), tuple(Seen(*one) for one in results))
    needs = spread(*lot.span)
    assert (needs >= 0.0).all()
    assert (np.diff(needs) >= 0.0).all()
    assert np.isfinite(needs).all()


def test_the_rule_is_the_one_that_the_example_fits_and_judges() -> None:
    """Figures of the page, on species left out: no worse than it says."""
    path = Path(__file__).parents[2] / "examples/requirements/fit.py"
    spec = importlib.util.spec_from_file_location("requirements_fit", path)
    assert spec is not None
    assert spec.loader is not None
    fit = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = fit  # dataclasses look their module up
    spec.loader.exec_module(fit)
    found = fit.fitted(fit.papers())
    for name in fit.FITTED:
        assert getattr(found, name) == pytest.approx(getattr(RULE, name), abs=0.02, rel=0.01)


def test_the_one_length_that_was_tried_and_worked_is_the_least_that_was_ready() -> None:
    little, much = phase(cold_worked="60 days at 5 °C: 38 %"), phase(cold_worked="60 days at 5 °C: 91 %")
    assert results_of(little) == (Seen(60.0, 0.38),)
    assert lot_of(little) == lot_of(phase())  # the rule has more ready by then
    assert half(much) < half(phase())
    beside = phase(cold_worked="60 days: 38 %; 90 days: 76 %")
    assert results_of(beside) == (Seen(60.0, 0.5), Seen(90.0, 1.0))
    assert results_of(phase(cold_failed="60 days at 5 °C: 4 %"))[0].share == pytest.approx(0.04)


def test_no_row_says_its_untreated_share_twice() -> None:
    for species in built_in_catalogue():
        if species.trials.untreated_share is not None:
            assert all(one.days > 0.0 for one in (*species.trials.worked, *species.trials.failed)), species.name
