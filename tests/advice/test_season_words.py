"""Each answer about a sowing in mid-winter, word by word as the grower reads it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from chillplan.advice.season_actions import Action, Lift, actions_for, season_over, unsown
from tests.advice.test_season import LIFT as SLOW_SPARE

TODAY = date(2010, 2, 1)
LIFT = replace(SLOW_SPARE, spare_out=date(2010, 5, 30), spare_by=date(2010, 2, 19), spare_good=11)
UNKNOWN = replace(LIFT, owed=(float("nan"), float("nan")), good=0)


def said(
    lift: Lift | None,
    chance: float = 0.2,
    harmed: float = 0.0,
    complete: bool = False,
    later: int = 0,
    cover: tuple[date, date] | None = None,
) -> list[tuple[str, date | None, str, str]]:
    """What is advised where eight endings of ten are wanted."""
    actions = actions_for(TODAY, chance, 0.8, harmed, complete, later, lift, cover)
    return [(action.kind, action.by, action.text, action.reason) for action in actions]


LEAVE = "Leave it where it lies."
WHY = "The chance that it comes up as hoped outdoors is 20%; 80% is wanted."
LIFTED = "plant out from 2010-05-04, which does well in 12 of 13 endings."
SPARE = "a batch of spare seed in the cold, 100 days before planting out on 2010-05-30: by 2010-02-19."


@pytest.mark.parametrize(
    ("complete", "chance", "text", "reason"),
    [
        (False, 0.85, LEAVE, "The chance that it comes up as hoped is 85%."),
        (
            True,
            0.85,
            LEAVE,
            "Half of the lot has all the chill it needs. The chance that it comes up as hoped is 85%.",
        ),
        (
            True,
            0.4,
            "Leave it where it lies; cold in a refrigerator would not help it.",
            "Half of the lot has all the chill it needs. The chance that it comes up as hoped is only 40%, but its "
            "recipe does not end with cold.",
        ),
    ],
)
def test_a_sowing_that_is_left_where_it_lies(complete: bool, chance: float, text: str, reason: str) -> None:
    assert said(None, chance, complete=complete) == [("wait", None, text, reason)]


@pytest.mark.parametrize(
    ("owed", "cold", "words"),
    [
        ((30.0, 45.0), (1.0, 5.0), "give it the cold still owed, 30 days, 45 at most, moist at 1 to 5 °C"),
        ((29.6, 30.4), (4.0, 4.0), "give it the cold still owed, 30 days, moist at 4 °C"),
        ((1.0, 1.2), (0.5, 5.0), "give it the cold still owed, 1 day, moist at 0.5 to 5 °C"),
        ((0.2, 1.0), (1.0, 5.0), "give it the cold still owed, 0 days, 1 at most, moist at 1 to 5 °C"),
        (
            (0.0, 0.9),
            (1.0, 5.0),
            "keep it in the cold until it is planted out, watching for sprouts, moist at 1 to 5 °C",
        ),
    ],
)
def test_a_sowing_that_is_lifted(owed: tuple[float, float], cold: tuple[float, float], words: str) -> None:
    opening = "If it lies in a bag or tray, lift it by 2010-03-20 and"
    lift = ("lift", date(2010, 3, 20), f"{opening} {words}; {LIFTED}", WHY)
    spare = ("spare seed", date(2010, 2, 19), f"Or start {SPARE}", WHY)
    assert said(replace(LIFT, owed=owed, cold=cold)) == [lift, spare]


def test_spare_seed_where_lifting_cannot_be_reckoned() -> None:
    assert said(UNKNOWN) == [("spare seed", date(2010, 2, 19), f"Start {SPARE}", WHY)]


@pytest.mark.parametrize(
    ("days", "by", "text"),
    [
        (
            149,
            TODAY,
            "Start a batch of spare seed in the cold, 149 days before planting out: started today it is ready on "
            "2010-06-30, later than the best day, 2010-05-30.",
        ),
        (
            150,
            date(2011, 1, 31),
            "Keep spare seed for next spring and begin it by 2011-01-31: begun today it would be ready on 2010-07-01, "
            "after this year's planting time.",
        ),
    ],
)
def test_spare_seed_that_is_late(days: int, by: date, text: str) -> None:
    """Begun today it is ready on the last day of planting, or on the day after."""
    late = replace(UNKNOWN, spare_days=days, spare_by=date(2010, 1, 31))
    assert said(late) == [("spare seed", by, text, WHY)]
    (_, beside) = said(replace(late, owed=LIFT.owed, good=12))
    assert beside[2].startswith(("Or start a batch", "Or keep spare seed"))


def test_spare_seed_that_may_be_begun_today_is_in_time() -> None:
    assert said(replace(UNKNOWN, spare_by=TODAY))[0][2].endswith("planting out on 2010-05-30: by 2010-02-01.")


def test_nothing_that_does_better() -> None:
    chance = "The chance that it comes up as hoped is 50%;"
    finished = (
        f"{chance} finished in the cold and planted out on 2010-05-04 it would do no better (6 of 13 endings), nor "
        "would spare seed."
    )
    unknown = (
        f"{chance} its last cold has not begun, so lifting it cannot be estimated, and spare seed would do no better "
        "(5 of 13 endings)."
    )
    assert said(replace(LIFT, good=6, spare_good=5), 0.5) == [("wait", None, LEAVE, finished)]
    assert said(replace(UNKNOWN, spare_good=5), 0.5) == [("wait", None, LEAVE, unknown)]


def test_a_sowing_that_usually_comes_up_in_a_later_spring() -> None:
    left = (
        "wait",
        None,
        "Leave it where it lies, marked, moist and safe from mice.",
        "Sown on this day it usually comes up in spring 2011: nothing is lost yet.",
    )
    poor = replace(LIFT, endings=15, good=11)
    assert said(poor, later=2011) == [left]
    assert said(replace(UNKNOWN, endings=15, good=12), later=2011) == [left]
    lift, spare = said(replace(poor, good=12), later=2011)
    assert (lift[0], spare[0]) == ("lift", "spare seed")
    assert lift[3] == spare[3] == f"{WHY} Left where it lies it usually comes up in spring 2011."
    assert said(poor, complete=True, later=2011)[0][0] == "lift"


def test_a_cover_from_a_fifth_of_the_endings_on() -> None:
    cover = (date(2010, 3, 1), date(2010, 5, 5))
    words = (
        "cover",
        date(2010, 3, 1),
        "Have fleece or a deep mulch ready from 2010-03-01 until 2010-05-05 and cover on nights of hard frost (common "
        "practice, no source).",
        "In 20% of the endings it wakes early and frost takes at least a quarter of it.",
    )
    assert said(LIFT, 0.9, harmed=0.2, cover=cover)[1:] == [words]
    assert said(LIFT, 0.9, harmed=0.19, cover=cover)[1:] == []
    assert said(LIFT, 0.9, harmed=0.9)[1:] == []


def test_what_is_said_after_the_planting_time_and_before_a_sowing() -> None:
    assert season_over(0.3, 0.8) == Action(
        "wait",
        None,
        "Leave the bed as it is, marked, until the next spring.",
        "This season's planting time is over. The chance that it came up as hoped is 30%; what lies dormant may come "
        "in the next spring.",
    )
    assert unsown(date(2010, 2, 9), 0.3) == Action(
        "wait",
        None,
        "Do not sow it on 2010-02-09.",
        "The chance that it would come up as hoped is 30%. When to sow it, or to chill it indoors, says "
        "chillplan plan.",
    )
