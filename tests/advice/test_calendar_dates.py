"""Days that treatment takes before the first phase."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from chillplan.advice.calendar_dates import coat_days, count_back, indoor_days
from chillplan.advice.wording import coat_words
from chillplan.seeds.recipe import CoatStep, Phase, Recipe
from tests.advice.test_verdicts import cold, species

SCARIFY = CoatStep("scarify")


def soak(low: float, high: float) -> CoatStep:
    return CoatStep("soak", (low, high))


@pytest.mark.parametrize(
    ("coat", "days"),
    [
        ((), 0),
        ((SCARIFY,), 0),
        ((soak(6.0, 12.0),), 1),
        ((soak(24.0, 24.0),), 1),
        ((soak(12.0, 36.0),), 2),
        ((SCARIFY, soak(24.0, 48.0), CoatStep("rinse", (12.0, 24.0))), 3),
    ],
)
def test_soaks_follow_each_other_and_their_longest_time_is_left_for_them(coat: tuple[CoatStep, ...], days: int) -> None:
    phases: tuple[Phase, ...] = (cold(30, 60),)
    recipe = Recipe("usual", coat, phases)
    assert coat_days(recipe) == days
    assert indoor_days(recipe) == days + 60
    dates = count_back(species(*phases, coat=coat), recipe, date(2027, 5, 1))
    assert dates.into_cold == date(2027, 3, 2)
    assert dates.prepare == date(2027, 3, 2) - timedelta(days)


@pytest.mark.parametrize(
    ("step", "words"),
    [
        (soak(24.0, 24.0), "soak, 24 hours"),
        (soak(12.0, 24.0), "soak, 12 to 24 hours"),
        (soak(0.5, 0.5), "soak, 30 minutes"),
    ],
)
def test_the_time_of_a_soak_is_said_as_it_is(step: CoatStep, words: str) -> None:
    assert coat_words(step) == words
