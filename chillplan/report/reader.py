"""How the reader wants units, dates and spelling."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

__all__ = ["GRAMS_PER_OUNCE", "US", "Reader", "in_us_units", "reader_for"]

CM_PER_INCH = 2.54
MM_PER_INCH = 25.4
M_PER_FOOT = 0.3048
FINE = 0.35  # inches below which tenths are too coarse


def inches(centimetres: float) -> str:
    """A length in inches as a ruler shows it: ``0.12``, ``0.5``, ``1``."""
    value = centimetres / CM_PER_INCH
    return f"{value:.2f}" if value < FINE else f"{value:.1f}".removesuffix(".0")


@dataclass(frozen=True)
class Units:
    """Turns house units into text in the reader's units; whatever is not finite becomes an en dash."""

    us: bool

    def temperature(self, celsius: float, digits: int = 0) -> str:
        """``4 °C`` or ``39 °F``."""
        if not math.isfinite(celsius):
            return "–"
        value, unit = (celsius * 1.8 + 32.0, "°F") if self.us else (celsius, "°C")
        return f"{value:.{digits}f} {unit}"

    def difference(self, celsius: float, digits: int = 1) -> str:
        """A difference of temperatures, signed."""
        value, unit = (celsius * 1.8, "°F") if self.us else (celsius, "°C")
        return f"{value:+.{digits}f} {unit}" if math.isfinite(celsius) else "–"

    def depth(self, low_cm: float, high_cm: float) -> str:
        """Sowing depth: ``1 to 2 cm``, ``0.4 to 0.8 in``, ``surface``."""
        if high_cm <= 0.0:
            return "surface"
        unit = "in" if self.us else "cm"
        low, high = (inches(depth) if self.us else f"{depth:.1f}".removesuffix(".0") for depth in (low_cm, high_cm))
        return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"

    def height(self, metres: float | None) -> str:
        """``640 m`` or ``2100 ft``."""
        if metres is None or not math.isfinite(metres):
            return "not stated"
        return f"{metres / M_PER_FOOT:.0f} ft" if self.us else f"{metres:.0f} m"

    def water(self, millimetres: float) -> str:
        """``12 mm`` or ``0.47 in``."""
        if not math.isfinite(millimetres):
            return "–"
        return f"{millimetres / MM_PER_INCH:.2f} in" if self.us else f"{millimetres:.0f} mm"


METRIC = Units(us=False)
US = Units(us=True)


GRAMS_PER_OUNCE = 28.349523125
_NUMBER = r"-?\d+(?:\.\d+)?"
_SPAN = rf"(?<![\d.])({_NUMBER})(?: (to|and) ({_NUMBER}))?"


def in_us_units(text: str) -> str:
    """A sentence with its metric quantities turned into US ones, and spelled as Americans do.

    Parameters
    ----------
    text : str
        Written by the program: ``1 to 5 °C``, ``0.6 to 1.3 cm``, ``6 mm``, ``60 to 150 °C days``, ``1 °C warmer``,
        ``by +1.2 °C``, ``40 seeds a gram``. What a source says in its own way (``5C``) stays.
    """
    text = _MOVED.sub(lambda found: f"by {float(found[1]) * 1.8:+.1f} °F", text)
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


_MOVED = re.compile(r"\bby ([+-]\d+(?:\.\d+)?) °C")
"""By how much something was moved: a difference, which is told by its sign."""
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


DAY_MONTH = re.compile(
    r"\b(\d{1,2}(?: to \d{1,2})?) "
    r"(January|February|March|April|May|June|July|August|September|October|November|December)\b"
)
KM_PER_MILE = 1.609344
ISO_DATE = re.compile(r"\b(\d{4})-(\d{2})-(\d{2})\b")


@dataclass(frozen=True)
class Reader:
    """Units and date order of one reader.

    Attributes
    ----------
    dates : str
        ``iso`` (2027-03-05), ``dmy`` (5 Mar 2027) or ``mdy`` (Mar 5, 2027).
    """

    units: Units = METRIC
    dates: str = "dmy"

    def day(self, when: date) -> str:
        """A date with its year."""
        if self.dates == "iso":
            return when.isoformat()
        return f"{self.short(when)}, {when.year}" if self.dates == "mdy" else f"{self.short(when)} {when.year}"

    def short(self, when: date) -> str:
        """A date without its year."""
        if self.dates == "iso":
            return f"{when.month:02d}-{when.day:02d}"
        month = when.strftime("%b")
        return f"{month} {when.day}" if self.dates == "mdy" else f"{when.day} {month}"

    def span(self, first: date, last: date) -> str:
        """One date, or from the first to the last; the year is said once where both share it."""
        if first == last:
            return self.day(first)
        begin = self.short(first) if first.year == last.year and self.dates != "iso" else self.day(first)
        return f"{begin} to {self.day(last)}"

    def distance(self, kilometres: float) -> str:
        """``12 km`` or ``7 miles``."""
        return f"{kilometres / KM_PER_MILE:.0f} miles" if self.units.us else f"{kilometres:.0f} km"

    @property
    def hover(self) -> str:
        """The date order in the notation of a chart's axis."""
        return {"iso": "%m-%d", "dmy": "%-d %b", "mdy": "%b %-d"}[self.dates]

    @property
    def degree(self) -> str:
        """``°C`` or ``°F``."""
        return "°F" if self.units.us else "°C"

    def degrees(self, celsius: float) -> float:
        """A temperature as a number in the reader's unit."""
        return celsius * 1.8 + 32.0 if self.units.us else celsius

    def words(self, text: str) -> str:
        """A sentence with its temperatures, lengths and ISO dates in the reader's units and order."""
        dated = ISO_DATE.sub(self._dated, text)
        if self.dates == "mdy":
            dated = DAY_MONTH.sub(r"\2 \1", dated)
        return in_us_units(dated) if self.units.us else dated

    def _dated(self, found: re.Match[str]) -> str:
        try:
            return self.day(date(int(found[1]), int(found[2]), int(found[3])))
        except ValueError:
            return found[0]


def reader_for(units: str, dates: str | None) -> Reader:
    """Reader by the words of the command line; the date order follows the units where it is not given."""
    us = units == "us"
    return Reader(US if us else METRIC, dates or ("mdy" if us else "dmy"))
