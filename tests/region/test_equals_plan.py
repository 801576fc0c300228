"""Every place of a map gets the answer that a plan for that place gives, to the last day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from chillplan.advice.outlook import ease_of
from chillplan.advice.plan import error_of
from chillplan.advice.rules import STARTS, members_of, possibilities
from chillplan.advice.top_up import lift_day
from chillplan.advice.verdict import Decision, Judge, decide
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.errors import DataGapError
from chillplan.region.decide import answers_of
from chillplan.region.places import Ask, Places
from chillplan.seasons.chance import percentiles
from chillplan.seasons.cut import cut_seasons, whole_rows
from chillplan.seasons.summary import Winters, ground_of, winters_of
from chillplan.seeds.recipe import WARM_RESPONSE, Germination, Phase, Recipe, Species
from chillplan.seeds.two_winters import two_winters
from chillplan.site import Site
from chillplan.verdicts import VERDICTS
from tests.region.made_grid import made_series

PLACES = 7
HELPED = "start-outdoors-finish-in-fridge"


def planned(
    daily: pd.DataFrame, site: Site, species: tuple[Species, ...], warming: float
) -> tuple[Winters, list[Decision]]:
    seasons = cut_seasons(daily, site.southern)
    ground = ground_of(seasons, site, warming)
    winters, pair = winters_of(seasons, ground, warming), two_winters(seasons, ground)
    judge = Judge(
        winters=pair,
        members=members_of(pair, possibilities(error_of(seasons, site).together)),
        ease=ease_of(ground, winters.soil_warm),
        lift={limit: int(lift_day(days)) for limit, days in winters.soil_warm.items()},
        accept=0.8,
        target=0.5,
    )
    return winters, [decide(judge, one) for one in species]


def window_of(decision: Decision) -> tuple[float, float]:
    """First and last day of the window outdoors that a plan shows."""
    if decision.verdict == HELPED:
        assert decision.case.finish is not None
        return float(decision.case.finish.begun.first), float(decision.case.finish.begun.sown)
    ways = {"sow-in-spring": decision.case.spring_sown, "two-winters-outdoors": decision.case.second}
    way = ways.get(decision.verdict, decision.case.autumn)
    if way.meets or decision.verdict == "two-winters-outdoors":
        return float(STARTS[way.first]), float(STARTS[way.last])
    return np.nan, np.nan


def planting_of(decision: Decision) -> float:
    """Day of planting out that a plan shows."""
    if decision.verdict == HELPED:
        assert decision.case.finish is not None
        return float(decision.case.finish.planting)
    return float(decision.case.indoors.day) if decision.case.indoors.meets else np.nan


def compared(
    days: pd.DatetimeIndex, places: Places, species: tuple[Species, ...], warming: float = 0.0
) -> dict[str, int]:
    """Compare every place and species; how often each verdict came up."""
    southern = bool(places.latitude[0] < 0.0)
    rows = whole_rows(np.array([day.toordinal() for day in days]), southern)
    found = answers_of(places, rows, Ask(species, warming=warming))
    seen: dict[str, int] = {}
    for place in range(len(places)):
        columns = {"tmin": places.tmin, "tmax": places.tmax}
        if places.precipitation is not None:
            columns["precipitation"] = places.precipitation
        daily = pd.DataFrame({name: array[:, place].astype(float) for name, array in columns.items()}, index=days)
        site = Site(
            float(places.latitude[place]),
            0.0,
            elevation=float(places.elevation[place]),
            slope=float(places.slope[place]),
            aspect=float(places.aspect[place]),
        )
        try:
            winters, decisions = planned(daily, site, species, warming)
        except DataGapError:
            assert np.isnan(found["verdict"][:, place]).all()
            continue
        for name in ("chill_days", "effective_chill", "cold_days"):
            assert found[name][:, place] == pytest.approx(percentiles(getattr(winters, name)), rel=1e-6), name
        for number, threshold in enumerate((0.0, -2.0)):
            for name in ("last_spring_frost", "first_autumn_frost"):
                expected = percentiles(getattr(winters, name)[threshold])
                assert found[name][number, :, place] == pytest.approx(expected, rel=1e-6), name
        assert found["seasons"][place] == winters.years.size
        for number, decision in enumerate(decisions):
            at = (number, place)
            verdict = VERDICTS[int(found["verdict"][at])]
            said = (verdict, int(found["good"][at]), int(found["winters"][at]))
            assert said == (decision.verdict, decision.good, decision.winters), species[number].name
            shown = (float(found["sow_from"][at]), float(found["sow_to"][at]))
            assert shown == pytest.approx(window_of(decision), nan_ok=True), species[number].name
            assert float(found["chance"][at]) == pytest.approx(decision.chance, abs=1e-6), species[number].name
            assert float(found["plant_out"][at]) == pytest.approx(planting_of(decision), nan_ok=True)
            seen[verdict] = seen.get(verdict, 0) + 1
    return seen


def made_places(seed: int, south: bool = False, slopes: bool = False) -> tuple[pd.DatetimeIndex, Places]:
    random = np.random.default_rng(seed)
    latitude = random.uniform(24.0, 62.0, PLACES) * (-1.0 if south else 1.0)
    days, low, high, rain = made_series(latitude, "1995-01-01", "2003-12-31", seed)
    slope = random.uniform(0.0, 30.0, PLACES) if slopes else np.zeros(PLACES)
    aspect = random.uniform(0.0, 360.0, PLACES) if slopes else np.full(PLACES, 180.0)
    return days, Places(low, high, rain, latitude, np.full(PLACES, 300.0), slope, aspect)


def some_species(seed: int, count: int = 10) -> tuple[Species, ...]:
    catalogue = built_in_catalogue()
    return tuple(catalogue[number] for number in np.random.default_rng(seed).choice(len(catalogue), count, False))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_random_places_and_species(seed: int) -> None:
    days, places = made_places(seed, slopes=seed == 2)
    assert len(compared(days, places, some_species(seed))) >= 3


def test_south_of_the_equator_with_a_first_season_cut_short() -> None:
    days, places = made_places(4, south=True)
    compared(days, places, some_species(4))


def test_warmer_winters() -> None:
    days, places = made_places(5)
    compared(days, places, some_species(5), warming=1.7)


def test_without_precipitation() -> None:
    days, places = made_places(6)
    compared(days, places.dry(), some_species(6))


def test_gaps_seasons_left_out_and_a_place_without_rain_records() -> None:
    days, places = made_places(7)
    random = np.random.default_rng(7)
    for values in (places.tmin, places.tmax, places.precipitation):
        assert values is not None
        values[random.random(values.shape) < 0.01] = np.nan
    places.tmin[700:900, 1] = np.nan
    places.tmax[:, 2] = np.nan
    assert places.precipitation is not None
    places.precipitation[:, 3] = np.nan
    compared(days, places, some_species(7, 6))


def test_hard_seed_left_closed_and_long_cold_phases() -> None:
    days, places = made_places(8)
    species = [
        one
        for one in built_in_catalogue()
        if (one.hard_coat and not all(recipe.opens_coat for recipe in one.recipes))
        or any(phase.days[1] >= 90 for phase in one.recipe.phases)
    ]
    seen = compared(days, places, tuple(species[:24]))
    assert {"two-winters-outdoors", "start-outdoors-finish-in-fridge"} & set(seen)


def long_chillers() -> tuple[Species, ...]:
    """Invented seed of long cold phases: ordinary, sprouting in the cold, warm first, kept moist, shut."""
    made = []
    for number, (low, high) in enumerate(((80.0, 100.0), (95.0, 120.0), (110.0, 140.0))):
        cold = Phase("cold", (low, high))
        usual = Species(
            f"Planta {number}", "", (), "", "physiological", False, (Recipe("usual", phases=(cold,)),),
            Germination(5.0, (60.0, 150.0)),
        )  # fmt: skip
        warm = Phase("warm", (20.0, 40.0), response=WARM_RESPONSE)
        made += [
            usual,
            replace(usual, germination=Germination(0.5, (60.0, 150.0))),
            replace(usual, recipes=(Recipe("usual", phases=(warm, cold)),)),
            replace(usual, storage="never dry"),
            replace(usual, hard_coat=True),
        ]
    return tuple(replace(one, name=f"Planta {number}") for number, one in enumerate(made))


@pytest.mark.parametrize("south", [False, True])
def test_places_where_seed_is_begun_outdoors_and_finished_indoors(south: bool) -> None:
    latitude = np.linspace(36.0, 50.0, PLACES) * (-1.0 if south else 1.0)
    days, low, high, rain = made_series(latitude, "1995-01-01", "2003-12-31", 15)
    flat = np.zeros(PLACES)
    places = Places(low, high, rain * 4.0, latitude, np.full(PLACES, 300.0), flat, flat + 180.0)
    seen = compared(days, places, long_chillers())
    assert seen.get(HELPED, 0) >= 5
    assert seen.get("chill-in-fridge", 0) >= 5
