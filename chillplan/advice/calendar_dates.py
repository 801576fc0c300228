"""From day indices to dates, from a plant-out date back to the first step, and on to the seedlings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from chillplan.advice.result import Plan, SpeciesAdvice, Step
from chillplan.advice.wording import coat_words, number_range, phase_words
from chillplan.seasons.cut import DAYS, season_of, season_start
from chillplan.seeds.passage import NEVER
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.simulate import simulate
from chillplan.seeds.two_winters import TwoWinters, two_winters

__all__ = [
    "coat_days",
    "count_back",
    "count_on",
    "date_of",
    "depth_words",
    "expected_emergence",
    "indoor_days",
    "weekly",
]

CHECK_DAYS = 7  # weekly looks for mould, drying and sprouts; common practice, no source


@dataclass(frozen=True)
class IndoorDates:
    """Dates of a treatment indoors."""

    prepare: date
    into_cold: date | None
    checks: tuple[date, ...]
    steps: tuple[Step, ...]


def date_of(index: float, season: int, southern: bool) -> date:
    """Date of a day index in a season; half days go to the later date."""
    return season_start(season, southern) + timedelta(days=math.floor(index + 0.5))


def coat_days(recipe: Recipe) -> int:
    """Days the coat treatment takes, soaks one after the other. [day]"""
    hours = sum(step.hours[1] for step in recipe.coat if step.hours)
    return math.ceil(hours / 24.0) if recipe.coat else 0


def indoor_days(recipe: Recipe) -> int:
    """Days from the first step indoors to planting out, for nine seeds in ten. [day]"""
    return coat_days(recipe) + math.ceil(recipe.total_days[1])


def count_back(species: Species, recipe: Recipe, plant_out: date) -> IndoorDates:
    """Count every step back from the plant-out date.

    Returns
    -------
    IndoorDates
        Steps in the order they are done; checks weekly from the first phase to planting out.
    """
    steps: list[Step] = []
    day = plant_out
    into_cold: date | None = None
    for phase in reversed(recipe.phases):
        begin = day - timedelta(days=math.ceil(phase.days[1]))
        if begin == day:
            continue
        where = "into the refrigerator" if phase.kind == "cold" else "keep warm indoors"
        steps.insert(0, Step(begin, day, f"{phase.kind} phase", f"{where}, {phase_words(phase)}"))
        into_cold = begin if phase.kind == "cold" else into_cold
        day = begin
    first_phase = day
    prepare = day - timedelta(days=coat_days(recipe))
    if recipe.coat:
        words = "; then ".join(coat_words(step) for step in recipe.coat)
        steps.insert(0, Step(prepare, first_phase, "coat", words))
    depth = depth_words(species)
    steps.append(Step(plant_out, plant_out, "plant out", f"plant out, {depth}"))
    return IndoorDates(prepare, into_cold, weekly(first_phase, plant_out), tuple(steps))


def count_on(species: Species, recipe: Recipe, begin: date, plant_out: date) -> IndoorDates:
    """Count every step on from the day on which fresh seed is there; its last phase lasts until it is planted out.

    Parameters
    ----------
    begin, plant_out : datetime.date
        Far enough apart for the whole recipe.
    """
    steps = []
    day = begin + timedelta(days=coat_days(recipe))
    if recipe.coat:
        steps.append(Step(begin, day, "coat", "; then ".join(coat_words(step) for step in recipe.coat)))
    phases = [phase for phase in recipe.phases if phase.days[1] > 0]
    first_phase, into_cold = day, None
    for phase in phases:
        end = plant_out if phase is phases[-1] else day + timedelta(days=math.ceil(phase.days[1]))
        where = "into the refrigerator" if phase.kind == "cold" else "keep warm indoors"
        stays = "; it stays there until planting out" if end == plant_out else ""
        steps.append(Step(day, end, f"{phase.kind} phase", f"{where}, {phase_words(phase)}{stays}"))
        into_cold = day if phase.kind == "cold" and into_cold is None else into_cold
        day = end
    steps.append(Step(plant_out, plant_out, "plant out", f"plant out, {depth_words(species)}"))
    return IndoorDates(begin, into_cold, weekly(first_phase, plant_out), tuple(steps))


def depth_words(species: Species) -> str:
    """``1 to 2 cm deep``, or how to sow on the surface."""
    low, high = species.depth_cm
    if high <= 0.0:
        return "on the surface, pressed in, not covered"
    return f"{number_range(low, high, 'cm')} deep"


def weekly(begin: date, plant_out: date) -> tuple[date, ...]:
    """Dates of the weekly looks between the first phase and planting out."""
    days = range(CHECK_DAYS, (plant_out - begin).days, CHECK_DAYS)
    return tuple(begin + timedelta(days=day) for day in days)


FEWEST = 0.1  # a smaller share that comes up at all is not announced [-]


def expected_emergence(plan: Plan) -> dict[str, tuple[date, date]]:
    """Dates between which eight seedlings in ten come up, by species sown outdoors.

    Returns
    -------
    dict of str to tuple of datetime.date
        By scientific name; a species of which hardly a seed comes up in these seasons has none.
    """
    springs = max((advice.outdoors.spring for advice in plan.species if advice.outdoors is not None), default=1)
    pair = two_winters(plan.seasons, plan.ground, springs=max(springs, 2))
    found = {}
    for advice in plan.species:
        if "outdoors" in advice.ways:
            window = _window(plan, pair, advice)
            if window is not None:
                found[advice.species.name] = window
    return found


def _window(plan: Plan, pair: TwoWinters, advice: SpeciesAdvice) -> tuple[date, date] | None:
    southern = plan.seasons.southern
    best = advice.outdoors.best if advice.outdoors else plan.today
    season = season_of(best, southern)
    start = np.array([min((best - season_start(season, southern)).days, DAYS - 1)], dtype=np.int32)
    emergence = simulate(pair, advice.recipe.phases, advice.species.germination, start).emergence
    up = emergence[emergence < NEVER]
    if up.size < FEWEST * emergence.size:
        return None
    first, last = np.quantile(up, (0.1, 0.9))
    return date_of(int(first), season, southern), date_of(int(last), season, southern)
