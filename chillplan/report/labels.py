"""What a label says: one for each bag in the cold and one for each bed outdoors."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date

from chillplan.advice.result import Plan, SpeciesAdvice, Step
from chillplan.report.markup import clean
from chillplan.report.reader import Reader

__all__ = ["Label", "batch_identifier", "labels_of"]

BLANK = "____________"
LONGEST_IDENTIFIER = 60


@dataclass(frozen=True)
class Label:
    """One label.

    Attributes
    ----------
    kind : str
        ``BAG`` or ``BED``.
    name, latin : str
    lines : tuple of str
        Steps with their dates, depth and spacing.
    checks : tuple of str
        Dates to tick.
    identifier : str
        Of the batch; the journal takes it as a batch's label.
    """

    kind: str
    name: str
    latin: str
    lines: tuple[str, ...]
    checks: tuple[str, ...]
    identifier: str


def batch_identifier(season: int, species: str, way: str) -> str:
    """Plain text that names a batch: season, species and way, for example ``2026-zizia-aurea-fridge``.

    Parameters
    ----------
    season : int
    species : str
        Any writing; letters and digits are kept, the rest becomes a hyphen.
    way : str
    """
    plain = unicodedata.normalize("NFKC", species).casefold()
    slug = re.sub(r"[^\w]+|_+", "-", plain).strip("-")[:LONGEST_IDENTIFIER].strip("-")
    return f"{season}-{slug or 'species'}-{way}"


def labels_of(plan: Plan, reader: Reader) -> tuple[Label, ...]:
    """Labels of all species in the order of the plan: bags of treatments indoors, beds of sowings outdoors."""
    found: list[Label] = []
    for advice in plan.species:
        if advice.verdict in {"sow-in-autumn", "two-winters-outdoors", "either", "sow-in-spring"} and advice.outdoors:
            found.append(_bed(plan, advice, reader))
        if advice.verdict in {"chill-in-fridge", "either"} and advice.fridge:
            found.append(_bag(plan, advice, reader))
        if advice.verdict == "start-outdoors-finish-in-fridge" and advice.top_up:
            found.append(_top_up(plan, advice, reader))
    return tuple(found)


def _label(
    plan: Plan, advice: SpeciesAdvice, kind: str, way: str, lines: list[str], checks: tuple[date, ...], reader: Reader
) -> Label:
    species = advice.species
    return Label(
        kind=kind,
        name=_line(species.common_name or species.name),
        latin=_line(species.name) if species.common_name else "",
        lines=tuple(_line(line) for line in lines),
        checks=tuple(reader.short(day) for day in checks),
        identifier=batch_identifier(plan.season, species.name, way),
    )


def _bed(plan: Plan, advice: SpeciesAdvice, reader: Reader) -> Label:
    way = advice.outdoors
    assert way is not None
    lines = [
        *_steps([step for step in way.steps if step.kind == "coat"], reader),
        f"Sow: {reader.span(way.sow_from, way.sow_to)}",
        f"Depth: {reader.units.depth(*way.depth_cm)}    Spacing: {BLANK}",
        f"Lot: {BLANK}    Seeds: {BLANK}",
        f"Sown on: {BLANK}    Up on: {BLANK}",
    ]
    return _label(plan, advice, "BED", "bed", lines, (), reader)


def _bag(plan: Plan, advice: SpeciesAdvice, reader: Reader) -> Label:
    way = advice.fridge
    assert way is not None
    into = [f"Into the cold: {reader.day(way.into_cold)}"] if way.into_cold else []
    lines = [
        *_steps([step for step in way.steps if step.kind != "plant out"], reader),
        *into,
        f"Out and planted: {reader.day(way.plant_out)}",
        f"Depth: {reader.units.depth(*advice.species.depth_cm)}    Spacing: {BLANK}",
        f"Lot: {BLANK}    Seeds: {BLANK}",
    ]
    return _label(plan, advice, "BAG", "fridge", lines, way.checks, reader)


def _top_up(plan: Plan, advice: SpeciesAdvice, reader: Reader) -> Label:
    way = advice.top_up
    assert way is not None
    lines = [
        *_steps([step for step in way.steps if step.kind in {"coat", "cold phase", "warm phase"}], reader),
        f"Sown in a mesh bag: {reader.day(way.sow)}",
        f"Lift: {reader.day(way.lift)}    Plant out: {reader.day(way.plant_out)}",
        f"Depth: {reader.units.depth(*advice.species.depth_cm)}    Spacing: {BLANK}",
        f"Lot: {BLANK}    Seeds: {BLANK}",
    ]
    return _label(plan, advice, "BED", "bed-then-fridge", lines, (), reader)


def _steps(steps: list[Step], reader: Reader) -> list[str]:
    return [f"{reader.short(step.date_from)}: {reader.words(step.text)}" for step in steps]


def _line(words: str) -> str:
    return " ".join(clean(words).replace("\n", " ").split(" ")) if "    " in words else " ".join(clean(words).split())
