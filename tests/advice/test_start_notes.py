"""What is said on the day a batch begins: does the place suit, does the planting date fit."""

from __future__ import annotations

from datetime import date

import pytest

from chillplan.advice.start_notes import start_notes
from chillplan.seeds.recipe import WARM_RESPONSE, CoatStep, Phase, Recipe

BEGUN = date(2026, 11, 20)
COLD = Phase("cold", (56, 120), (4.0, 5.0))
WARM = Phase("warm", (90, 107), (15.0, 15.0), response=WARM_RESPONSE)


def test_a_place_that_suits_and_a_date_that_fits_need_no_word() -> None:
    assert start_notes(Recipe("usual", (), (COLD,)), 4.0, BEGUN, date(2027, 3, 25)) == ()
    assert start_notes(Recipe("usual", (), (COLD,)), 4.0, BEGUN, None) == ()


@pytest.mark.parametrize(
    ("phase", "set_temperature", "words"),
    [
        (COLD, 20.0, "At 20 °C a day counts 0% of a day for its cold phase; it asks for 4 to 5 °C"),
        (WARM, 4.0, "At 4 °C a day counts 0% of a day for its warm phase; it asks for 15 °C"),
        (COLD, 10.0, "counts 40% of a day"),
    ],
)
def test_a_place_that_does_not_suit_the_first_phase_is_told(phase: Phase, set_temperature: float, words: str) -> None:
    """At 10 °C the default response is (12 - 10) / (12 - 7) of a day."""
    (note,) = start_notes(Recipe("usual", (), (phase,)), set_temperature, BEGUN, None)
    assert words in note and "--place" in note


@pytest.mark.parametrize(
    ("plant_out", "words"),
    [
        (
            date(2027, 5, 10),
            "51 days before the planting date 2027-05-10, and may sprout in the bag: begin about 2027-01-10",
        ),
        (date(2027, 1, 10), "69 days after the planting date 2027-01-10: plant later"),
    ],
)
def test_a_planting_date_that_does_not_fit_is_told(plant_out: date, words: str) -> None:
    """120 days from 20 November 2026 end on 20 March 2027."""
    (note,) = start_notes(Recipe("usual", (), (COLD,)), 4.0, BEGUN, plant_out)
    assert "about 2027-03-20" in note and words in note


def test_seed_that_needs_no_chilling_is_not_kept_in_the_cold() -> None:
    (note,) = start_notes(Recipe("usual", (CoatStep("hot water"),), ()), 4.0, BEGUN, date(2027, 5, 1))
    assert "neither cold nor warmth" in note


def test_seed_that_cannot_sprout_in_the_cold_is_not_said_to() -> None:
    early = date(2027, 6, 30)
    (note,) = start_notes(Recipe("usual", (), (COLD,)), 4.0, BEGUN, early, base_temperature=7.0)
    assert "before the planting date" in note and "sprout in the bag" not in note
    (note,) = start_notes(Recipe("usual", (), (COLD,)), 4.0, BEGUN, early, base_temperature=1.0)
    assert "may sprout in the bag" in note
