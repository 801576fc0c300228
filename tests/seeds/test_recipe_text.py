"""Recipe texts: what parses, what is refused and how, and that words written back parse to the same recipe."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.seeds.recipe import COLD_RESPONSE, CoatStep, Phase, Response
from chillplan.seeds.recipe_text import (
    COAT_ACTIONS,
    coat_text,
    parse_coat,
    parse_phases,
    parse_recipes,
    parse_response,
    phases_text,
)


@pytest.mark.parametrize(
    ("text", "kind", "days", "temperature"),
    [
        ("cold moist, 60 to 90 days, 1 to 5 °C", "cold", (60, 90), (1, 5)),
        ("cold moist 60-90 d at 1–5 °C", "cold", (60, 90), (1, 5)),
        ("Warm moist, about 8 to 10 weeks at 20 °C", "warm", (56, 70), (20, 20)),
        ("cold 2 to 3 months 34 to 41 °F", "cold", (60, 90), (1.1, 5)),
        ("cold moist, 30 days to 6 weeks", "cold", (30, 42), None),
        ("cold moist, 0 to 28 days, 5 °C", "cold", (0, 28), (5, 5)),
        ("optional cold moist, 28 days", "cold", (0, 28), None),
        ("warm moist, 30 to 40 days, 25/15 °C", "warm", (30, 40), (15, 25)),
        ("cold moist, 50 to 60 days, −2 to 3 °C", "cold", (50, 60), (-2, 3)),
    ],
)
def test_reads_plain_words(
    text: str, kind: str, days: tuple[float, float], temperature: tuple[float, float] | None
) -> None:
    ((phase,),) = parse_phases(text)
    assert (phase.kind, phase.days, phase.temperature) == (kind, days, temperature)
    assert not phase.spread_assumed


@pytest.mark.parametrize("text", ["cold moist, 45 days", "cold moist, 45 to 45 days", "cold moist, 45 days or more"])
def test_one_figure_is_the_90th_percentile_with_an_assumed_spread(text: str) -> None:
    ((phase,),) = parse_phases(text)
    assert phase.days == (27.0, 45.0)
    assert phase.spread_assumed


def test_phases_keep_their_order_and_alternatives_stay_whole() -> None:
    double, single = parse_phases("cold moist, 80 to 90 days; warm moist, 90 days; cold moist, 90 days or none")
    assert [phase.kind for phase in double] == ["cold", "warm", "cold"]
    assert single == ()


def test_coat_alternatives_pair_with_phases() -> None:
    scarified, softened = parse_recipes(
        "scarify (sand or nick, away from the scar) or none",
        "cold moist, 90 days or warm moist, 60 to 120 days; cold moist, 90 to 120 days",
    )
    assert [step.action for step in scarified.coat] == ["scarify"]
    assert len(scarified.phases) == 1
    assert softened.coat == ()
    assert scarified.opens_coat
    assert softened.opens_coat, "a long warm phase takes the place of scarifying"


def test_unequal_alternatives_are_refused() -> None:
    with pytest.raises(InputError, match="2 alternatives of the coat treatment against 3 of the phases"):
        parse_recipes("scarify or none", "none or cold moist, 30 days or cold moist, 60 days")


def test_own_response_reaches_cold_phases_only() -> None:
    (recipe,) = parse_recipes("none", "warm moist, 30 days; cold moist, 30 days", Response(0.5, 3, 6, 9.1))
    assert recipe.phases[1].response == Response(0.5, 3, 6, 9.1)
    assert recipe.phases[0].response != recipe.phases[1].response


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("cold moist", "has no number of days: write for example '60 to 90 days'"),
        ("cold moist, a while", "'a while' is not understood"),
        ("cold moist, 90 to 60 days", "the least, 90 days, is above the most, 60; swap them"),
        ("cold moist, -5 days", "-5 days is below zero"),
        ("cold moist, 4000 days", "4000 days is longer than two years"),
        ("cold moist, 0 days", "lasts no days: write 'none'"),
        ("cold dry, 60 days", "dry cold or dry warmth is storage and does not stratify"),
        ("60 days", "does not say which it is"),
        ("cold warm, 60 days", "does not say which it is"),
        ("hot sauce, 5 days", "'hot sauce' is not understood"),
        ("warm moist, 30 days, 2 °C", "a warm phase is held between 10 and 40 °C"),
        ("cold moist, 30 days, 40 °C", "a cold phase is held between -5 and 16 °C"),
        ("cold moist, 30 days, 5 to 1 °C", "5 °C stands above 1 °C; swap them"),
        ("cold moist, 30 days (mostly", "round brackets do not match"),
    ],
)
def test_says_what_is_wrong_with_a_phase(text: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_phases(text)
    assert message in str(caught.value)


def test_all_faults_of_a_text_come_at_once() -> None:
    with pytest.raises(InputError) as caught:
        parse_phases("cold moist, 90 to 60 days; warm moist, 4000 days or wet, 3 days")
    assert len(caught.value.problems) == 4


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("scarify (sand or nick)", CoatStep("scarify", None, None, "sand or nick")),
        ("hot water 85 °C, cool 12 to 24 hours", CoatStep("hot water", (12, 24), (85, 85))),
        ("boiling water, 1 minute", CoatStep("hot water", (0.0167, 0.0167), (100, 100))),
        ("soak 2 to 4 days", CoatStep("soak", (48, 96))),
        ("soak overnight", CoatStep("soak", (12, 12))),
        ("smoke water 24 hours", CoatStep("smoke water", (24, 24))),
        ("peroxide rinse 10 minutes", CoatStep("peroxide rinse", (0.1667, 0.1667))),
        ("remove pulp", CoatStep("remove pulp")),
        ("nick (one end)", CoatStep("scarify", None, None, "one end")),
    ],
)
def test_reads_coat_steps(text: str, step: CoatStep) -> None:
    assert parse_coat(text) == ((step,),)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("strong acid 20 minutes", "strong acid is not offered as a step"),
        ("sulfuric acid 20 minutes", "strong acid is not offered as a step"),
        ("soak", "has no time: write for example 'soak 24 hours'"),
        ("hot water", "has no temperature"),
        ("hot water 400 °C", "between 0 and 150 °C"),
        ("soak 40 days", "between 0 and 14 days"),
        ("wave at it", "is not understood: begin with one of scarify"),
        ("soak 24 hours joyfully", "'joyfully' is not understood; put remarks in round brackets"),
    ],
)
def test_says_what_is_wrong_with_a_coat_step(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_coat(text)


@pytest.mark.parametrize("text", ["1, 2, 3", "a, b, c, d", "5, 3, 6, 9", "3, 3, 6, 9"])
def test_a_response_is_four_rising_temperatures(text: str) -> None:
    with pytest.raises(InputError, match="four rising temperatures"):
        parse_response(text)


def test_a_blank_response_is_the_default() -> None:
    assert parse_response(" ") is None
    (recipe,) = parse_recipes("none", "cold moist, 30 days")
    assert recipe.phases[0].response == COLD_RESPONSE


DAYS = st.integers(0, 700)
HELD = {"cold": (1.0, 5.0), "warm": (15.5, 25.0)}
PHASES = st.builds(
    lambda kind, low, more, held: Phase(kind, (float(low), float(low + more)), HELD[kind] if held else None),
    st.sampled_from(["warm", "cold"]),
    DAYS,
    st.integers(1, 30),
    st.booleans(),
)
STEPS = st.builds(
    CoatStep,
    st.sampled_from(COAT_ACTIONS),
    st.sampled_from([(12.0, 24.0), (48.0, 48.0)]),
    st.sampled_from([(80.0, 80.0), (70.0, 85.0)]),
    st.sampled_from(["", "away from the scar, or the flat side"]),
)


@given(st.lists(PHASES, max_size=4))
def test_phases_survive_a_round_trip(phases: list[Phase]) -> None:
    (read,) = parse_phases(phases_text(tuple(phases)))
    assert [(phase.kind, phase.days, phase.temperature) for phase in read] == [
        (phase.kind, phase.days, phase.temperature) for phase in phases
    ]


@given(st.lists(STEPS, max_size=4))
def test_coat_steps_survive_a_round_trip(steps: list[CoatStep]) -> None:
    assert parse_coat(coat_text(tuple(steps))) == (tuple(steps),)


@given(st.text(max_size=200))
def test_any_text_parses_or_is_refused_in_words(text: str) -> None:
    for parse in (parse_phases, parse_coat, parse_response):
        try:
            parse(text)
        except InputError as error:
            assert all(problem.isprintable() for problem in error.problems)


def test_an_alternative_says_for_which_state_of_seed_it_is() -> None:
    dried, fresh = parse_recipes("none", "dried seed: warm moist, 30 days; cold moist, 90 days or Fresh seed: none")
    assert (dried.state, len(dried.phases), fresh.state, fresh.phases) == ("dried", 2, "fresh", ())
    assert dried.label.startswith("dried seed: warm") and fresh.label == "fresh seed: sow as it is"
    assert parse_recipes("none", "cold moist, 30 days")[0].state == ""
