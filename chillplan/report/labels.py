"""What a label says, one for each bag in the cold and one for each bed outdoors, and how its fonts can say it."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache

from arabic_reshaper import ArabicReshaper
from bidi.algorithm import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from chillplan.advice.result import Plan, SpeciesAdvice, Step
from chillplan.data_files import data_path
from chillplan.errors import counted
from chillplan.report.markup import UNIT_GAP, clean
from chillplan.report.reader import Reader

__all__ = [
    "BOLD",
    "LABEL_WAYS",
    "REGULAR",
    "Label",
    "batch_identifier",
    "labels_of",
    "missing_signs",
    "printable",
    "register_fonts",
    "visual",
]

BLANK = "____________"
JUST_BEFORE = ", just before sowing"  # how the steps of a sowing say it
LABEL_WAYS = {"outdoors": "bed", "fridge": "fridge", "top-up": "bed-then-fridge"}  # by the way in a task's key
LONGEST_IDENTIFIER = 60


@dataclass(frozen=True)
class Label:
    """One label.

    Attributes
    ----------
    kind : str
        ``BAG`` or ``BED``.
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
    species : str
        Any writing; letters and digits are kept, the rest becomes a hyphen.
    """
    plain = unicodedata.normalize("NFKC", species).casefold()
    slug = re.sub(r"[^\w]+|_+", "-", plain).strip("-")[:LONGEST_IDENTIFIER].strip("-")
    return f"{season}-{slug or 'species'}-{way}"


def labels_of(plan: Plan, reader: Reader) -> tuple[Label, ...]:
    """Labels of all species in the order of the plan: bags of treatments indoors, beds of sowings outdoors."""
    found: list[Label] = []
    for advice in plan.species:
        if "outdoors" in advice.ways:
            found.append(_bed(plan, advice, reader))
        if "fridge" in advice.ways:
            found.append(_bag(plan, advice, reader))
        if "top-up" in advice.ways:
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
        _seed(advice, reader),
        f"Sown on: {BLANK}    Up on: {BLANK}",
        *([f"Leave it in place until spring {way.up_in}"] if way.spring > 1 else []),
    ]
    return _label(plan, advice, "BED", LABEL_WAYS["outdoors"], lines, (), reader)


def _bag(plan: Plan, advice: SpeciesAdvice, reader: Reader) -> Label:
    way = advice.fridge
    assert way is not None
    lines = [
        *_steps([step for step in way.steps if step.kind == "coat"], reader),
        *(_phase(step, reader) for step in way.steps if step.kind in {"warm phase", "cold phase"}),
        f"Out and planted: {reader.day(way.plant_out)}",
        f"Depth: {reader.units.depth(*advice.species.depth_cm)}    Spacing: {BLANK}",
        _seed(advice, reader),
    ]
    return _label(plan, advice, "BAG", LABEL_WAYS["fridge"], lines, way.checks, reader)


def _top_up(plan: Plan, advice: SpeciesAdvice, reader: Reader) -> Label:
    way = advice.top_up
    assert way is not None
    _, median, most = way.owed_days
    lines = [
        *_steps([step for step in way.steps if step.kind == "coat"], reader),
        f"Sow in a mesh bag: {reader.span(way.sow, way.sow_to)}",
        f"Lift by {reader.day(way.lift)}; then cold: {counted(median, 'day')} owed, {most:.0f} after a poor winter",
        f"Plant out: {reader.day(way.plant_out)}    Lifted on: {BLANK}",
        f"Depth: {reader.units.depth(*advice.species.depth_cm)}    Spacing: {BLANK}",
        _seed(advice, reader),
    ]
    return _label(plan, advice, "BED", LABEL_WAYS["top-up"], lines, way.checks, reader)


def _seed(advice: SpeciesAdvice, reader: Reader) -> str:
    """Which seed and how much, where the grower said so; room to write it where not."""
    lot = advice.lot
    if lot is None:
        return f"Lot: {BLANK}    Seeds: {BLANK}"
    picked = reader.day(lot.picked) if lot.picked else ""
    name = lot.lot or ", ".join(part for part in (lot.where, picked) if part)
    return f"Lot: {name or BLANK}    Seed: {lot.amount or BLANK}"


def _phase(step: Step, reader: Reader) -> str:
    """``Into the cold: 19 Jan 2027, 60 to 90 days, 1 to 5 °C``."""
    place = "cold" if step.kind == "cold phase" else "warm"
    asks = step.text.partition(f"{place} moist, ")[2] or step.text
    return f"Into the {place}: {reader.day(step.date_from)}, {reader.words(asks)}"


def _steps(steps: list[Step], reader: Reader) -> list[str]:
    return [_step(step, reader) for step in steps]


def _step(step: Step, reader: Reader) -> str:
    """``31 Dec: soak, 12 hours``; what is done just before sowing has no date of its own."""
    words, before, _ = reader.words(step.text).partition(JUST_BEFORE)
    return f"Just before sowing: {words}" if before else f"{reader.short(step.date_from)}: {words}"


def _line(words: str) -> str:
    """One line; a number is not parted from its unit, nor a blank from its name."""
    spaces = clean(words).replace("\n", " ")
    return UNIT_GAP.sub("\\1\u00a0\\2", spaces.replace(f": {BLANK}", f":\u00a0{BLANK}"))


REGULAR, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"
RIGHT_TO_LEFT = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc]")
LETTER_MISSING = "?"
LONGEST_NAME = 28  # of a sign, in brackets
UNSEEN = {"Cf", "Mn", "Me", "Sk"}  # joiners, variation selectors, marks and skin tones carry no meaning of their own


def register_fonts() -> None:
    """Make the two fonts of the labels known to the PDF library."""
    for name in (REGULAR, BOLD):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(data_path(f"{name}.ttf"))))


def printable(text: str, font: str) -> str:
    """Text as far as a font can show it, still in reading order.

    Parameters
    ----------
    font : str
        `REGULAR` or `BOLD`.

    Returns
    -------
    str
        Arabic letters in their joined forms; a sign the font lacks as its name in brackets, a letter as ``?``.
    """
    joined = str(_reshaper().reshape(text)) if RIGHT_TO_LEFT.search(text) else text
    known = _signs_of(font)
    return "".join(sign if ord(sign) in known else _stand_in(sign) for sign in joined)


def missing_signs(labels: Iterable[Label]) -> str:
    """Signs in the texts of labels that their fonts lack, each once, in the order of their first use."""
    register_fonts()
    found: dict[str, None] = {}
    for label in labels:
        for text, font in ((label.name, BOLD), *((line, REGULAR) for line in (label.latin, *label.lines))):
            known = _signs_of(font)
            found.update((sign, None) for sign in text if ord(sign) not in known and _stand_in(sign))
    return "".join(found)


def visual(text: str) -> str:
    """Letters in the order in which they stand on paper, brackets turned round where they read from the right."""
    return str(get_display(text)) if RIGHT_TO_LEFT.search(text) else text


def _stand_in(sign: str) -> str:
    category = unicodedata.category(sign)
    if category in UNSEEN:
        return ""
    name = unicodedata.name(sign, "").lower()
    if category.startswith("S") and 0 < len(name) <= LONGEST_NAME:
        return f"[{name}]"
    return LETTER_MISSING


@cache
def _signs_of(font: str) -> frozenset[int]:
    register_fonts()
    return frozenset(pdfmetrics.getFont(font).face.charToGlyph)


@cache
def _reshaper() -> ArabicReshaper:
    """Joins letters and keeps vowel signs; the one ligature that the fonts lack is spelt out."""
    return ArabicReshaper({"delete_harakat": False, "support_ligatures": True, "ARABIC LIGATURE ALLAH": False})
