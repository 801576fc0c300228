"""What a stated chance counts over: the rule against moments and random draws, and what it does to a chance."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.advice.rules import possibilities
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seeds.catalogue import find_species, parse_catalogue
from chillplan.seeds.recipe import LOTS_FROM_MEMORY, LOTS_KNOWN, LOTS_READ, Germination, Phase, Recipe
from chillplan.seeds.requirement import lot_needing, lot_span, needs_of_lot

ROW = {"name": "Testus unus", "phases": "cold moist, 60 to 90 days, 1 to 5 °C"}
READ = {"read": "cold_days_min; cold_days_max", "source": "made for the test"}


def variation(**cells: str) -> float:
    return parse_catalogue([{**ROW, **cells}])[0].recipe.phases[-1].variation


EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "stated_chances" / "measure.py"


@given(st.floats(0.1, 2.0))
def test_the_cases_have_the_moments_of_two_normal_errors(deviation: float) -> None:
    offset, lot, weight = (np.array(column) for column in zip(*possibilities(deviation), strict=True))
    assert weight.sum() == pytest.approx(1.0)
    assert weight.min() > 0.0
    for values, expected in ((offset, deviation), (lot, 1.0)):
        assert weight @ values == pytest.approx(0.0, abs=1e-12)
        assert weight @ values**2 == pytest.approx(expected**2)
        assert weight @ values**4 == pytest.approx(3.0 * expected**4)
    assert weight @ (offset * lot) == pytest.approx(0.0)


def test_random_lots_give_the_mean_share_ready_of_the_cases() -> None:
    recipe = Recipe("", (), (Phase("cold", (40.0, 90.0), variation=0.35),))

    def ready(lot: float) -> float:
        return float((needs_of_lot(lot_needing(recipe, lot).phases[0]) <= 60.0).mean())

    drawn = np.random.default_rng(1).normal(size=4000)
    cases = possibilities(0.6)
    outer = 2.0 * sum(one.weight for one in cases if one.offset)  # the ground leaves the lot as it is
    usual = 1.0 - sum(one.weight for one in cases if one.lot)
    expected = float(np.mean([ready(lot) for lot in drawn]))
    found = usual * ready(0.0) + sum(one.weight * ready(one.lot) for one in cases if one.lot)
    assert outer == pytest.approx(2.0 / 3.0)
    assert found == pytest.approx(expected, abs=0.04)


def test_lots_differ_as_much_as_is_known_of_them() -> None:
    # 0.21 between lots of one species in published trials (given; 0.2 here), more from memory (our choice).
    assert variation(origin="built in") == LOTS_FROM_MEMORY
    assert variation(origin="built in", **READ) == LOTS_READ
    assert variation(origin="mine.csv") == LOTS_READ
    own = {"lot_days_10": "20", "lot_days_50": "40", "lot_days_90": "60", "trials_source": "my own trial"}
    assert variation(origin="mine.csv", **own) == LOTS_KNOWN
    assert {find_species(built_in_catalogue(), "Asclepias syriaca").recipe.phases[-1].variation} <= {
        LOTS_READ,
        LOTS_FROM_MEMORY,
    }


@given(st.floats(-2.0, 2.0), st.floats(0.05, 0.5))
def test_a_lot_needs_more_by_one_factor_and_a_warm_phase_is_left_alone(lot: float, between: float) -> None:
    cold, warm = Phase("cold", (40.0, 90.0), variation=between), Phase("warm", (60.0, 90.0))
    found = lot_needing(Recipe("", (), (warm, cold)), lot)
    assert found.phases[0] == warm
    factor = lot_span(found.phases[1])[1] / 90.0
    assert np.log(factor) == pytest.approx(lot * np.sqrt(np.log1p(between**2)), abs=1e-9)
    assert needs_of_lot(found.phases[1]) == pytest.approx(factor * needs_of_lot(cold))
    known = Recipe("", (), (warm, replace(cold, variation=0.0)))
    assert lot_needing(known, lot) is known


def test_the_table_of_stated_chances_counts_a_lot_ready_where_its_cold_is_had() -> None:
    spec = importlib.util.spec_from_file_location("stated_chances", EXAMPLE)
    assert spec is not None and spec.loader is not None
    measure = importlib.util.module_from_spec(spec)
    sys.modules["stated_chances"] = measure
    spec.loader.exec_module(measure)
    days = np.arange(273)
    winters = np.stack([np.where(days < 180, cold, 15.0) for cold in (4.0, 12.0)], axis=1)  # all counts; nothing does
    recipe = Recipe("", phases=(Phase("cold", (60.0, 90.0)),))
    found = measure.good(measure.winters_of(winters), recipe, Germination(5.0, (100.0, 250.0)))
    assert found.tolist() == [[True, False], [False, False], [False, False]]  # of the last two 58 and 27 days are left
