"""What is written into a journal: plain records, checked before they are written."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from chillplan.errors import InputError, Problems, quoted
from chillplan.seeds.recipe import Phase, Recipe

__all__ = [
    "FINDINGS",
    "STAGES",
    "BatchStart",
    "Look",
    "Reading",
    "SowingEntry",
    "Treatment",
    "clean_text",
    "treatments_of",
]

FINDINGS = ("fine", "dry", "mould", "sprouted")
STAGES = ("root tip", "root", "shoot")
LONGEST_TEXT = 2000
TEMPERATURES = (-60.0, 70.0)
SET_TEMPERATURES = (-30.0, 45.0)  # of a freezer and of a germination cabinet; beyond, a slip or °F [°C]


@dataclass(frozen=True)
class Treatment:
    """One step of a batch: a coat step, or a warm or cold phase."""

    kind: str  # ``warm``, ``cold``, or the action of a coat step
    started_on: date | None = None
    ended_on: date | None = None
    days: tuple[float, float] | None = None  # days that satisfy the 10th and the 90th percentile of the lot [day]
    temperature: tuple[float, float] | None = None  # range to hold [°C]
    response: tuple[float, float, float, float] | None = None  # trapezoid of a day's share [°C]
    reversal: float | None = None  # daily mean above which an unfinished cold phase loses a day [°C]
    detail: str = ""


@dataclass(frozen=True)
class BatchStart:
    """A batch as it goes into treatment."""

    species: str
    started_on: date
    treatments: tuple[Treatment, ...] = ()
    source: str = ""  # where the seed came from
    year: int | None = None  # year of harvest
    lot: int | None = None  # an existing lot; None makes a new one
    label: str = ""  # the user's own name for the batch
    place: str = "fridge"  # refrigerator, cool box or shelf; readings belong to the place
    set_temperature: float = 4.0  # what the place is set to; stands in for days without readings [°C]
    seeds: int | None = None
    # planned planting, and the day after which killing frost is unlikely
    plant_out: date | None = None
    frost_free: date | None = None
    check_every: int = 7  # [day]
    note: str = ""

    def problems(self, today: date) -> Problems:
        """Everything that is wrong with the values."""
        found = Problems()
        for name in ("species", "source", "label", "place", "note"):
            _text(found, name, getattr(self, name), needed=name in {"species", "place"})
        _not_future(found, "start", self.started_on, today)
        _number(found, "set temperature", self.set_temperature, *SET_TEMPERATURES)
        _whole(found, "seeds", self.seeds, 1, 100_000_000)
        _whole(found, "check-every", self.check_every, 1, 60)
        _whole(found, "year", self.year, 1900, today.year)
        if self.plant_out is not None and self.plant_out < self.started_on:
            found.add(f"plant-out {self.plant_out} is before the start {self.started_on}: check both dates")
        if self.label.strip().lower().lstrip("bs").isdigit():
            found.add(f"label {quoted(self.label)} reads like a batch number: use a name with other letters")
        return found


class Look(NamedTuple):
    """What a look at one batch found."""

    reference: str  # ``B12``, ``12`` or the batch's label
    finding: str  # one of `FINDINGS`
    sprouted: int | None = None  # seeds sprouted at this look; needed with ``sprouted``
    stage: str = ""  # one of `STAGES`, or empty


@dataclass(frozen=True)
class Reading:
    """A temperature at a place."""

    at: datetime  # local clock
    temperature: float  # [°C]


@dataclass(frozen=True)
class SowingEntry:
    """Seed put into the ground."""

    sown_on: date
    seeds: int
    # what was sown; with neither, `species` begins a new lot
    batch: int | None = None
    lot: int | None = None
    species: str = ""
    site: str = ""
    viability: float | None = None  # share of the seed that is alive [0 to 1]
    depth_cm: float | None = None
    # share up expected: 10th, 50th, 90th percentile of winters [0 to 1]
    expected: tuple[float, float, float] | None = None
    expected_on: date | None = None  # when half of it was expected up
    note: str = ""

    def problems(self, today: date) -> Problems:
        """Everything that is wrong with the values."""
        found = Problems()
        for name in ("species", "site", "note"):
            _text(found, name, getattr(self, name))
        _not_future(found, "date", self.sown_on, today)
        _whole(found, "seeds", self.seeds, 1, 100_000_000)
        _number(found, "viability", self.viability, 0.0, 1.0)
        _number(found, "depth", self.depth_cm, 0.0, 50.0)
        return found


def treatments_of(recipe: Recipe, started_on: date, coat_done: bool = True) -> tuple[Treatment, ...]:
    """The steps of a recipe as treatments; the first phase begins at once.

    Parameters
    ----------
    recipe : Recipe
    started_on : datetime.date
        Day on which the first phase begins.
    coat_done : bool
        Whether the coat steps were given.
    """
    done = started_on if coat_done else None
    steps = [
        Treatment(step.action, done, done, temperature=step.temperature, detail=step.detail) for step in recipe.coat
    ]
    phases = [_phase(phase, started_on if position == 0 else None) for position, phase in enumerate(recipe.phases)]
    return (*steps, *phases)


def _phase(phase: Phase, started_on: date | None) -> Treatment:
    response = phase.response
    return Treatment(
        phase.kind,
        started_on,
        days=phase.days,
        temperature=phase.temperature,
        response=(response.zero_low, response.full_low, response.full_high, response.zero_high),
        reversal=phase.reversal if phase.kind == "cold" else None,
    )


def clean_text(name: str, value: str, needed: bool = False) -> str:
    """A user's text without blanks around it.

    Raises
    ------
    InputError
        If it is needed and empty, too long, or holds control characters other than line break and tab.
    """
    found = Problems()
    _text(found, name, value, needed)
    found.raise_if_any()
    return value.strip()


def _text(problems: Problems, name: str, value: str, needed: bool = False) -> None:
    if needed and not value.strip():
        problems.add(f"{name} is empty: give a text")
    if len(value) > LONGEST_TEXT:
        problems.add(f"{name} {quoted(value)} is longer than {LONGEST_TEXT} characters: shorten it")
    if any(
        (letter < " " and letter not in "\n\t") or letter == "\x7f" or 0xD800 <= ord(letter) <= 0xDFFF
        for letter in value
    ):
        problems.add(f"{name} {quoted(value)} holds control characters: type it again")


def _not_future(problems: Problems, name: str, day: date, today: date) -> None:
    if day > today:
        problems.add(f"{name} {day} is in the future (today is {today}): enter what has happened")


def _number(problems: Problems, name: str, value: float | None, low: float, high: float) -> None:
    if value is not None and not (math.isfinite(value) and low <= value <= high):
        problems.add(f"{name} {value:g} is outside {low:g} to {high:g}: check the value and its unit")


def _whole(problems: Problems, name: str, value: int | None, low: int, high: int) -> None:
    if value is not None and not low <= value <= high:
        problems.add(f"{name} {value} is outside {low} to {high}: check the value")


def checked_temperature(value: float) -> float:
    """A measured temperature, refused outside -60 to 70 °C.

    Raises
    ------
    InputError
    """
    problems = Problems()
    _number(problems, "temperature", value, *TEMPERATURES)
    problems.raise_if_any()
    return value


def checked_setting(value: float) -> float:
    """What a place is set to, refused where no place for seed is set so.

    Raises
    ------
    InputError
    """
    problems = Problems()
    _number(problems, "set temperature", value, *SET_TEMPERATURES)
    problems.raise_if_any()
    return value


def checked_day(name: str, day: date, today: date, not_before: date | None = None, start_name: str = "") -> date:
    """A day that has happened, and not before another.

    Raises
    ------
    InputError
    """
    problems = Problems()
    _not_future(problems, name, day, today)
    if not_before is not None and day < not_before:
        problems.add(f"{name} {day} is before {start_name} {not_before}: check the date")
    if problems.found:
        raise InputError(problems.found)
    return day
