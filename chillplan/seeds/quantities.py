"""Reads plain words: lengths of time and temperatures (``60 to 90 days``, ``34 to 41 °F``), and alternatives."""

from __future__ import annotations

import re
from dataclasses import dataclass

from chillplan.seeds.recipe import SeedState

__all__ = [
    "DAYS_PER_UNIT",
    "OR",
    "Quantity",
    "split_outside",
    "states_of",
    "take_duration",
    "take_temperature",
    "trimmed",
]

DAYS_PER_UNIT = {"minute": 1 / 1440, "hour": 1 / 24, "day": 1.0, "week": 7.0, "month": 30.0}
"""Length of each unit a text may use; a month is taken as 30 days. [day]"""

_UNIT_WORDS = {
    "minute": r"min(?:ute)?s?",
    "hour": r"h(?:ours?|rs?)?",
    "day": r"d(?:ays?)?",
    "week": r"w(?:eeks?|ks?)?",
    "month": r"months?",
}
_UNIT = "(?:" + "|".join(_UNIT_WORDS.values()) + ")"
_NUMBER = r"[-−]?\d+(?:\.\d+)?"
_TO = r"\s*(?:to|through|[-–—])\s*"
_BEFORE = r"(?<![\w.])"
_DURATION = re.compile(
    rf"{_BEFORE}(?P<low>{_NUMBER})\s*(?P<low_unit>{_UNIT}\b)?(?:{_TO}(?P<high>{_NUMBER}))?\s*(?P<unit>{_UNIT})?\b(?!\s*°)"
)
_DEGREES = r"(?:°\s*|º\s*|deg(?:rees?)?\s*)(?P<scale>[cf])\b|(?P<bare>[cf])\b"
_TEMPERATURE = re.compile(
    rf"{_BEFORE}(?P<low>{_NUMBER})\s*(?:°\s*[cf]?)?(?:(?:{_TO}|\s*/\s*)(?P<high>{_NUMBER}))?\s*(?:{_DEGREES})"
)


@dataclass(frozen=True)
class Quantity:
    """A range read from a text."""

    # as written, so that the low end may stand above the high end: the caller says so [day or °C]
    low: float
    high: float
    single: bool  # True where the text gives one figure only, once or twice (``45 to 45``)


def trimmed(value: float) -> str:
    """A figure in the fewest digits: ``60`` rather than ``60.0``."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def take_temperature(text: str) -> tuple[Quantity | None, str]:
    """Take the first temperature out of a text in lower case.

    Parameters
    ----------
    text : str
        Lower-case words. Fahrenheit is converted; ``25/15 °c`` (day and night) becomes its range.

    Returns
    -------
    tuple of Quantity or None, and str
        The temperature and the text without it. [°C]
    """
    found = _TEMPERATURE.search(text)
    if found is None:
        return None, text
    low = _figure(found["low"])
    high = low if found["high"] is None else _figure(found["high"])
    if (found["scale"] or found["bare"]) == "f":
        low, high = ((degrees - 32.0) / 1.8 for degrees in (low, high))
    if "/" in found[0]:
        low, high = min(low, high), max(low, high)
    return Quantity(round(low, 1), round(high, 1), found["high"] is None), _without(text, found)


def take_duration(text: str) -> tuple[Quantity | None, str]:
    """Take the first length of time out of a text in lower case.

    Parameters
    ----------
    text : str
        Lower-case words with the temperature already taken out. A unit is needed on at least one figure.

    Returns
    -------
    tuple of Quantity or None, and str
        The length and the text without it. [day]
    """
    for found in _DURATION.finditer(text):
        unit = _unit(found["unit"]) or _unit(found["low_unit"])
        if unit is None:
            continue
        low_unit = _unit(found["low_unit"]) or unit
        low = _figure(found["low"]) * DAYS_PER_UNIT[low_unit]
        high = low if found["high"] is None else _figure(found["high"]) * DAYS_PER_UNIT[unit]
        return Quantity(low, high, low == high), _without(text, found)
    return None, text


def _figure(text: str) -> float:
    return float(text.replace("−", "-"))


def _unit(word: str | None) -> str | None:
    if word is None:
        return None
    return next((unit for unit, pattern in _UNIT_WORDS.items() if re.fullmatch(pattern, word)), None)


def _without(text: str, found: re.Match[str]) -> str:
    return text[: found.start()] + " " + text[found.end() :]


OR = r"\s+or\s+(?!more\b|longer\b)"


def states_of(phases: str) -> tuple[tuple[SeedState, ...], str]:
    """The state of seed that each alternative of a phases text is for, and the text without them."""
    states: list[SeedState] = []
    plain = []
    for way in split_outside(phases, OR):
        found = re.match(r"\s*(?:for\s+)?(fresh|dried) seed:\s*", way, re.IGNORECASE)
        states.append(("fresh" if found[1].lower() == "fresh" else "dried") if found else "")
        plain.append(way[found.end() :] if found else way)
    return tuple(states), " or ".join(plain)


def split_outside(text: str, separator: str) -> list[str]:
    """The parts of a text between separators (a regular expression) outside round brackets."""
    hidden = re.sub(r"\([^()]*\)", lambda found: "\0" * len(found[0]), text)
    parts, start = [], 0
    for found in re.finditer(separator, hidden):
        parts.append(text[start : found.start()])
        start = found.end()
    return [*parts, text[start:]]
