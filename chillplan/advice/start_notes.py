"""What is worth knowing on the day a batch goes into treatment."""

from __future__ import annotations

import math
from datetime import date, timedelta

from chillplan.advice.wording import number_range
from chillplan.seasons.response import response_share
from chillplan.seeds.recipe import Phase, Recipe

__all__ = ["place_note", "start_notes"]

POOR_DAY = 0.5  # a place that gives a phase less than this share of a day is told. Our choice. [-]
LONG_WAIT = 14  # days in the cold beyond what nine seeds in ten need that are told. Our choice. [day]


def start_notes(
    recipe: Recipe, set_temperature: float, begun: date, plant_out: date | None, base_temperature: float = 0.0
) -> tuple[str, ...]:
    """Sentences on a place that does not suit and a planting date that does not fit.

    Parameters
    ----------
    set_temperature : float
        Of the place. [°C]
    begun : datetime.date
        First day of the first phase.
    plant_out : datetime.date or None
        Planting date wanted.
    base_temperature : float
        At or below which the seed does not sprout. [°C]
    """
    phases = [phase for phase in recipe.phases if phase.days[1] > 0]
    if not phases:
        return (
            "It needs neither cold nor warmth: sow it once its coat is treated; a batch in the cold gains nothing.",
        )
    first = phases[0]
    notes = [place_note(first.kind, response_of(first), first.temperature, set_temperature)]
    if plant_out is not None:
        days = sum(math.ceil(phase.days[1]) for phase in phases)
        notes.append(_date_words(days, begun, plant_out, sprouts=base_temperature < set_temperature))
    return tuple(note for note in notes if note)


def place_note(
    kind: str,
    response: tuple[float, float, float, float],
    asked: tuple[float, float] | None,
    set_temperature: float,
) -> str:
    """A sentence where a place does not suit a phase; empty where it does.

    Parameters
    ----------
    kind : str
        ``cold`` or ``warm``.
    response : tuple of four floats
        [°C]
    asked : tuple of float or None
        Range to hold. [°C]
    set_temperature : float
        Of the place. [°C]
    """
    share = response_share(set_temperature, response)
    if share >= POOR_DAY:
        return ""
    asks = f"; it asks for {number_range(*asked, '°C')}" if asked else ""
    return (
        f"At {set_temperature:g} °C a day counts {share:.0%} of a day for its {kind} phase{asks}. If it lies "
        "elsewhere, take the entry back (`chillplan batch undo`) and name the place with --place and --set."
    )


def response_of(phase: Phase) -> tuple[float, float, float, float]:
    """The corners of a phase's response. [°C]"""
    response = phase.response
    return response.zero_low, response.full_low, response.full_high, response.zero_high


def _date_words(days: int, begun: date, plant_out: date, sprouts: bool) -> str:
    ready = begun + timedelta(days=days)
    wait = (plant_out - ready).days
    if wait < 0:
        return (
            f"Nine seeds in ten are ready about {ready}, {-wait} days after the planting date {plant_out}: plant "
            "later, or expect fewer."
        )
    if wait > LONG_WAIT:
        return (
            f"Nine seeds in ten are ready about {ready}, {wait} days before the planting date {plant_out}"
            f"{', and may sprout in the bag' if sprouts else ''}: begin about {plant_out - timedelta(days=days)} "
            "instead, or plant earlier."
        )
    return ""
