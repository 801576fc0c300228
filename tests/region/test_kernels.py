"""The compiled loops against numpy: the same numbers, bit for bit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chillplan.advice.outlook import ease_of
from chillplan.advice.rules import COOL_GROUND, LAST_AUTUMN_START, STARTS
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.physics.lanes import LANES
from chillplan.physics.seed_zone import seed_zone
from chillplan.region.counts import PLANTING
from chillplan.region.ground import STEP, ground_counts, inputs_of, sums_of
from chillplan.region.places import Ask, Places, needs_of
from chillplan.region.seed_kernel import Ends, Fates, fates_block
from chillplan.region.sums_kernel import cool_block, sorting_pairs
from chillplan.seasons.cut import DAYS, SPIN_UP, whole_rows
from chillplan.seasons.summary import TEMPERATURE_GRAIN, Ground
from chillplan.seeds.recipe import WARM_RESPONSE, Phase, Recipe
from chillplan.seeds.simulate import fates_of
from chillplan.seeds.two_winters import TwoWinters
from tests.region.made_grid import made_series


@given(st.integers(1, 45), st.integers(0, 10_000))
@settings(max_examples=40, deadline=None)
def test_the_comparisons_sort_any_values(count: int, seed: int) -> None:
    values = np.random.default_rng(seed).integers(-50, 50, count)
    wanted = np.sort(values)
    for low, high in sorting_pairs(count):
        values[low], values[high] = min(values[low], values[high]), max(values[low], values[high])
    assert (values == wanted).all()


def test_the_ground_is_that_of_the_numpy_model() -> None:
    latitude = np.linspace(30.0, 60.0, LANES)
    days, low, high, rain = made_series(latitude, "1999-01-01", "2003-12-31", 3)
    flat = np.zeros(LANES)
    places = Places(low, high, rain, latitude, flat, flat, flat + 180.0)
    rows = whole_rows(np.array([day.toordinal() for day in days]), southern=False)
    inputs = inputs_of(places, rows, gaps=False)
    ask = Ask(())
    ground = ground_counts(inputs, sums_of(inputs, 0.0), ask, (-2.0,))
    for lane in (0, 17, LANES - 1):
        zone = seed_zone(
            low[rows.row.T, lane],
            high[rows.row.T, lane],
            day_of_year=rows.day_of_year.T,
            latitude=float(latitude[lane]),
            precipitation=rain[rows.row.T, lane],
        )
        code = ground.code[0, :, :, lane].T
        assert (code >> 1 == np.rint(zone.temperature[SPIN_UP:] * 128.0)).all()
        assert ((code & 1) == zone.moist[SPIN_UP:]).all()


RECIPES = {
    "no phases": (),
    "cold": (Phase("cold", (30.0, 60.0)),),
    "warm, cold": (Phase("warm", (20.0, 60.0), response=WARM_RESPONSE), Phase("cold", (40.0, 90.0))),
    "cold, warm, cold": (
        Phase("cold", (20.0, 40.0)),
        Phase("warm", (20.0, 40.0), response=WARM_RESPONSE),
        Phase("cold", (40.0, 90.0)),
    ),
    "hardly any": (Phase("cold", (0.0, 28.0)),),
}


@pytest.mark.parametrize("name", RECIPES)
@given(seed=st.integers(0, 10_000), mean=st.floats(-3.0, 24.0), limit=st.floats(-6.0, 2.0))
@settings(max_examples=4, deadline=None)
def test_counts_are_those_of_the_simulated_sowing(name: str, seed: int, mean: float, limit: float) -> None:
    random = np.random.default_rng(seed)
    seasons = 3
    day = np.arange(DAYS)[:, None]
    wave = mean + 12.0 * np.cos(2.0 * np.pi * (day + 20) / DAYS)
    temperature = np.rint((wave + random.normal(0.0, 5.0, (DAYS, seasons))) * 128.0) / 128.0
    moist = random.random((DAYS, seasons)) > 0.15
    minimum = temperature - 5.0
    last = np.where((minimum <= limit).any(axis=0), DAYS - 1 - (minimum <= limit)[::-1].argmax(axis=0), -1)
    deadline = int(random.integers(200, DAYS))
    species = replace(built_in_catalogue()[0], hard_coat=False)
    recipe = Recipe("", phases=RECIPES[name])
    needs = needs_of(species, recipe, 0.5)

    code = np.empty((seasons, DAYS, LANES), np.int16)
    code[:] = (temperature * 128.0 * 2.0 + moist).astype(np.int16).T[:, :, None]
    late = STARTS.size - PLANTING
    good, total, good_in, total_in = (np.zeros((n, LANES), np.int32) for n in (STARTS.size, STARTS.size, late, late))
    ups = np.empty((seasons, STARTS.size, LANES), np.int8)
    ends = Ends(np.full(LANES, deadline, np.int32), np.repeat(last[:, None], LANES, axis=1).astype(np.int32))
    fates_block(code, needs, ends, STEP, int(STARTS[PLANTING]), Fates(ups, good, total, good_in, total_in))
    assert (ups.sum(axis=0) == total).all()

    none = np.full((DAYS, seasons), np.nan, np.float32)
    winters = TwoWinters(
        temperature=np.concatenate([temperature.astype(np.float32), none]),
        moist=np.concatenate([moist, np.zeros_like(moist)]),
        minimum=np.concatenate([minimum, none]),
        deadline=deadline,
    )
    credit = [phase.days[1] for phase in recipe.phases]
    for starts, done, counted, winters_good in (
        (STARTS, (), total, good),
        (STARTS[PLANTING:], credit, total_in, good_in),
    ):
        share = fates_of(winters, recipe.phases, species.germination, starts, limit, done).share_up
        assert (np.rint(share * 20).sum(axis=1) == counted[:, 5]).all()
        assert ((share >= 0.5).sum(axis=1) == winters_good[:, LANES - 1]).all()


@pytest.mark.parametrize(("degrees", "cool"), [(COOL_GROUND, True), (COOL_GROUND + 1 / 128, False)])
def test_ground_just_at_the_mark_is_cool_and_a_hair_above_it_is_not(degrees: float, cool: bool) -> None:
    """The mark of cool ground is common practice (no source); the site's form of it is asked the same."""
    seasons = 4
    code = np.full((seasons, DAYS, LANES), round(degrees * TEMPERATURE_GRAIN) * 2, np.int16)
    cool_from = np.full(LANES, -1, np.int32)
    limit = round(COOL_GROUND * TEMPERATURE_GRAIN)
    cool_block(code, sorting_pairs(seasons), STEP, LAST_AUTUMN_START, limit, cool_from)
    steady = np.full((DAYS, seasons), degrees)
    ground = Ground(steady, np.ones(steady.shape, dtype=bool), steady, np.zeros(steady.shape), moisture_known=True)
    assert ease_of(ground, {}).cool[-1] == cool
    assert (cool_from >= 0).all() == cool
