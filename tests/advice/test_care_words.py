"""What is said of mould, drying, sprouts and the start of a batch, word by word as the grower reads it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from chillplan.advice.care import (
    COMMON_PRACTICE,
    Advice,
    check_interval,
    drying_advice,
    mould_advice,
    place_note,
    sprout_advice,
    start_notes,
)
from chillplan.seeds.recipe import Phase, Recipe

TODAY = date(2027, 3, 1)
COLD = (-2.0, 1.0, 7.0, 12.0)


def told(advices: tuple[Advice, ...]) -> list[str]:
    """Action, reason and source of each, the source where there is one."""
    return [
        f"{one.action} | {one.reason}" + ("" if one.standing == COMMON_PRACTICE else f" | {one.standing}")
        for one in advices
    ]


MOULD = [
    "Open the bag outdoors or under a hood, with gloves and a mask, and not beside food. | Spores irritate lungs and "
    "eyes; people with asthma or weak immunity leave this to others.",
    "Take out every soft or hollow seed. Press the rest: a firm seed with mould on its skin is often sound; cut one to "
    "see white inside. | Mould lives first on dead seed, pulp and dirty medium.",
    "Rinse the firm seed; at choice soak it 10 to 20 minutes in 1 part household peroxide (3 %) to 3 parts water, with "
    "gloves and eye protection, then rinse well. | Stronger peroxide burns skin and harms seed. | rinse as in two "
    "federal nursery protocols (Reforestation, Nurseries and Genetic Resources, Prunus; Native Plant Network protocol "
    "179); the rest common practice, no source",
    "Put it into fresh, clean medium as wet as a wrung-out cloth, in a clean bag with air in it; back into the cold "
    "the same day, and look again in 2 days. | Too wet and too little air feed the next mould; the chill done so far "
    "stands.",
]


def test_mould() -> None:
    assert told(mould_advice()) == told(mould_advice(1)) == MOULD
    assert told(mould_advice(3)) == [
        *MOULD,
        "Cut ten seeds. If most are brown or empty, close the batch and start another from the same lot. | Mould was "
        "found at 3 looks in a row: much of the seed may be dead.",
    ]
    assert len(mould_advice(2)) == len(MOULD) + 1


def test_the_look_after_mould_is_when_the_advice_says() -> None:
    assert f"look again in {check_interval(0.0, 'mould')} days" in mould_advice()[-1].action
    assert [check_interval(2 / 3, None), check_interval(0.66, None)] == [3, 7]


def test_drying() -> None:
    dry = [
        "Moisten with cold water a little at a time until the medium is as wet as a wrung-out cloth and no water runs "
        "when it is squeezed; close the bag better, leaving air in it. | Only moist seed chills: days spent dry do not "
        "count."
    ]
    assert told(drying_advice(0.5)) == dry
    assert told(drying_advice(0.51)) == [
        *dry,
        "Add the days it may have lain dry to the cold, and cut a few seeds to see whether they are sound. | Seed that "
        "dries late in its chilling can die or go back into deeper dormancy. | reported by a native seed nursery "
        "(Western Native Seed, germination tips); no figure in it",
    ]


@pytest.mark.parametrize(
    ("stage", "days", "words"),
    [
        (
            "shoot",
            None,
            "Pot the sprouted seed up, root down, and keep it at 2 to 10 °C in bright light, frost-free. | No frost "
            "date is known for this batch: potting is safe either way. Give one with --frost-free to have the outlook "
            "weighed.",
        ),
        (
            "root",
            0,
            "Sow the sprouted seed now, outdoors, at its usual depth into moist ground; do not let it dry on the way. "
            "| 2027-03-01, from when it was thought safe, has come; look at this week's forecast first.",
        ),
        (
            "root",
            21,
            "Hold the sprouted seed at 0.5 to 2 °C, moist and with air, until 2027-03-22, then sow it; look every 2 to "
            "3 days and pot it up when roots pass about 1 cm. | Killing frost is unlikely only in 21 days; near "
            "freezing the root hardly grows.",
        ),
        (
            "shoot",
            21,
            "Pot the shoots up at 2 to 10 °C in bright light; plant out from 2027-03-22 and have a cover ready. | "
            "Killing frost is unlikely only in 21 days; a shoot cannot be held in the dark.",
        ),
        (
            "shoot",
            22,
            "Pot the sprouted seed up, root down, and keep it at 2 to 10 °C in bright light, frost-free, as cool as it "
            "grows on; plant out from 2027-03-23. Do not put it into a warm room and do not sow it outdoors now. | "
            "Killing frost is unlikely only in 22 days: too long to hold a sprout in the dark.",
        ),
    ],
)
def test_the_sprouted_seed(stage: str, days: int | None, words: str) -> None:
    safe = None if days is None else TODAY + timedelta(days)
    assert told(sprout_advice(stage, 1, 10, TODAY, safe))[0] == words
    if safe is not None:
        planned = told(sprout_advice(stage, 1, 10, TODAY, None, safe))[0]
        assert planned == words.replace("Killing frost is unlikely only", "The planned planting is")
        assert (
            told(sprout_advice(stage, 1, 10, TODAY, safe, TODAY + timedelta(90)))[0] == words
        )  # the frost date counts


READY = (
    "Treat the rest as ready too: plan to sow or pot the whole batch within a week or two. | {} have sprouted; the "
    "others follow soon, and roots grow too long in the cold. | long roots after over-long cold: Tree Planters' Notes "
    "49(3), hawthorn; the share is our assumption"
)
UNKNOWN = (
    "Pick the sprouted seed out; leave the rest in the cold unless about a third has sprouted. | The number of seeds "
    "in this batch is not recorded."
)


@pytest.mark.parametrize(
    ("sprouted", "seeds", "words"),
    [
        (1, 3, READY.format("1 of 3")),
        (
            33,
            100,
            "Pick the sprouted seed out and leave the rest in the cold. | 33 of 100 have sprouted: the others still "
            "need their days.",
        ),
        (33, None, UNKNOWN),
        (33, 0, UNKNOWN),
    ],
)
def test_the_seed_that_has_not_sprouted(sprouted: int, seeds: int | None, words: str) -> None:
    assert told(sprout_advice("root", sprouted, seeds, TODAY, None))[1] == words


def test_how_sprouts_are_handled() -> None:
    root = (
        "Lift each sprout with its medium, never by the root, and plant with the root down; never let it dry. | A root "
        "tip that breaks or dries is seldom replaced."
    )
    shoot = "Give light the same day and shade from strong sun for the first week. | Shoots grown in the dark burn."
    for stage, words in (("root tip", root), ("root", root), ("", root), ("shoot", shoot)):
        assert told(sprout_advice(stage, 1, 10, TODAY, None))[2:] == [words]


def test_a_place_that_gives_half_a_day_is_good_enough() -> None:
    """Between 7 and 12 °C the share falls from a whole day to none: half of it at 9.5 °C."""
    assert place_note("cold", COLD, (1.0, 5.0), 9.5) == ""
    else_where = (
        "If it lies elsewhere, take the entry back (`chillplan batch undo`) and name the place with --place and --set."
    )
    for asked, asks in (((1.0, 5.0), "; it asks for 1 to 5 °C"), ((4.0, 4.0), "; it asks for 4 °C"), (None, "")):
        words = f"At 9.6 °C a day counts 48% of a day for its cold phase{asks}. {else_where}"
        assert place_note("cold", COLD, asked, 9.6) == words


@pytest.mark.parametrize(
    ("wait", "base", "words"),
    [
        (
            -1,
            0.0,
            "Nine seeds in ten are ready about 2027-06-12, 1 day after the planting date 2027-06-11: plant later, or "
            "expect fewer.",
        ),
        (0, 0.0, ""),
        (14, 0.0, ""),
        (
            15,
            3.9,
            "Nine seeds in ten are ready about 2027-06-12, 15 days before the planting date 2027-06-27, and may sprout "
            "in the bag: begin about 2027-03-16 instead, or plant earlier.",
        ),
        (
            15,
            4.0,
            "Nine seeds in ten are ready about 2027-06-12, 15 days before the planting date 2027-06-27: begin about "
            "2027-03-16 instead, or plant earlier.",
        ),
    ],
)
def test_a_planting_date_against_all_phases(wait: int, base: float, words: str) -> None:
    """60 and 43 days from 1 March end on 12 June; a phase of no days is none."""
    recipe = Recipe("usual", (), (Phase("warm", (0.0, 0.0)), Phase("cold", (40.0, 59.2)), Phase("cold", (20.0, 43.0))))
    found = start_notes(recipe, 4.0, TODAY, date(2027, 6, 12) + timedelta(wait), base)
    assert found == ((words,) if words else ())


def test_a_recipe_of_no_days_is_not_kept_in_the_cold() -> None:
    (note,) = start_notes(Recipe("usual", (), (Phase("cold", (0.0, 0.0)),)), 4.0, TODAY, None)
    assert (
        note == "It needs neither cold nor warmth: sow it once its coat is treated; a batch in the cold gains nothing."
    )
