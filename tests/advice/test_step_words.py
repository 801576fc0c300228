"""Steps, cautions, reasons and what an answer rests on, word by word, for small inputs made by hand."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from chillplan import verdicts
from chillplan.advice.calendar_dates import count_back, count_on, depth_words, weekly
from chillplan.advice.reasons import Elsewhere, changes_of, reason_of, wants_changes
from chillplan.advice.rests_on import AtEdge, RestsOn, turns
from chillplan.advice.result import Step
from chillplan.advice.tasks import label_of
from chillplan.advice.wording import (
    COLLECTING,
    LIFTING,
    MOULD,
    cautions_for,
    coat_words,
    phase_words,
    recipe_words,
)
from chillplan.seasons.response import EDGES
from chillplan.seeds.recipe import CoatStep, Phase, Recipe, Species
from chillplan.seeds.simulate import FATES
from tests.advice.test_verdicts import cold, species, warm

OUT = date(2027, 5, 1)
TWICE = (CoatStep("scarify"), CoatStep("soak", (24.0, 48.0)))
WARM_FIRST = species(warm(29.5, 60.0), cold(30.0, 90.0), coat=TWICE, depth_cm=(1.0, 2.0))


def told(steps: tuple[Step, ...]) -> list[tuple[str, str, str, str]]:
    return [(str(step.date_from), str(step.date_to), step.kind, step.text) for step in steps]


COAT = "scarify; then soak, 24 to 48 hours"
WARM = "keep warm indoors, warm moist, 29.5 to 60 days"
COLD = "into the refrigerator, cold moist, 30 to 90 days, 1 to 5 °C"
PLANT = "plant out, 1 to 2 cm deep"


def test_steps_counted_back_from_the_day_of_planting() -> None:
    dates = count_back(WARM_FIRST, WARM_FIRST.recipe, OUT)
    assert told(dates.steps) == [
        ("2026-11-30", "2026-12-02", "coat", COAT),
        ("2026-12-02", "2027-01-31", "warm phase", WARM),
        ("2027-01-31", "2027-05-01", "cold phase", COLD),
        ("2027-05-01", "2027-05-01", "plant out", PLANT),
    ]
    assert (dates.prepare, dates.into_cold) == (date(2026, 11, 30), date(2027, 1, 31))
    assert (dates.checks[0], dates.checks[-1]) == (date(2026, 12, 9), date(2027, 4, 28))
    bare = species(Phase("cold", (0.0, 0.0)))
    dates = count_back(bare, bare.recipe, OUT)
    assert (dates.prepare, dates.into_cold, dates.checks) == (OUT, None, ())
    assert [step.kind for step in dates.steps] == ["plant out"]


def test_steps_counted_on_from_the_day_on_which_fresh_seed_is_there() -> None:
    dates = count_on(WARM_FIRST, WARM_FIRST.recipe, date(2026, 9, 1), OUT)
    assert told(dates.steps) == [
        ("2026-09-01", "2026-09-03", "coat", COAT),
        ("2026-09-03", "2026-11-02", "warm phase", WARM),
        ("2026-11-02", "2027-05-01", "cold phase", f"{COLD}; it stays there until planting out"),
        ("2027-05-01", "2027-05-01", "plant out", PLANT),
    ]
    assert (dates.prepare, dates.into_cold, dates.checks[0]) == (
        date(2026, 9, 1),
        date(2026, 11, 2),
        date(2026, 9, 10),
    )


def test_looks_are_weekly_and_none_is_on_the_day_of_planting() -> None:
    assert weekly(date(2027, 4, 17), OUT) == (date(2027, 4, 24),)
    assert weekly(date(2027, 4, 16), OUT) == (date(2027, 4, 23), date(2027, 4, 30))
    assert weekly(date(2027, 4, 24), OUT) == ()


@pytest.mark.parametrize(
    ("depth", "words"),
    [
        ((0.0, 0.0), "on the surface, pressed in, not covered"),
        ((0.0, 0.5), "0 to 0.5 cm deep"),
        ((2.0, 2.0), "2 cm deep"),
    ],
)
def test_how_deep(depth: tuple[float, float], words: str) -> None:
    assert depth_words(species(depth_cm=depth)) == words


def test_treatments_in_words() -> None:
    hot = CoatStep("hot water", (12.0, 24.0), temperature=(80.0, 90.0), detail="one part seed, six parts water")
    assert coat_words(hot) == (
        "hot water, 80 to 90 °C, off the stove and left to cool, 12 to 24 hours (one part seed, six parts water)"
    )
    assert coat_words(CoatStep("soak", (0.05, 0.25))) == "soak, 3 to 15 minutes"
    assert coat_words(CoatStep("soak", (0.5, 1.0))) == "soak, 0.5 to 1 hours"
    assert phase_words(Phase("cold", (45.0, 60.0), spread_assumed=True)) == "cold moist, 60 days"
    assert phase_words(Phase("cold", (60.0, 60.0), (4.0, 4.0))) == "cold moist, 60 days, 4 °C"
    assert recipe_words(Recipe("usual")) == "no pretreatment"
    assert recipe_words(Recipe("usual", TWICE, (cold(30.0, 90.0),))) == (
        "scarify; soak, 24 to 48 hours; cold moist, 30 to 90 days, 1 to 5 °C"
    )


CAUTIONS = {
    "scarify": "Blade, file or sandpaper: hold the seed in a clamp, cut away from the hand and away from the embryo, "
    "wear eye protection.",
    "crack": "Cracking: wear eye protection, keep fingers clear of the vice, stop when the shell gives.",
    "hot water": "Boiling water scalds: take the pot off the heat first, pour slowly, keep children away, let it cool.",
    "dry heat": "Dry heat: use an oven with a thermometer, never an open fire; follow local fire rules.",
    "smoke water": "Smoke: use bought smoke water where you can; a fire outdoors only as local fire rules allow.",
    "peroxide rinse": "Peroxide bleaches and burns: gloves and eye protection, follow the label.",
}


def test_every_hazard_keeps_its_caution_and_none_comes_twice() -> None:
    assert (
        MOULD == "Mould in the bag: open it outdoors or by a window, do not breathe the dust, throw out what is soft."
    )
    assert LIFTING == (
        "Lifting: wear gloves, take bag or tray up whole, never force it from frozen ground; keep it moist and cool on "
        "the way, and plant at once what has sprouted."
    )
    assert COLLECTING == (
        "Collect wild seed only where local law and the landowner allow it; many species are protected."
    )
    steps = tuple(CoatStep(action) for action in (*CAUTIONS, "soak", "scarify"))
    one = species(cold(30.0, 60.0), coat=steps, cautions=("Its sap burns.",))
    whole = ("Its sap burns.", *CAUTIONS.values(), MOULD, COLLECTING)
    assert cautions_for(one, one.recipe) == whole
    assert cautions_for(one, one.recipe, lifted=True) == (*whole[:-2], LIFTING, *whole[-2:])
    plain = species()
    assert cautions_for(plain, plain.recipe) == (COLLECTING,)


def test_a_label_leaves_the_date_open_where_there_is_a_choice() -> None:
    advice: Any = SimpleNamespace(species=species())
    name = "Planta exempli (example plant)"
    day, later = date(2026, 10, 1), date(2026, 10, 9)
    assert label_of(advice, Step(day, later, "sow", "")) == f"{name}; sown on ________"
    assert label_of(advice, Step(day, day, "sow", "")) == f"{name}; started 2026-10-01"
    assert label_of(advice, Step(day, later, "cold phase", "")) == f"{name}; started 2026-10-01"


def rests(**values: object) -> tuple[str, ...]:
    plain = RestsOn("observed", 100.4, None, "short grass", None, None)
    return RestsOn(**{**plain.__dict__, **values}).sentences  # type: ignore[arg-type]


def test_what_an_answer_rests_on() -> None:
    assert rests() == ()
    assert rests(chill_modelled_snow=91.6) == (
        "Snow is the depth observed; modelled from precipitation, median effective chill would be 92 days instead of "
        "100.",
    )
    mulch = "What straw mulch does is assumed, not measured: against short grass it moves median effective chill by "
    end = "; a logger under it and soilcheck --calibrate would tell."
    assert rests(cover="straw mulch", chill_cover=-3.2) == (f"{mulch}-3 days{end}",)
    assert rests(cover="straw mulch", chill_cover=3.2, date_cover=7.0) == (
        f"{mulch}+3 days, the date the seed zone reaches 10 °C by +7{end}",
    )
    assert rests(chill_cover=3.2) == ()  # short grass is measured
    assert turns(()) == ()
    assert turns([AtEdge(EDGES[0], "either", 30, 40), AtEdge(EDGES[1], "chill-in-fridge", 9, 40)]) == (
        "It hangs on edges of chill that are not well known: it would turn to either if chill counted down to -5 °C "
        f"(30 of 40 winters), to chill in fridge if {EDGES[1].words} (9 of 40 winters).",
    )


DATES = {
    "sow_from": date(2026, 10, 1),
    "sow_to": date(2026, 11, 20),
    "best": date(2026, 10, 20),
    "plant_out": date(2027, 5, 4),
    "lift": date(2027, 3, 15),
}


def decision(verdict: str, one: Species, worst: str = "still dormant", good: int = 9, autumn: int = 2) -> Any:
    """Ten winters, of the best autumn sowing half lost in one way; chill of 20 to 60 days."""
    shares = np.zeros((len(FATES), 1, 10))
    shares[0], shares[FATES.index(worst)] = 0.4, 0.6
    fates = SimpleNamespace(shares=shares, share_up=shares[0])
    window = SimpleNamespace(good=autumn, best=0, meets=False)
    case = SimpleNamespace(
        species=one,
        recipe=one.recipe,
        fates=fates,
        autumn=window,
        indoors=SimpleNamespace(good=5),
        finish=None,
        chill=np.linspace(20.0, 60.0, 11),
        day=lambda _: 80,
    )
    return SimpleNamespace(case=case, verdict=verdict, good=good, winters=10, borderline=False, chance=0.9)


def reason(verdict: str, one: Species, cool: bool = False, dates: dict[str, date] | None = None, **more: Any) -> str:
    judge: Any = SimpleNamespace(is_cool=lambda _: cool)
    return reason_of(judge, decision(verdict, one, **more), {**DATES, **(dates or {})})


NEEDS = species(cold(30.0, 70.0))
CHILL = "effective chill after that sowing 21 to 59 days, median 40"
"""Percentiles at their place among n + 1: of the eleven at 1.2 and 10.8."""
DORMANT = "most of the loss is seed still dormant when the season ends"


@pytest.mark.parametrize(
    ("one", "need"),
    [
        (NEEDS, "Needs 30 to 70 days cold"),
        (species(warm(60.0, 60.0), cold(30.0, 70.0)), "Needs 60 days warm then 30 to 70 days cold"),
        (species(), "No chill is needed"),
        (species(Phase("cold", (0.0, 0.0))), "No chill is needed"),
        (species(coat=(CoatStep("scarify"),), hard=True), "No chill is needed once the coat is opened"),
        (species(coat=(CoatStep("soak", (24.0, 24.0)),)), "No chill is needed"),
    ],
)
def test_reasons_for_sowing(one: Species, need: str) -> None:
    half = "at least half the seed is up in 9 of 10 winters"
    window = "between 1 October and 20 November"
    assert reason(verdicts.AUTUMN, one) == f"{need}, and sown {window} {half} ({CHILL})."
    assert reason(verdicts.EITHER, one, dates={"sow_to": date(2026, 10, 1)}) == (
        f"{need}, and sown on 1 October {half} ({CHILL}); a refrigerator does it as well."
    )
    assert reason(verdicts.SPRING, one) == f"{need}: sown in spring, {half}."


def test_reasons_against_sowing() -> None:
    failing = (
        f"Needs 30 to 70 days cold; the best autumn sowing (20 October) is good in only 2 of 10 winters, {DORMANT}"
    )
    assert reason(verdicts.REFRIGERATOR, NEEDS) == (
        f"{failing} ({CHILL}); chilled indoors and planted out 4 May: 9 of 10 winters."
    )
    assert reason(verdicts.TWO_WINTERS, NEEDS) == (
        f"{failing}; sown between 1 October and 20 November and left in place, it is up by the second spring in 9 of "
        "10 winters."
    )
    assert reason(verdicts.NOT_HERE, NEEDS) == (
        f"{failing}; treated indoors the best planting out is good in 5 of 10 winters, too few for the risk taken."
    )
    never = reason(verdicts.NOT_HERE, NEEDS, cool=True, autumn=0)
    assert never.startswith(
        "Needs 30 to 70 days cold; the best autumn sowing in ground cool enough (20 October) is good in none of 10 "
        f"winters, {DORMANT};"
    )


@pytest.mark.parametrize(
    ("one", "worst", "words"),
    [
        (NEEDS, "up too late", "most of the loss is seed that comes up too late to establish"),
        (NEEDS, "sprouted in autumn", "most of the loss is seed that sprouts in autumn and freezes"),
        (
            species(cold(30.0, 40.0)),
            "still dormant",
            "most of the loss is seed that the season is too cool to bring up, chilled as it is",
        ),
        (species(cold(30.0, 40.1)), "still dormant", DORMANT),
        (species(cold(30.0, 40.0), hard=True), "still dormant", DORMANT),
        (species(warm(9.0, 9.0), cold(30.0, 40.0)), "still dormant", DORMANT),
    ],
)
def test_what_becomes_of_the_seed_that_is_lost(one: Species, worst: str, words: str) -> None:
    assert f"winters, {words} (" in reason(verdicts.REFRIGERATOR, one, worst=worst)


def spare(*chill: float, days: float = 70.0) -> str:
    """What is said of the cold that a winter has, or lacks, for this need."""
    one = species(cold(30.0, days))
    gain = np.zeros((400, len(chill)))
    gain[200] = chill
    winters = SimpleNamespace(lead=0, gain=lambda _: gain)
    case = decision(verdicts.EITHER, one).case
    case.starts, case.fates.share_up = np.array([80]), np.full((1, 10), 0.4)
    judge: Any = SimpleNamespace(winters=winters, target=0.5, seed=lambda _: SimpleNamespace(ready=0))
    made: Any = SimpleNamespace(case=case, verdict=verdicts.EITHER, good=9, winters=10)
    case.autumn.good = 0
    return changes_of(judge, made, ())[0]


@pytest.mark.parametrize(
    ("chill", "words"),
    [
        ((70.0, 70.0), "Even a poor winter (one in ten) has 0 days of chill to spare for nine seeds in ten."),
        ((71.0, 71.0), "Even a poor winter (one in ten) has 1 day of chill to spare for nine seeds in ten."),
        (
            (60.0, 90.0),
            "For nine seeds in ten a median winter has 5 days of chill to spare, a poor one (one in ten) is 10 "
            "days short.",
        ),
        (
            (40.0, 60.0),
            "For nine seeds in ten a median winter is 20 days of chill short, a poor one (one in ten) 30 days.",
        ),
    ],
)
def test_how_much_cold_a_winter_has_to_spare(chill: tuple[float, ...], words: str) -> None:
    assert spare(*chill) == words


def test_verdicts_elsewhere_are_gathered_by_what_they_turn_to() -> None:
    from chillplan.advice.reasons import _elsewhere

    made: Any = SimpleNamespace(verdict=verdicts.AUTUMN)
    others = [("1 °C warmer", verdicts.AUTUMN, 8), ("2 °C warmer", verdicts.REFRIGERATOR, 7), ("mulched", "either", 9)]
    elsewhere = [
        Elsewhere(words, SimpleNamespace(verdict=verdict, good=good, winters=10))  # type: ignore[arg-type]
        for words, verdict, good in [*others, ("on a slope", verdicts.REFRIGERATOR, 6)]
    ]
    assert _elsewhere(made, elsewhere) == [
        "It would turn to chill in fridge 2 °C warmer (7 of 10 winters), on a slope (6 of 10 winters).",
        "It would turn to either mulched (9 of 10 winters).",
        "It stays sow in autumn 1 °C warmer (8 of 10 winters).",
    ]


@pytest.mark.parametrize(
    ("good", "winters", "chance", "borderline", "wanted"),
    [
        (95, 100, 0.95, False, True),
        (96, 100, 0.96, False, False),
        (65, 100, 0.65, False, True),
        (64, 100, 0.64, False, False),
        (64, 100, 0.64, True, True),
        (64, 100, 0.8, False, True),
        (100, 100, 0.79, False, True),
        (0, 0, 0.0, True, False),
    ],
)
def test_changes_are_told_near_the_line_and_where_chance_and_count_disagree(
    good: int, winters: int, chance: float, borderline: bool, wanted: bool
) -> None:
    judge: Any = SimpleNamespace(accept=0.8)
    made: Any = SimpleNamespace(good=good, winters=winters, chance=chance, borderline=borderline)
    assert wants_changes(judge, made) is wanted
