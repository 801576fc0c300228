"""Notes and tasks of whole plans, word by word, on days on which a season is still open, closing and over."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from chillplan.advice.plan import Request, plant_out_index, season_asked
from chillplan.advice.result import Plan
from chillplan.errors import InputError
from chillplan.seeds.recipe import CoatStep, Species
from tests.advice.test_verdicts import TEMPERATE, WARM, cold, planned, species

SOAKED = species(cold(150, 180), coat=(CoatStep("soak", (24.0, 24.0)),))
PLAIN = species(cold(60, 90))
OWED = (
    "How much cold is owed differs from winter to winter: before lifting, ask chillplan season whether it is needed "
    "and for how long."
)
BORDERLINE = "Borderline: the error of the seed-zone estimate alone could turn this verdict."
CLOSED = "The outdoor window of this season has closed; the dates outdoors are for the next season."
NO_TIME = "There is no time left to treat seed indoors for this spring; those dates are for the next season."


def begun(today: date) -> Plan:
    return planned(TEMPERATE, SOAKED, today=today, season=2026)


def indoors(plan: Plan, opening: str) -> str:
    fridge = plan.species[0].fridge
    assert fridge is not None
    return f"{opening} wholly indoors: from {fridge.prepare}, planted out {fridge.plant_out}, good in 13 of 13 winters."


NO_VISIT = "Where no visit in late winter is possible, chill it"


def test_notes_of_seed_that_is_begun_outdoors_through_the_year() -> None:
    open_yet = begun(date(2026, 9, 1))
    assert open_yet.species[0].notes == (indoors(open_yet, NO_VISIT), OWED, BORDERLINE)
    lift = open_yet.species[0].top_up and open_yet.species[0].top_up.lift
    lifted = (
        f"Seed that was sown in this season's window is still to be lifted, by {lift}: chillplan season says how much "
    )
    lifted += "cold it owes."
    winter = begun(date(2026, 12, 20))
    now = indoors(winter, "This season it can still be chilled")
    assert winter.species[0].notes == (CLOSED, lifted, now, OWED, BORDERLINE)
    late = begun(date(2027, 2, 1))
    assert late.species[0].notes == (CLOSED, NO_TIME, lifted, indoors(late, NO_VISIT), OWED, BORDERLINE)
    over = begun(date(2027, 6, 1))
    assert over.species[0].notes == (CLOSED, NO_TIME, indoors(over, NO_VISIT), OWED, BORDERLINE)


def test_notes_of_seed_that_is_chilled_indoors() -> None:
    for today, notes in ((date(2026, 9, 1), ()), (date(2027, 3, 25), ()), (date(2027, 6, 1), (NO_TIME,))):
        assert planned(WARM, PLAIN, today=today, season=2026).species[0].notes == notes
    asked = planned(WARM, PLAIN, today=date(2027, 2, 1), plant_out=date(2027, 4, 1)).species[0]
    assert asked.notes == (
        "For planting out on 2027-04-01 the treatment had to begin on 2027-01-01: too late, unless your seed is in it "
        "already. Begun today it is ready on 2027-05-02.",
    )
    assert planned(WARM, PLAIN, today=date(2027, 1, 1), plant_out=date(2027, 4, 1)).species[0].notes == ()


LOOK = "check: look for mould and drying; plant at once what has sprouted"
NAME = "Planta exempli (example plant)"


def tasks(plan: Plan) -> list[tuple[str, str, str, int, str]]:
    """Key, action, place, minutes and label of all but the later looks."""
    return [
        (task.key, task.action, task.place, task.minutes, task.label)
        for task in plan.tasks
        if "/check/" not in task.key or task.key.endswith("/1")
    ]


def test_tasks_of_seed_that_is_begun_outdoors() -> None:
    plan = begun(date(2026, 9, 1))
    found = plan.species[0].top_up
    assert found is not None
    _, median, most = found.owed_days
    assert tasks(plan) == [
        ("top-up/coat/1", "soak, 24 hours, just before sowing", "shed", 30, ""),
        (
            "top-up/sow/1",
            "sow outdoors, 0.6 to 1.3 cm deep; in a mesh bag or a tray, to be lifted again",
            "hill",
            30,
            f"{NAME}; sown on ________",
        ),
        (
            "top-up/lift/1",
            "lift the seed before the soil warms, bag or tray whole; home the same day, moist and cool",
            "hill",
            20,
            "",
        ),
        ("top-up/check/1", LOOK, "refrigerator", 10, ""),
        (
            "top-up/cold phase/1",
            f"into the refrigerator for the cold still owed, {median:.0f} days in a median winter and {most:.0f} in a "
            "poor one, 1 to 5 °C, moist; what is done earlier stays there until planting out",
            "refrigerator",
            20,
            f"{NAME}; started {found.lift}",
        ),
        ("top-up/plant out/1", "plant out, 0.6 to 1.3 cm deep", "hill", 45, ""),
    ]
    assert found.lift_from == found.lift - timedelta(14)
    assert found.spared_days == pytest.approx(180.0 - median)


def test_tasks_of_seed_that_is_chilled_indoors() -> None:
    plan = planned(WARM, PLAIN, today=date(2026, 9, 1), season=2026)
    fridge = plan.species[0].fridge
    assert fridge is not None
    assert tasks(plan) == [
        (
            "fridge/cold phase/1",
            "into the refrigerator, cold moist, 60 to 90 days, 1 to 5 °C",
            "refrigerator",
            20,
            f"{NAME}; started {fridge.into_cold}",
        ),
        ("fridge/check/1", LOOK, "refrigerator", 10, ""),
        ("fridge/plant out/1", "plant out, 0.6 to 1.3 cm deep", "hill", 45, ""),
    ]
    looks = [task for task in plan.tasks if "/check/" in task.key]
    often = [task.date_from for task in looks if task.action == f"{LOOK} (from now on every 2 to 3 days)"]
    assert often == [task.date_from for task in looks if task.date_from >= fridge.prepare + timedelta(60)]
    assert all((task.date_to - task.date_from).days == 2 for task in looks)


def test_a_sowing_that_is_left_says_what_to_do_at_the_bed() -> None:
    def sown(one: Species) -> list[str]:
        way = planned(TEMPERATE, one, today=date(2026, 9, 1), season=2026).species[0].outdoors
        assert way is not None
        return [step.text for step in way.steps]

    assert sown(species(cold(30, 60))) == ["sow outdoors, 0.6 to 1.3 cm deep; mark the bed with name and date"]
    assert sown(species(cold(30, 60), coat=(CoatStep("scarify"), CoatStep("soak", (24.0, 24.0))))) == [
        "scarify; then soak, 24 hours, just before sowing",
        "sow outdoors, 0.6 to 1.3 cm deep; mark the bed with name and date",
    ]


def refusal(request: Request) -> tuple[str, ...]:
    with pytest.raises(InputError) as refused:
        season = season_asked(request, False)
        assert request.plant_out is not None
        plant_out_index(request.plant_out, season, False, request.today)
    return refused.value.problems


def test_a_season_or_a_planting_date_that_cannot_be() -> None:
    today = date(2027, 8, 1)
    assert refusal(Request(today, 2026)) == (
        "season 2026 ended on 2027-07-31, before today, 2027-08-01: pass a later --season, or the day to plan on with "
        "--today",
    )
    assert season_asked(Request(today, 2027), False) == season_asked(Request(date(2027, 7, 31), 2027), False) == 2027
    assert season_asked(Request(date(2027, 7, 31), 2026), False) == 2026
    assert refusal(Request(today, plant_out=date(2027, 7, 31))) == (
        "plant-out date 2027-07-31 is before today, 2027-08-01: give a date to come",
    )
    assert refusal(Request(today, 2027, plant_out=date(2029, 5, 1))) == (
        "plant-out date 2029-05-01 is outside the planting time of season 2027, 2028-01-01 to 2028-07-30: change it or "
        "pass --season",
    )
