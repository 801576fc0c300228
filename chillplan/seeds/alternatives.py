"""Alternatives in a text of a species table, and the state of seed that each is for."""

from __future__ import annotations

import re

from chillplan.seeds.recipe import SeedState

__all__ = ["OR", "split_outside", "states_of"]

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
