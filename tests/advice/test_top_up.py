"""Seed begun outdoors and finished in the refrigerator: the rules, and a climate in which they lead there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan, SpeciesAdvice
from chillplan.advice.rules import AUTUMN, LAST_AUTUMN_START, STARTS
from chillplan.advice.top_up import (
    FEWER,
    LATER,
    LIFT_WITHIN,
    begin_window,
    can_be_lifted,
    earliest_planting,
    gains_enough,
    lacks_chill,
    lift_day,
    most_owed,
    seeds_done,
    top_up_pays,
    top_up_wanted,
)
from chillplan.advice.visits import Crew, with_visits
from chillplan.seasons.cut import cut_seasons
from chillplan.seeds.recipe import WARM_RESPONSE, Germination, Phase, Recipe, Species
from chillplan.site import Site
from tests.records import wave_weather

HELPED = "start-outdoors-finish-in-fridge"
TODAY = date(2026, 9, 1)
SITE = Site(44.0, -72.0, elevation=300.0)
WINTER = wave_weather(mean=8.0, swing=15.0, noise=5.0)


def cold(low: float, high: float) -> Phase:
    return Phase("cold", (low, high), temperature=(1.0, 5.0))


def warm(low: float, high: float) -> Phase:
    return Phase("warm", (low, high), response=WARM_RESPONSE)


def recipe(*phases: Phase) -> Recipe:
    return Recipe("usual", phases=phases)


def species(*phases: Phase, **changes: object) -> Species:
    made = Species(
        "Planta exempli", "example", (), "Exemplaceae", "physiological", False, (recipe(*phases),),
        Germination(5.0, (60.0, 150.0)),
    )  # fmt: skip
    return replace(made, **changes)  # type: ignore[arg-type]


def planned(one: Species, weather: pd.DataFrame = WINTER, **asked: object) -> Plan:
    request = Request(**{"today": TODAY, "changes": "none", **asked})  # type: ignore[arg-type]
    return make_plan(cut_seasons(weather, southern=False), SITE, [one], request)


def advice(one: Species, weather: pd.DataFrame = WINTER, **asked: object) -> SpeciesAdvice:
    return planned(one, weather, **asked).species[0]


@pytest.fixture(scope="module")
def plan() -> Plan:
    return with_visits(planned(species(cold(105, 135))), Crew())


# The rules, as array functions. Their limits are common practice or our choice, no source.


def test_only_long_treatments_that_end_cold_are_begun_outdoors() -> None:
    assert top_up_wanted(recipe(cold(60, 90)))
    assert top_up_wanted(recipe(warm(30, 40), cold(40, 50)))
    assert not top_up_wanted(recipe(cold(60, 89)))
    assert not top_up_wanted(recipe(cold(90, 120), warm(30, 60)))
    assert not top_up_wanted(recipe())


@pytest.mark.parametrize(
    ("phases", "most"), [((cold(60, 90),), 30.0), ((cold(90, 150),), 75.0), ((warm(60, 90), cold(60, 90)), 45.0)]
)
def test_the_winter_does_half_of_the_cold_and_spares_two_months(phases: tuple[Phase, ...], most: float) -> None:
    assert most_owed(recipe(*phases)) == most


def test_seed_is_lifted_a_week_before_an_early_spring() -> None:
    assert int(lift_day(np.arange(240.0, 251.0))) == 233  # Weibull's tenth of eleven dates lies at 240.2
    assert int(lift_day(np.full(10, np.inf))) == LAST_AUTUMN_START


def test_seed_that_wants_cold_first_is_sown_when_the_ground_has_cooled() -> None:
    cool = STARTS >= 90
    assert tuple(STARTS[list(begin_window(30, cool, recipe(cold(90, 120))))]) == (90, 105)
    assert tuple(STARTS[list(begin_window(40, cool, recipe(cold(90, 120))))]) == (90, 105)
    assert tuple(STARTS[list(begin_window(0, cool, recipe(warm(30, 60), cold(90, 120))))]) == (0, 15)
    assert int(begin_window(0, STARTS >= 999, recipe(cold(90, 120)))[1]) == 5
    assert int(begin_window(int(AUTUMN.sum()) - 1, cool, recipe(warm(1, 2), cold(90, 120)))[1]) == AUTUMN.sum() - 1


def test_seed_in_frozen_ground_cannot_be_lifted() -> None:
    thawed = STARTS >= 220
    found = can_be_lifted(np.stack([thawed, thawed], axis=1), np.array([219, 222]))
    assert found.tolist() == [False, True]
    assert LIFT_WITHIN == 14


OWED = st.lists(st.one_of(st.floats(0.0, 170.0), st.just(float("nan"))), min_size=3, max_size=40)


@given(owed=OWED, lift=st.integers(200, 270), accept=st.floats(0.5, 0.95))
def test_the_planting_date_leaves_room_for_a_poor_winter(owed: list[float], lift: int, accept: float) -> None:
    most = 60.0
    day = int(earliest_planting(owed, most, lift, accept))
    room = day - lift
    assert LAST_AUTUMN_START <= day <= max(lift + most, LAST_AUTUMN_START)
    if np.all(np.asarray(owed) <= most):
        # Weibull's plotting position: at most one in ten of n + 1 lies above.
        assert (np.asarray(owed) > room + 1e-6).sum() <= 0.1 * (len(owed) + 1) + 1e-9


@given(owed=OWED, more=st.floats(0.0, 50.0))
def test_more_owed_is_never_planted_earlier(owed: list[float], more: float) -> None:
    before = earliest_planting(owed, 85.0, 230, 0.8)
    assert earliest_planting(np.asarray(owed) + more, 85.0, 230, 0.8) >= before


def test_places_side_by_side_are_told_what_each_is_told_alone() -> None:
    random = np.random.default_rng(3)
    owed = np.where(random.random((20, 6)) < 0.1, np.nan, random.uniform(0.0, 100.0, (20, 6)))
    lift = random.integers(205, 260, 6)
    together = earliest_planting(owed, 60.0, lift, 0.8)
    assert together.tolist() == [int(earliest_planting(owed[:, one], 60.0, lift[one], 0.8)) for one in range(6)]
    needs = recipe(cold(90, 120))
    done = seeds_done(owed, needs, together - lift)
    assert (done == np.stack([seeds_done(owed[:, n], needs, together[n] - lift[n]) for n in range(6)], axis=1)).all()
    enough = gains_enough(owed, 60.0, 0.55)
    assert enough.tolist() == [bool(gains_enough(owed[:, n], 60.0, 0.55)) for n in range(6)]
    assert 0 < enough.sum() < 6


def test_seed_whose_cold_is_not_done_stays_dormant() -> None:
    needs = recipe(cold(90, 120))
    assert seeds_done([40.0], needs, 40.0).tolist() == [18]  # of twenty, all but the tenth that needs more
    assert seeds_done([40.0], needs, 25.0).tolist() == [10]  # half of a lot needs 105 days at most
    assert seeds_done([float("nan")], needs, 300.0).tolist() == [0]


def test_only_a_lack_of_chill_is_topped_up() -> None:
    losses = np.array([[0.1, 0.4], [0.0, 0.0], [0.3, 0.3], [0.0, 0.0]])
    assert lacks_chill(losses, 2).tolist() == [True, False]


def test_topping_up_must_be_good_lose_little_and_not_be_late() -> None:
    good = np.array([True] * 8 + [False] * 2)
    share = np.where(good, 0.9, 0.0)
    assert top_up_pays(good, share, 0.8, LATER, 0.8)
    assert not top_up_pays(good, share, 0.8, LATER + 1, 0.8)
    assert not top_up_pays(good, share, 0.8, LATER, 0.9)
    assert not top_up_pays(good, share, 0.75 + FEWER, LATER, 0.8)


# A climate that leads there.


def test_a_winter_that_does_most_of_a_long_chill_is_topped_up(plan: Plan) -> None:
    found = plan.species[0]
    way = found.top_up
    assert found.verdict == HELPED
    assert way is not None
    assert TODAY <= way.sow < way.sow_to < way.lift_from < way.lift < way.plant_out
    assert (way.lift.month, way.plant_out.month) == (4, 6)
    assert (way.plant_out - way.lift).days >= way.owed_days[2]
    assert way.owed_days[2] <= 67.5
    assert way.spared_days == pytest.approx(135.0 - way.owed_days[1])
    assert found.good >= 0.8 * found.winters


def test_its_reason_names_the_dates_the_cold_owed_and_what_is_spared(plan: Plan) -> None:
    (found,) = plan.species
    top = found.top_up
    assert top is not None and found.outdoors is not None
    low, middle, high = (f"{days:.0f}" for days in top.owed_days)
    whole = f"{found.recipe.total_days[1]:.0f}"
    for words in (
        f"; lifted by {top.lift.day} {top.lift:%B}, {middle} days of cold (in a poor winter {high}, in a good one ",
        f"in a good one {low}) are still owed, to be finished in the refrigerator instead of {whole} days indoors, ",
        f"and planted out {top.plant_out.day} {top.plant_out:%B}",
        " and left in place it is good in only ",
    ):
        assert words in found.reason


def test_the_winter_alone_falls_short_there(plan: Plan) -> None:
    outdoors = plan.species[0].outdoors
    assert outdoors is not None and not outdoors.meets
    assert outdoors.good < 0.8 * outdoors.winters
    assert max(outdoors.outcomes, key=lambda fate: outdoors.outcomes[fate] * (fate != "up in time")) == "still dormant"


def test_it_costs_little_seed_and_six_weeks_at_most_beside_the_refrigerator(plan: Plan) -> None:
    found = plan.species[0]
    assert found.top_up is not None and found.fridge is not None
    assert found.share_up[1] >= found.fridge.share_up[1] - FEWER
    assert (found.top_up.plant_out - found.fridge.plant_out).days <= LATER


def test_the_reason_and_the_notes_say_the_dates_and_the_days(plan: Plan) -> None:
    found = plan.species[0]
    way = found.top_up
    assert way is not None and found.fridge is not None
    for words in (
        f"lifted by {way.lift.day} April",
        f"{way.owed_days[1]:.0f} days of cold (in a poor winter {way.owed_days[2]:.0f}",
        "instead of 135 days indoors",
        f"planted out {way.plant_out.day} June",
    ):
        assert words in found.reason
    assert any(f"from {found.fridge.prepare}" in note for note in found.notes)
    assert any("ask chillplan season whether it is needed" in note for note in found.notes)


def test_every_step_is_a_task_and_the_hill_is_visited_to_lift(plan: Plan) -> None:
    kinds = [task.key.split("/")[1] for task in plan.tasks]
    assert [kind for kind in kinds if kind != "check"] == ["sow", "lift", "cold phase", "plant out"]
    way = plan.species[0].top_up
    assert way is not None
    assert kinds.count("check") == len(way.checks) == ((way.plant_out - way.lift_from).days - 1) // 7
    visits = [(visit.date, task) for visit in plan.visits for task in visit.tasks]
    lifted = [day for day, task in visits if task.key == "top-up/lift/1"]
    assert len(plan.visits) == 3
    assert len(lifted) == 1 and way.lift_from <= lifted[0] <= way.lift


def test_lifting_carries_its_caution(plan: Plan) -> None:
    assert any(caution.startswith("Lifting: wear gloves") for caution in plan.species[0].cautions)
    assert not any("Lifting" in caution for caution in advice(species(cold(30, 60))).cautions)


def test_a_short_need_is_plainly_chilled_indoors_or_outdoors() -> None:
    assert advice(species(cold(30, 60))).verdict in {"either", "sow-in-autumn"}
    mild = wave_weather(mean=17.5, swing=9.0)
    assert advice(species(cold(60, 85)), mild).verdict == "chill-in-fridge"


def test_a_winter_that_does_little_is_left_out() -> None:
    mild = wave_weather(mean=17.5, swing=9.0)
    assert advice(species(cold(105, 135)), mild).verdict == "chill-in-fridge"


def test_seed_that_sprouts_in_the_cold_is_lifted_earlier() -> None:
    early = advice(species(cold(105, 135), germination=Germination(0.5, (60.0, 150.0))))
    late = advice(species(cold(105, 135)))
    for found in (early, late):
        assert found.verdict == HELPED
    assert early.top_up is not None and late.top_up is not None
    assert early.top_up.lift < late.top_up.lift


def test_a_planting_date_that_leaves_no_time_for_the_cold_turns_it_down() -> None:
    assert advice(species(cold(105, 135)), plant_out=date(2027, 4, 20)).verdict == "chill-in-fridge"
    kept = advice(species(cold(105, 135)), plant_out=date(2027, 5, 25))
    assert kept.verdict == HELPED
    assert kept.top_up is not None and kept.top_up.plant_out == date(2027, 5, 25)


def test_once_the_window_has_closed_the_refrigerator_is_named_for_this_season() -> None:
    found = advice(species(cold(105, 135)), today=date(2026, 12, 3), season=2026)
    assert found.verdict == HELPED and found.top_up is not None and found.fridge is not None
    assert found.top_up.sow > found.fridge.plant_out >= found.fridge.prepare >= date(2026, 12, 3)
    assert any(note.startswith(f"This season it can still be chilled wholly indoors: from {found.fridge.prepare}")
               for note in found.notes)  # fmt: skip


def test_seed_sown_in_this_seasons_window_is_still_lifted_in_it() -> None:
    before = advice(species(cold(105, 135)), season=2026).top_up
    found = advice(species(cold(105, 135)), today=date(2027, 2, 15), season=2026)
    assert before is not None and found.top_up is not None and found.top_up.lift > before.lift
    assert any(f"still to be lifted, by {before.lift}" in note for note in found.notes)
    later = advice(species(cold(105, 135)), today=before.lift + timedelta(days=1), season=2026)
    assert not any("still to be lifted" in note for note in later.notes)


def test_a_planting_date_too_near_for_this_season_is_said_to_be() -> None:
    found = advice(species(cold(105, 135)), today=date(2027, 2, 20), plant_out=date(2027, 5, 25), season=2026)
    assert found.verdict == HELPED and found.fridge is not None
    assert any(f"had to begin on {found.fridge.prepare}: too late" in note for note in found.notes)


@pytest.mark.parametrize("today", [TODAY, date(2026, 10, 30), date(2027, 1, 20)])
def test_nothing_begins_in_the_past(today: date) -> None:
    found = advice(species(cold(105, 135)), today=today, season=2026)
    assert found.top_up is not None
    assert today <= found.top_up.sow <= found.top_up.sow_to < found.top_up.lift_from
    assert (found.top_up.sow >= date(2027, 8, 1)) == (today > date(2026, 12, 1))


def test_the_southern_half_mirrors_it() -> None:
    weather = wave_weather(mean=8.0, swing=15.0, noise=5.0, southern=True)
    request = Request(date(2026, 3, 1), season=2026, changes="none")
    site = Site(-44.0, 172.0, elevation=300.0)
    found = make_plan(cut_seasons(weather, southern=True), site, [species(cold(105, 135))], request).species[0]
    assert found.verdict == HELPED
    assert found.top_up is not None
    assert (found.top_up.sow.month, found.top_up.plant_out.month) in {(4, 11), (5, 11), (4, 12)}


def test_the_window_to_begin_in_stays_open_through_its_last_day() -> None:
    before = advice(species(cold(105, 135)), season=2026).top_up
    assert before is not None
    found = advice(species(cold(105, 135)), today=before.sow_to, season=2026).top_up
    assert found is not None and (found.sow, found.sow_to) == (before.sow_to, before.sow_to)
    after = advice(species(cold(105, 135)), today=before.sow_to + timedelta(1), season=2026).top_up
    assert after is not None and after.sow > before.sow_to
