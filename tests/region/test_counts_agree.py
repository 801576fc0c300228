"""Counts of one date a place, walked through its days, against those of every date, found without walking."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chillplan.advice.rules import STARTS
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.physics.lanes import LANES
from chillplan.region.counts import PLANTING, good_on
from chillplan.region.ground import STEP
from chillplan.region.places import needs_of
from chillplan.region.seed_kernel import Ends, Fates, fates_block
from chillplan.seasons.cut import DAYS
from chillplan.seeds.recipe import Recipe
from tests.region.test_kernels import RECIPES

SEASONS = 5


@pytest.mark.parametrize("name", RECIPES)
@pytest.mark.parametrize("target", [0.0, 0.05, 0.5, 1.0])
def test_one_date_a_place_counts_as_all_dates_do(name: str, target: float) -> None:
    species = replace(built_in_catalogue()[0], hard_coat=False)
    needs = needs_of(species, Recipe("", phases=RECIPES[name]), target)
    random = np.random.default_rng(1)
    day = np.arange(DAYS)[None, :, None]
    mean = 9.0 + random.normal(0.0, 4.0, (SEASONS, 1, LANES))
    wave = mean - 14.0 * np.sin((day - 60) / 365 * 2.0 * np.pi) + random.normal(0.0, 4.0, (SEASONS, DAYS, LANES))
    moist = random.random(wave.shape) < 0.8
    code = (np.rint(wave * 128.0).astype(np.int16) * 2 + moist).astype(np.int16)
    deadline = random.integers(153, DAYS, LANES).astype(np.int32)
    killing = random.integers(-1, DAYS, (SEASONS, LANES)).astype(np.int32)
    late = STARTS.size - PLANTING
    good, up, good_in, up_in = (np.zeros((n, LANES), np.int32) for n in (STARTS.size, STARTS.size, late, late))
    found = Fates(np.empty((SEASONS, STARTS.size, LANES), np.int8), good, up, good_in, up_in)
    fates_block(code, needs, Ends(deadline, killing), STEP, int(STARTS[PLANTING]), found)
    assert up.any() or up_in.any()
    lanes = np.arange(LANES)
    for _ in range(6):
        date = random.integers(0, STARTS.size, LANES)
        treated = (random.random(LANES) < 0.4) & (date >= PLANTING)
        wanted = random.random(LANES) < 0.8
        start = STARTS[date].astype(np.int32)
        found = good_on(code[None], 0, needs, deadline, killing, start, treated, wanted)
        all_dates = np.where(treated, good_in[np.maximum(date - PLANTING, 0), lanes], good[date, lanes])
        assert (found == all_dates * wanted).all()
