"""Advice on looking, mould, drying and early sprouts. Common practice, except where a standing names a source."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from chillplan.advice.care import COMMON_PRACTICE, check_interval, drying_advice, mould_advice
from chillplan.advice.early_sprouts import sprout_advice

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
