"""Recipes in plain words: parses the texts of a species table and writes them back.

Phases, in order, joined by semicolons; whole alternatives joined by `` or ``::

    warm moist, 60 to 90 days, 20 °C; cold moist, 90 to 120 days, 1 to 5 °C
    cold moist, 0 to 28 days, 5 °C          (few seeds need it)
    none

An alternative for seed of one state says so at its beginning::

    dried seed: warm moist, 30 days, 20 °C; cold moist, 90 days or fresh seed: cold moist, 90 days

Coat steps, the same way::

    scarify (sand or nick, away from the scar); soak 24 hours
    hot water 85 °C, cool 12 to 24 hours or scarify
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from chillplan.errors import Problems, quoted
from chillplan.seeds.quantities import OR, Quantity, split_outside, states_of, take_duration, take_temperature, trimmed
from chillplan.seeds.recipe import (
    COLD_RESPONSE,
    REVERSAL_TEMPERATURE,
    WARM_RESPONSE,
    CoatStep,
    ColdTrials,
    Phase,
    Recipe,
    Response,
    SeedState,
    Stated,
)

__all__ = ["coat_text", "parse_coat", "parse_phases", "parse_recipes", "parse_response", "phases_text"]

SINGLE_FIGURE_LOW_SHARE = 0.6
"""Where a source gives one length it is taken as the 90th percentile of the lot, and this share of it as the 10th:
an assumption, marked as such. [-]"""

LONGEST_PHASE = 730.0
"""A phase longer than two years is taken for a slip. [day]"""

MOST_ALTERNATIVES = 6
MOST_STEPS = 8

HOLDING_LIMITS = {"cold": (-5.0, 16.0), "warm": (10.0, 40.0)}
"""What a cold or a warm phase may be held at. [°C]"""

COAT_ACTIONS = (
    "scarify",
    "hot water",
    "soak",
    "rinse",
    "smoke water",
    "crack",
    "dry heat",
    "remove pulp",
    "remove hull",
    "float test",
    "peroxide rinse",
)
_NEEDS_TIME = {"soak", "rinse", "smoke water", "peroxide rinse"}
_NEEDS_TEMPERATURE = {"hot water", "dry heat"}
_SYNONYMS = {"boiling water": "hot water 100 °c", "nick": "scarify", "file": "scarify", "sand": "scarify"}
LONGEST_COAT_STEP = 14.0
"""Longest soak or rinse that is not taken for a slip. [day]"""

_PHASE_WORDS = {
    "moist",
    "at",
    "for",
    "about",
    "optional",
    "or",
    "more",
    "longer",
    "least",
    "up",
    "to",
    "stratification",
    "phase",
    "of",
    "then",
    "temperature",
}
_COAT_WORDS = {
    "for",
    "cool",
    "in",
    "up",
    "to",
    "water",
    "warm",
    "cold",
    "running",
    "then",
    "at",
    "about",
    "a",
    "the",
    "let",
    "it",
    "and",
}
_ACID = re.compile(r"\bacid\b|sul(?:ph|f)uric")

NOTHING_STATED = Stated()

Step = TypeVar("Step", Phase, CoatStep)


def parse_recipes(
    coat: str,
    phases: str,
    cold_response: Response | None = None,
    warm_response: Response | None = None,
    reversal: float = REVERSAL_TEMPERATURE,
    stated: Stated = NOTHING_STATED,
) -> tuple[Recipe, ...]:
    """Recipes from the two texts of a species row.

    Parameters
    ----------
    coat, phases : str
        Texts in the grammar above. One alternative of either serves every alternative of the other; equal numbers
        of alternatives belong together one by one.
    cold_response, warm_response : Response or None
        How a day outdoors counts for this species; None takes the default.
    reversal : float
        Seed-zone daily mean above which chill is undone. [°C]
    stated : Stated
        What is known of the cold beside its length. Trials of cold alone say nothing of seed that had warmth first, so
        that a phase after another keeps of them only what worked.

    Raises
    ------
    InputError
        With every problem of both texts.
    """
    problems = Problems()
    coats = _alternatives(coat, parse_coat_step, problems)
    states, phases = states_of(phases)
    ways = _alternatives(phases, parse_phase, problems)
    problems.raise_if_any()
    if 1 not in {len(coats), len(ways)} and len(coats) != len(ways):
        problems.add(
            f"{len(coats)} alternatives of the coat treatment against {len(ways)} of the phases: "
            "give one of either, or as many of the one as of the other"
        )
    problems.raise_if_any()
    count = max(len(coats), len(ways))
    own = {"cold": cold_response or COLD_RESPONSE, "warm": warm_response or WARM_RESPONSE}
    recipes = []
    every = (many * (count // len(many)) for many in (coats, ways, states))
    for steps, way, state in zip(*every, strict=True):
        timed = tuple(
            replace(
                phase,
                response=own[phase.kind],
                reversal=reversal,
                stated=_stated(stated, position) if phase.kind == "cold" else None,
            )
            for position, phase in enumerate(way)
        )
        recipes.append(Recipe(_label(steps, timed, state), steps, timed, state))
    return tuple(recipes)


def _stated(stated: Stated, position: int) -> Stated:
    if position == 0:
        return stated
    return Stated(True, ColdTrials(worked=stated.trials.worked, measured=stated.trials.measured))


def parse_phases(text: str) -> tuple[tuple[Phase, ...], ...]:
    """Alternatives of a phases text, each a tuple of phases; `InputError` with every problem."""
    problems = Problems()
    ways = _alternatives(states_of(text)[1], parse_phase, problems)
    problems.raise_if_any()
    return ways


def parse_coat(text: str) -> tuple[tuple[CoatStep, ...], ...]:
    """Alternatives of a coat text, each a tuple of steps; `InputError` with every problem."""
    problems = Problems()
    ways = _alternatives(text, parse_coat_step, problems)
    problems.raise_if_any()
    return ways


def parse_response(text: str) -> Response | None:
    """How a day counts, as four rising temperatures: ``0.5, 3, 6, 9`` (nothing, full, full, nothing).

    Returns None for an empty text; raises `InputError` otherwise where it is not four rising numbers. [°C]
    """
    if not text.strip():
        return None
    problems = Problems()
    parts = [part.strip().replace("−", "-") for part in re.split(r"[;,]", text.replace("°C", ""))]
    try:
        figures = [float(part) for part in parts]
    except ValueError:
        figures = []
    if len(figures) != 4 or not figures[0] < figures[1] <= figures[2] < figures[3]:
        problems.add(
            f"response {quoted(text)} is not four rising temperatures: write for example '0.5, 3, 6, 9' (nothing at or "
            "below the first, a full day from the second to the third, nothing at or above the fourth)"
        )
    problems.raise_if_any()
    return Response(*figures)


def parse_phase(text: str, problems: Problems) -> Phase | None:
    """One phase; None with the problems noted where the text is not one."""
    before = len(problems.found)
    temperature, rest = take_temperature(text.lower())
    days, rest = take_duration(rest)
    words = re.findall(r"[^\s,.]+", rest)
    kinds = {word for word in words if word in {"cold", "warm"}}
    shown = quoted(text)
    if "dry" in words:
        problems.add(
            f"phase {shown}: dry cold or dry warmth is storage and does not stratify; "
            "write 'cold moist' or 'warm moist'"
        )
        words.remove("dry")
    if len(kinds) != 1:
        problems.add(f"phase {shown} does not say which it is: write 'cold moist, 60 days' or 'warm moist, 60 days'")
    unknown = [word for word in words if word not in _PHASE_WORDS | {"cold", "warm"}]
    if unknown:
        problems.add(
            f"phase {shown}: {quoted(' '.join(unknown))} is not understood; "
            "write for example 'cold moist, 60 to 90 days, 1 to 5 °C'"
        )
    if days is None:
        problems.add(f"phase {shown} has no number of days: write for example '60 to 90 days' or '8 weeks'")
    else:
        _check_days(days, shown, problems)
    if len(kinds) == 1 and temperature is not None:
        _check_holding(temperature, next(iter(kinds)), shown, problems)
    if len(problems.found) > before or days is None:
        return None
    low = 0.0 if "optional" in words else SINGLE_FIGURE_LOW_SHARE * days.high if days.single else days.low
    held = None if temperature is None else (temperature.low, temperature.high)
    span = (round(low, 1), days.high)
    assumed = days.single and "optional" not in words
    if "cold" in kinds:
        return Phase("cold", span, held, COLD_RESPONSE, spread_assumed=assumed)
    return Phase("warm", span, held, WARM_RESPONSE, spread_assumed=assumed)


def parse_coat_step(text: str, problems: Problems) -> CoatStep | None:
    """One coat step; None with the problems noted where the text is not one."""
    before = len(problems.found)
    shown = quoted(text)
    detail = "; ".join(part.strip() for part in re.findall(r"\(([^()]*)\)", text))
    plain = re.sub(r"\([^()]*\)", " ", text).strip().lower()
    if _ACID.search(plain):
        problems.add(
            f"coat step {shown}: strong acid is not offered as a step; name it in the note as a method for trained "
            "staff and give 'scarify' or 'hot water' here"
        )
        return None
    for other, usual in _SYNONYMS.items():
        plain = re.sub(rf"^{other}\b", usual, plain)
    action = next((name for name in COAT_ACTIONS if plain.startswith(name)), None)
    if action is None:
        problems.add(
            f"coat step {shown} is not understood: begin with one of {', '.join(COAT_ACTIONS)}, or write 'none'"
        )
        return None
    temperature, rest = take_temperature(plain[len(action) :])
    time, rest = take_duration(rest.replace("overnight", "12 hours"))
    unknown = [word for word in re.findall(r"[^\s,.]+", rest) if word not in _COAT_WORDS]
    if unknown:
        problems.add(f"coat step {shown}: {quoted(' '.join(unknown))} is not understood; put remarks in round brackets")
    if time is None and action in _NEEDS_TIME:
        usual = "10 minutes" if action == "peroxide rinse" else "24 hours"
        problems.add(f"coat step {shown} has no time: write for example '{action} {usual}'")
    if temperature is None and action in _NEEDS_TEMPERATURE:
        problems.add(f"coat step {shown} has no temperature: write for example '{action} 80 °C'")
    if temperature is not None and not 0.0 <= temperature.low <= temperature.high <= 150.0:
        problems.add(f"coat step {shown}: the temperature is not a rising range between 0 and 150 °C")
    if time is not None and not 0.0 < time.low <= time.high <= LONGEST_COAT_STEP:
        problems.add(f"coat step {shown}: the time is not a rising range between 0 and {LONGEST_COAT_STEP:.0f} days")
    if len(problems.found) > before:
        return None
    hours = None if time is None else (round(time.low * 24, 4), round(time.high * 24, 4))
    return CoatStep(action, hours, None if temperature is None else (temperature.low, temperature.high), detail)


def phases_text(phases: tuple[Phase, ...]) -> str:
    """Phases back in plain words; parses to the same phases."""
    return "; ".join(_phase_words(phase) for phase in phases) or "none"


def coat_text(steps: tuple[CoatStep, ...]) -> str:
    """Coat steps back in plain words; parses to the same steps."""
    return "; ".join(_coat_words(step) for step in steps) or "none"


def _phase_words(phase: Phase) -> str:
    low, high = phase.days
    days = trimmed(high) if phase.spread_assumed or low == high else f"{trimmed(low)} to {trimmed(high)}"
    words = f"{phase.kind} moist, {days} days"
    if phase.temperature is not None:
        words += f", {_range_words(phase.temperature)} °C"
    return words


def _coat_words(step: CoatStep) -> str:
    words = step.action
    if step.temperature is not None:
        words += f" {_range_words(step.temperature)} °C,"
    if step.hours is not None:
        low, high = step.hours
        if high < 1.0:
            minutes = _range_words((round(low * 60, 1), round(high * 60, 1)))
            words += f" {minutes} minute{'' if minutes == '1' else 's'}"
        else:
            hours = _range_words((low, high))
            words += f" {hours} hour{'' if hours == '1' else 's'}"
    words = words.rstrip(",")
    return f"{words} ({step.detail})" if step.detail else words


def _range_words(span: tuple[float, float]) -> str:
    low, high = trimmed(span[0]), trimmed(span[1])
    return low if low == high else f"{low} to {high}"


def _label(steps: tuple[CoatStep, ...], phases: tuple[Phase, ...], state: SeedState = "") -> str:
    coat = " and ".join(step.action for step in steps if step.opens_coat)
    spans = ", then ".join(
        f"{phase.kind} {_range_words(phase.days)} days"
        if phase.days[0]
        else f"{phase.kind} up to {trimmed(phase.days[1])} days"
        for phase in phases
    )
    words = ", then ".join(part for part in (coat, spans) if part) or "sow as it is"
    return f"{state} seed: {words}" if state else words


def _alternatives(
    text: str, parse: Callable[[str, Problems], Step | None], problems: Problems
) -> tuple[tuple[Step, ...], ...]:
    """Split a text into alternatives of steps, outside round brackets only."""
    if text.count("(") != text.count(")"):
        problems.add(f"{quoted(text)}: the round brackets do not match")
        return ()
    ways = []
    for way in split_outside(text, OR):
        parts = [part.strip() for part in split_outside(way, ";") if part.strip()]
        if len(parts) > MOST_STEPS:
            problems.add(
                f"{quoted(way)} has {len(parts)} steps, more than {MOST_STEPS}: split the row or leave steps out"
            )
            continue
        parsed = [parse(part, problems) for part in parts if part.lower() not in {"none", "nothing"}]
        ways.append(tuple(step for step in parsed if step is not None))
    if len(ways) > MOST_ALTERNATIVES:
        problems.add(f"{quoted(text)} has {len(ways)} alternatives, more than {MOST_ALTERNATIVES}")
    return tuple(ways)


def _check_days(days: Quantity, shown: str, problems: Problems) -> None:
    if days.low < 0:
        problems.add(f"phase {shown}: {trimmed(days.low)} days is below zero; write 0 or more")
    elif days.low > days.high:
        problems.add(
            f"phase {shown}: the least, {trimmed(days.low)} days, is above the most, {trimmed(days.high)}; swap them"
        )
    elif days.high == 0:
        problems.add(f"phase {shown} lasts no days: write 'none' where nothing is needed")
    elif days.high > LONGEST_PHASE:
        problems.add(
            f"phase {shown}: {trimmed(days.high)} days is longer than two years ({LONGEST_PHASE:.0f} days); "
            "check the figure"
        )


def _check_holding(temperature: Quantity, kind: str, shown: str, problems: Problems) -> None:
    low, high = HOLDING_LIMITS[kind]
    if temperature.low > temperature.high:
        problems.add(
            f"phase {shown}: {trimmed(temperature.low)} °C stands above {trimmed(temperature.high)} °C; swap them"
        )
    elif temperature.low < low or temperature.high > high:
        problems.add(
            f"phase {shown}: a {kind} phase is held between {low:.0f} and {high:.0f} °C; "
            "check the figures and °C against °F"
        )
