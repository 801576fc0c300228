"""Sentences of ours in US units: temperatures, depths and mesh, thermal time, seeds by weight."""

from __future__ import annotations

import re
from collections.abc import Callable

from chillplan.report.units import inches

__all__ = ["GRAMS_PER_OUNCE", "in_us_units"]

GRAMS_PER_OUNCE = 28.349523125
_NUMBER = r"-?\d+(?:\.\d+)?"
_SPAN = rf"(?<![\d.])({_NUMBER})(?: (to|and) ({_NUMBER}))?"


def in_us_units(text: str) -> str:
    """A sentence with its metric quantities turned into US ones, and spelled as Americans do.

    Parameters
    ----------
    text : str
        Written by the program: ``1 to 5 °C``, ``0.6 to 1.3 cm``, ``6 mm``, ``60 to 150 °C days``, ``1 °C warmer``,
        ``40 seeds a gram``. What a source says in its own way (``5C``) stays.

    Returns
    -------
    str
    """
    for unit, convert, words in _RULES:
        text = re.sub(rf"{_SPAN} {unit}", _turn(convert, words), text)
    return _BRITISH.sub(lambda found: found[0][0] + _SPELLINGS[found[0].lower()][1:], text)


def _turn(convert: Callable[[float], str], words: str) -> Callable[[re.Match[str]], str]:
    def turned(found: re.Match[str]) -> str:
        low = convert(float(found[1]))
        if found[3] is None:
            return f"{low} {words}"
        high = convert(float(found[3]))
        return f"{low} {words}" if low == high else f"{low} {found[2]} {high} {words}"

    return turned


def _fahrenheit(celsius: float) -> str:
    return f"{celsius * 1.8 + 32.0:.0f}"


def _difference(celsius: float) -> str:
    return f"{celsius * 1.8:.1f}".removesuffix(".0")


def _an_ounce(in_a_gram: float) -> str:
    rounded = float(f"{in_a_gram * GRAMS_PER_OUNCE:.2g}")
    return f"{rounded:.0f}" if rounded >= 10.0 else f"{rounded:g}"


_SPELLINGS = {
    "mould": "mold",
    "moulds": "molds",
    "mouldy": "moldy",
    "grey": "gray",
    "colour": "color",
    "colours": "colors",
    "modelled": "modeled",
    "labelled": "labeled",
    "neighbour": "neighbor",
    "neighbours": "neighbors",
    "neighbouring": "neighboring",
    "centre": "center",
    "metre": "meter",
    "metres": "meters",
    "naturalised": "naturalized",
    "recognised": "recognized",
}
"""First letters agree in each pair."""
_BRITISH = re.compile(rf"(?<![\w/.@-])(?:{'|'.join(_SPELLINGS)})(?![\w/@-]|\.\w)", re.IGNORECASE)

_RULES: tuple[tuple[str, Callable[[float], str], str], ...] = (
    (r"°C days?\b", lambda value: f"{value * 1.8:.0f}", "°F days"),
    (r"°C warmer\b", _difference, "°F warmer"),
    (r"°C colder\b", _difference, "°F colder"),
    (r"°C(?![\w])", _fahrenheit, "°F"),
    (r"cm\b", inches, "in"),
    (r"mm\b", lambda value: inches(value / 10.0), "in"),
    (r"seeds a gram\b", _an_ounce, "seeds an ounce"),
)
