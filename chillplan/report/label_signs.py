"""Text for the label's fonts: Arabic letters joined, right to left put in visual order, missing signs replaced."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache

from arabic_reshaper import ArabicReshaper
from bidi.algorithm import get_display
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from chillplan.data_files import data_path
from chillplan.report.labels import Label

__all__ = ["BOLD", "REGULAR", "missing_signs", "printable", "register_fonts", "visual"]

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
    text : str
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
    """Signs in the texts of labels that their fonts lack, each once, in the order of their first use.

    Parameters
    ----------
    labels : iterable of Label
    """
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
