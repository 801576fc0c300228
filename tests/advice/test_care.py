"""Advice on looking, mould, drying and early sprouts. Common practice, except where a standing names a source."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from chillplan.advice.care import (
    COMMON_PRACTICE,
    check_interval,
    drying_advice,
    mould_advice,
    sprout_advice,
    start_notes,
)
from chillplan.seeds.recipe import WARM_RESPONSE, CoatStep, Phase, Recipe

TODAY = date(2027, 3, 1)


@pytest.mark.parametrize(
    ("share", "finding", "usual", "days"),
    [
        (0.1, None, 7, 7),
        (0.7, "fine", 7, 3),
        (0.1, "sprouted", 7, 3),
        (0.9, "mould", 7, 2),
        (0.9, "dry", 1, 1),
        (float("nan"), "fine", 10, 10),
    ],
)
def test_the_interval_shortens_with_trouble_and_towards_the_end(
    share: float, finding: str | None, usual: int, days: int
) -> None:
    assert check_interval(share, finding, usual) == days


def test_mould_advice_warns_and_names_its_source() -> None:
    once, again = mould_advice(1), mould_advice(2)
    assert "mask" in once[0].action
    assert "eye protection" in " ".join(advice.action for advice in once)
    assert any("federal nursery protocols" in advice.standing for advice in once)
    assert len(again) == len(once) + 1
    assert "close the batch" in again[-1].action


def test_drying_late_is_worse_than_drying_early() -> None:
    assert len(drying_advice(0.1)) == 1
    assert "deeper dormancy" in drying_advice(0.8)[1].reason


@pytest.mark.parametrize(
    ("stage", "days", "opening"),
    [
        ("root tip", -3, "Sow the sprouted seed now"),
        ("shoot", 0, "Sow the sprouted seed now"),
        ("root tip", 10, "Hold the sprouted seed at 0.5 to 2 °C"),
        ("", 21, "Hold the sprouted seed"),
        ("shoot", 10, "Pot the shoots up"),
        ("root", 22, "Pot the sprouted seed up, root down"),
        ("root", None, "Pot the sprouted seed up, root down"),
    ],
)
def test_sprouts_by_stage_and_frost_outlook(stage: str, days: int | None, opening: str) -> None:
    frost_free = None if days is None else TODAY + timedelta(days)
    assert sprout_advice(stage, 7, 200, TODAY, frost_free)[0].action.startswith(opening)


def test_sprouts_are_never_sent_into_the_frost() -> None:
    for stage in ("root tip", "root", "shoot", ""):
        for days in range(1, 120):
            first = sprout_advice(stage, 7, 200, TODAY, TODAY + timedelta(days))[0].action
            assert not first.startswith("Sow")


def test_a_third_sprouted_means_the_whole_batch() -> None:
    assert "leave the rest in the cold" in sprout_advice("root", 60, 200, TODAY, None)[1].action
    assert "the whole batch" in sprout_advice("root", 70, 200, TODAY, None)[1].action
    assert "unless about a third" in sprout_advice("root", 7, None, TODAY, None)[1].action


def test_the_planned_planting_stands_in_for_an_unknown_frost_date() -> None:
    assert "2027-03-11" in sprout_advice("root", 7, 200, TODAY, None, date(2027, 3, 11))[0].action


def test_every_piece_of_advice_has_a_standing() -> None:
    everything = (*mould_advice(2), *drying_advice(0.9), *sprout_advice("root", 70, 200, TODAY, None))
    assert all(advice.action and advice.reason and advice.standing for advice in everything)
    assert any(advice.standing == COMMON_PRACTICE for advice in everything)


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
