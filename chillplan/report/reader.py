"""How the reader wants units and dates."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from chillplan.report.units import METRIC, US, Units
from chillplan.report.us_words import in_us_units

__all__ = ["DATE_STYLES", "Reader", "reader_for"]

DATE_STYLES = ("iso", "dmy", "mdy")
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
    units : Units
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
