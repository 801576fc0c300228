"""A plan whose every figure is written down here, so that what is printed of it can be read against this page."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from chillplan.advice.result import ByDate, Fridge, Outdoors, Plan, SpeciesAdvice, Step, Task, TopUp, Visit
from chillplan.report.record import Source
from chillplan.seasons.cut import DAYS, SPIN_UP, Seasons
from chillplan.seasons.summary import Ground, Winters
from chillplan.seeds.recipe import CoatStep
from chillplan.seeds.simulate import FATES
from chillplan.site import Site
from tests.report.conftest import cold, species_of, warm

WINTERS = 19
"""Of 19 numbers that rise by one, the percentiles 10, 50 and 90 are the 2nd, the 10th and the 18th."""
TODAY = date(2026, 9, 25)


def hand_winters() -> Winters:
    """Chill 100 to 118, effective 50 to 68; last frost from 9 March on, one winter without; soil from 9 April on."""
    each = np.arange(WINTERS, dtype=float)
    spring, autumn = 220.0 + each, 60.0 + each
    bare_spring, bare_autumn = spring.copy(), autumn.copy()
    bare_spring[0], bare_autumn[0] = -np.inf, np.inf
    return Winters(
        years=1990 + np.arange(WINTERS),
        chill_days=100.0 + each,
        effective_chill=50.0 + each,
        cold_days=120.0 + each,
        last_spring_frost={0.0: spring, -2.0: bare_spring, -4.0: np.full(WINTERS, -np.inf)},
        first_autumn_frost={0.0: autumn, -2.0: bare_autumn, -4.0: np.full(WINTERS, np.inf)},
        soil_warm={5.0: np.full(WINTERS, -np.inf), 10.0: 251.0 + each, 15.0: np.full(WINTERS, np.inf)},
        mean_temperature=8.0 + each / 10.0,
    )


def hand_ground() -> Ground:
    """Of season n: 4 °C at the seed on 50 + n days from 10 October on, else 14 °C; nights 6 °C colder, 3 in May.

    On the edges: five days of 10 °C and three of 0 °C in February, nights of 0 °C in June of five seasons.
    """
    day, season = np.arange(DAYS)[:, None], np.arange(WINTERS)[None, :]
    cool = (day >= 70) & (day < 120 + season)
    seed = np.where(cool, 4.0, 14.0)
    night = seed - 6.0 + 3.0 * (day >= 273)
    seed[190:195], seed[200:203] = 10.0, 0.0
    night[320:325, :5] = 0.0
    return Ground(seed, np.ones_like(cool), night, np.zeros_like(seed), moisture_known=True)


def hand_seasons() -> Seasons:
    """Air from 2 to 10 °C every day of every season; one left out, and five days without rain recorded."""
    flat = np.ones((SPIN_UP + DAYS, WINTERS))
    daily = {"tmin": 2.0 * flat, "tmax": 10.0 * flat, "precipitation": flat}
    at = np.arange(SPIN_UP + DAYS)[:, None] + np.zeros(WINTERS, dtype=int)
    return Seasons(
        years=1990 + np.arange(WINTERS),
        southern=False,
        daily=daily,
        observed=np.ones((DAYS, WINTERS), dtype=bool),
        day_of_year=(at + 93) % 365 + 1,
        left_out={1989: "40 of 365 days missing"},
        guessed_water={1991: 3, 1995: 2},
    )


def hand_dates() -> ByDate:
    """Sown every third day to June: up in time rises to 80 % in January and falls; the rest is lost four ways."""
    starts = np.arange(0, 334, 3)
    up = np.round(0.8 - np.abs(starts - 165) / 400.0, 3)
    rest = 1.0 - up
    shares = np.array([up, 0.5 * rest, 0.3 * rest, 0.15 * rest, 0.05 * rest])
    return ByDate(starts.astype(np.int32), shares, np.round(up * WINTERS).astype(int))


def outcomes(*shares: float) -> dict[str, float]:
    return dict(zip(FATES, shares, strict=True))


SOAK = CoatStep("soak", (12.0, 24.0))
WHITE = replace(species_of("Aster albus", "white aster", cold(30, 60), coat=(SOAK,)), depth_cm=(0.5, 1.0))
NAMELESS = species_of("Betula brava", "", warm(30, 60), cold(150, 200))
SEDGE = species_of("Carex clara", "clear sedge", cold(0, 10))
SLOW = species_of("Dirca dura", "slow dirca", warm(60, 90), cold(90, 120))
TENDER = species_of("Erica errans", "tender heath", cold(30, 40))
NOWHERE = species_of("Ficus ficta", "lost fig [no 2]", cold(200, 300))


def steps(*of: tuple[str, date, date, str]) -> tuple[Step, ...]:
    return tuple(Step(first, last, kind, text) for kind, first, last, text in of)


OUT = Outdoors(
    sow_from=date(2026, 10, 10),
    sow_to=date(2026, 12, 5),
    best=date(2026, 11, 3),
    depth_cm=(0.5, 1.0),
    outcomes=outcomes(0.7, 0.1, 0.05, 0.15, 0.0),
    good=17,
    winters=19,
    share_up=(0.5, 0.7, 0.9),
    chill=(40.0, 55.5, 66.25),
    meets=True,
    steps=steps(
        ("coat", date(2026, 10, 10), date(2026, 12, 5), "soak, 12 to 24 hours, just before sowing"),
        ("sow", date(2026, 10, 10), date(2026, 12, 5), "sow 0.5 to 1 cm deep"),
    ),
)
IN = Fridge(
    prepare=date(2027, 1, 30),
    into_cold=date(2027, 1, 31),
    checks=(date(2027, 2, 7), date(2027, 2, 14)),
    plant_out=date(2027, 4, 1),
    steps=steps(
        ("coat", date(2027, 1, 30), date(2027, 1, 31), "soak, 12 to 24 hours"),
        ("cold phase", date(2027, 1, 31), date(2027, 4, 1), "60 days cold moist, 1 to 5 °C"),
        ("plant out", date(2027, 4, 1), date(2027, 4, 1), "plant out, 0.5 to 1 cm deep"),
    ),
    good=18,
    winters=19,
    share_up=(0.6, 0.8, 0.95),
    outcomes=outcomes(0.8, 0.0, 0.1, 0.1, 0.0),
    meets=True,
)
BEGUN = TopUp(
    sow=date(2026, 9, 20),
    sow_to=date(2026, 10, 3),
    lift_from=date(2027, 1, 23),
    lift=date(2027, 1, 24),
    checks=(date(2027, 1, 31),),
    plant_out=date(2027, 4, 20),
    owed_days=(70.0, 84.0, 98.0),
    spared_days=110.0,
    good=16,
    winters=19,
    share_up=(0.45, 0.6, 0.75),
    steps=steps(
        ("sow", date(2026, 9, 20), date(2026, 10, 3), "sow in a [mesh] bag"),
        ("lift", date(2027, 1, 23), date(2027, 1, 24), "lift the bag"),
        ("cold phase", date(2027, 1, 24), date(2027, 4, 20), "84 days cold moist, 1 to 5 °C"),
        ("plant out", date(2027, 4, 20), date(2027, 4, 20), "plant out, 1 cm deep"),
    ),
)
SPRING = replace(
    OUT,
    sow_from=date(2027, 3, 20),
    sow_to=date(2027, 4, 10),
    best=date(2027, 3, 28),
    autumn=(date(2026, 11, 1), date(2026, 11, 20)),
    steps=steps(("sow", date(2027, 3, 20), date(2027, 4, 10), "sow 1 cm deep")),
)
LEFT = replace(OUT, spring=2, up_in=2028, good=15, winters=18, meets=True, steps=OUT.steps[1:])


def poor_in(count: int) -> tuple[float, ...]:
    """Share up of each winter: below half in so many, the first ones, and two parts of a hundred more in each next."""
    return tuple(0.5 + 0.02 * (number - count) for number in range(WINTERS))


def task(way: str, step: Step, species: str, place: str, minutes: int, label: str = "", number: int = 1) -> Task:
    key = f"{way}/{step.kind}/{number}"
    return Task(step.date_from, step.date_to, species, step.text, place, minutes, label, key)


def hand_plan() -> Plan:
    """A plan with a species for each way: either, begun outdoors, three ways, two winters, too cold, not here."""

    def advice(of: object, verdict: str, **more: object) -> SpeciesAdvice:
        plain: dict[str, object] = {
            "species": of, "recipe": of.recipe, "verdict": verdict, "good": 17, "winters": 19,  # type: ignore[attr-defined]
            "interval": (0.7, 0.97), "chance": 0.85, "chance_range": (0.8, 0.9), "borderline": False,
            "share_up": (0.5, 0.7, 0.9), "reason": f"Reason [1] of {of.name}, at 4 °C.", "outdoors": None,  # type: ignore[attr-defined]
            "fridge": None, "top_up": None, "cautions": (f"Caution [1] of {of.name}.",), "changes": (), "notes": (),  # type: ignore[attr-defined]
            "by_date": hand_dates(),
        }  # fmt: skip
        return SpeciesAdvice(**({"by_winter": poor_in(3)} | plain | more))  # type: ignore[arg-type]

    species = (
        advice(
            WHITE,
            "either",
            by_winter=poor_in(7),
            outdoors=OUT,
            fridge=IN,
            borderline=True,
            notes=("A [note], 5 cm.",),
            thin=True,
        ),
        advice(
            NAMELESS,
            "start-outdoors-finish-in-fridge",
            by_winter=poor_in(2),
            outdoors=replace(OUT, meets=False),
            top_up=BEGUN,
        ),
        advice(SEDGE, "sow-in-spring", outdoors=SPRING, fridge=replace(IN, steps=IN.steps[1:]), frozen=2),
        advice(
            SLOW,
            "two-winters-outdoors",
            outdoors=LEFT,
            good=15,
            winters=18,
            by_winter=(0.6,) * 17 + (0.02,),
            changes=("A change, 2 °C warmer.",),
        ),
        advice(TENDER, "sow-in-autumn", outdoors=OUT, frozen=9, killed=True),
        advice(NOWHERE, "not-here", good=3, share_up=(0.0, 0.1, 0.2)),
    )
    looks = [
        Task(day, day, "Aster albus", "check the bag", "refrigerator", 5, "", f"fridge/check/{number}")
        for number, day in enumerate(IN.checks, 1)
    ]
    tasks = (
        task("top-up", BEGUN.steps[0], "Betula brava", "hill", 20),
        task("outdoors", OUT.steps[0], "Aster albus", "shed", 10, "Aster albus, 5 °C"),
        task("outdoors", OUT.steps[1], "Aster albus", "hill", 30),
        task("outdoors", LEFT.steps[0], "Dirca dura", "hill", 15),
        task("top-up", BEGUN.steps[1], "Betula brava", "hill", 25),
        task("fridge", IN.steps[0], "Aster albus", "shed", 10),
        task("fridge", IN.steps[1], "Aster albus", "refrigerator", 10),
        *looks,
        task("outdoors", SPRING.steps[0], "Carex clara", "hill", 30),
        task("fridge", IN.steps[2], "Aster albus", "hill", 40),
        task("top-up", BEGUN.steps[3], "Betula brava", "hill", 45),
    )
    visits = (Visit(date(2026, 10, 17), "06:31", "18:12", (tasks[2], tasks[3])),)
    return Plan(
        site=Site(
            44.2, -72.5, name="Test [Bank]", elevation=420.0, slope=12.0, aspect=200.0, time_zone="America/New_York"
        ),
        seasons=hand_seasons(),
        ground=hand_ground(),
        winters=hand_winters(),
        species=species,
        tasks=tasks,
        season=2026,
        today=TODAY,
        accept=0.8,
        target=0.5,
        visits=visits,
        uncovered=("No visit covers white aster (plant out, 0.5 to 1 cm deep): no [day] works.",),
        notes=("A note of the plan, 3 °C.",),
    )


def hand_source(**more: object) -> Source:
    plain: dict[str, object] = {
        "source": "plain [CSV]", "station": "Mill [1]", "first": date(1999, 1, 1), "last": date(2012, 12, 31),
        "coverage": 0.998, "distance_km": 3.2, "height_difference_m": 40.0, "invented": False, "licence": "none",
        "notes": ("Temperatures are taken as °C.",),
    }  # fmt: skip
    return Source(**(plain | more))  # type: ignore[arg-type]
