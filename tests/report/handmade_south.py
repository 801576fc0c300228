"""A second plan written down figure by figure: south of the equator, four warm winters without frost, seed in lots."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from chillplan.advice.rests_on import RestsOn
from chillplan.advice.result import Fridge, Plan, SpeciesAdvice, Task
from chillplan.lot import Lot
from chillplan.seasons.cut import DAYS, SPIN_UP, Seasons
from chillplan.seasons.summary import Ground, Winters
from chillplan.seeds.recipe import CoatStep
from chillplan.site import Site
from tests.report.conftest import cold, species_of, warm
from tests.report.handmade import WHITE, hand_dates, hand_plan, outcomes, steps, task

YEARS = np.array([2001, 2002, 2004, 2005])
TODAY = date(2026, 5, 20)
HARD = species_of(
    "Gleda grandis", "grand gleda", warm(30, 40), cold(30, 45), coat=(CoatStep("scarify", None),), hard=True
)
LATE = replace(species_of("Hosta humilis", "low hosta", cold(60, 90)), seedling_limit=-2.0)


def winters() -> Winters:
    none, never = np.full(4, -np.inf), np.full(4, np.inf)
    return Winters(
        years=YEARS,
        chill_days=np.array([10.0, 20.0, 5.0, 15.0]),
        effective_chill=np.array([4.0, 8.0, 2.0, 6.0]),
        cold_days=np.zeros(4),
        last_spring_frost=dict.fromkeys((0.0, -2.0, -4.0), none),
        first_autumn_frost=dict.fromkeys((0.0, -2.0, -4.0), never),
        soil_warm={5.0: none, 10.0: none, 15.0: np.array([200.0, 210.0, np.inf, -np.inf])},
        mean_temperature=np.array([15.0, 15.5, 16.0, 15.2]),
    )


def seasons() -> Seasons:
    flat = np.ones((SPIN_UP + DAYS, 4))
    missing = "365 of 365 days missing"
    return Seasons(
        years=YEARS,
        southern=True,
        daily={"tmin": 10.0 * flat, "tmax": 20.0 * flat},
        observed=np.ones((DAYS, 4), dtype=bool),
        day_of_year=(np.arange(SPIN_UP + DAYS)[:, None] + np.zeros(4, dtype=int) + 277) % 365 + 1,
        left_out={1999: missing, 2000: missing, 2003: missing, 2006: "40 of 365 days missing"},
    )


def fridge(*looks: date, warmed: bool = False) -> Fridge:
    into = date(2026, 5, 18)
    before = [("coat", into - timedelta(days=1), into, "scarify with a file, 5 mm deep")]
    before += [("warm phase", into, date(2026, 6, 9), "40 days warm moist, 18 to 24 °C")] if warmed else []
    into = date(2026, 6, 9) if warmed else into
    return Fridge(
        prepare=date(2026, 5, 17),
        into_cold=into,
        checks=looks,
        plant_out=date(2026, 8, 20),
        steps=steps(
            *before,  # type: ignore[arg-type]
            ("cold phase", into, date(2026, 8, 20), "60 days cold moist, 1 to 5 °C"),
            ("plant out", date(2026, 8, 20), date(2026, 8, 22), "plant out"),
        ),
        good=3,
        winters=4,
        share_up=(0.4, 0.6, 0.8),
        outcomes=outcomes(0.604, 0.0, 0.196, 0.2, 0.0),
        meets=True,
    )


def looks(species: str, *days: date) -> list[Task]:
    return [
        Task(day, day, species, "check the bag", "refrigerator", 5, "", f"fridge/check/{number}")
        for number, day in enumerate(days, 1)
    ]


def south_plan() -> Plan:
    """Two lots of one species in the cold, one with a coat to open and warmth first; looked at on Thursdays."""
    thursdays = [date(2026, 5, 21) + timedelta(weeks=number) for number in range(10)]
    early, late = fridge(*thursdays[:3]), fridge(*thursdays[4:], warmed=True)
    base = hand_plan().species[0]
    dates = replace(hand_dates(), shares=hand_dates().shares * 0.2, good=hand_dates().good * 0)

    def advice(of: object, way: Fridge | None, verdict: str, **more: object) -> SpeciesAdvice:
        plain = {
            "species": of, "recipe": of.recipe, "verdict": verdict, "fridge": way, "outdoors": None,  # type: ignore[attr-defined]
            "good": 3, "winters": 4, "thin": True, "borderline": False, "chance": float("nan"),
            "by_winter": (0.7, 0.5, 0.03, 0.049), "by_date": dates, "cautions": (), "notes": (),
            "share_up": (0.4, 0.6, 0.8),
        }  # fmt: skip
        return replace(base, **(plain | more))  # type: ignore[arg-type]

    creek = Lot("Aster albus", lot="creek", seeds=40, picked=date(2026, 3, 2), where="upper wood", way="cold store")
    first = advice(
        replace(WHITE, name="Aster albus, creek", common_name="white aster, creek"), early, "chill-in-fridge",
        lot=creek, ready=date(2026, 4, 1), moist=True, ripe=(date(2026, 2, 20), date(2026, 3, 10)),
        chosen=frozenset({"cold store"}),
    )  # fmt: skip
    second = advice(HARD, late, "chill-in-fridge", cautions=("Thorns.", "Dust."))
    third = advice(LATE, None, "not-here", frozen=1)
    tasks = (
        *(task("fridge", step, "Gleda grandis", "shed", 10) for step in late.steps[:2]),
        *looks("Aster albus, creek", *thursdays[:3]),
        task("fridge", late.steps[2], "Gleda grandis", "refrigerator", 10),
        *looks("Gleda grandis", *thursdays[4:]),
        Task(
            date(2026, 7, 17), date(2026, 7, 17), "Hosta humilis", "store it dry at 4 °C", "shed", 5, "", "seed/store/1"
        ),
        task("fridge", late.steps[3], "Gleda grandis", "hill", 40),
    )
    return Plan(
        site=Site(-41.3, 174.8, name="South <Bank>", cover="leaf mulch", depth_cm=1.0, calibration={"shift": 0.1}),
        seasons=seasons(),
        ground=Ground(
            np.full((DAYS, 4), 12.0), np.ones((DAYS, 4), bool), np.full((DAYS, 4), 5.0), np.zeros((DAYS, 4)), False
        ),
        winters=winters(),
        species=(first, second, third),
        tasks=tasks,
        season=2026,
        today=TODAY,
        accept=0.75,
        target=0.6,
        warming=1.5,
        lots=(creek,),
        rests_on=RestsOn("observed", 4.0, 7.0, "leaf mulch", 3.0, None),
        logger_settles=("Gleda grandis",),
    )
