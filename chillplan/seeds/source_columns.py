"""The columns of a species table that keep what a source measured, each with its source.

Lengths of cold, joined by semicolons, each with its temperature and the share that came up where the source gives
them::

    90 days at 4 °C: 80 %; 30 days at 4 °C: 40 %
    0 days: 10 %; 8 weeks at 1 to 5 °C
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping

from chillplan.errors import Problems, quoted
from chillplan.seeds.columns import COLUMN
from chillplan.seeds.quantities import take_duration, take_temperature
from chillplan.seeds.recipe import ColdResult, ColdTrials, Ripening

__all__ = ["is_deep", "number_or_none", "parse_ripening", "parse_trials", "sourced"]

LOT_DAYS = ("lot_days_10", "lot_days_50", "lot_days_90")
DEEP_WORDS = ("stone", "endocarp", "(deep", "morpho")
LEAP_YEAR = 2000  # so that 29 February is a date

_RESULT_WORDS = {"at", "for", "cold", "moist"}


def parse_trials(cells: Mapping[str, str], problems: Problems) -> ColdTrials:
    """What was measured of a species' cold; every fault is added to the problems."""
    lots = [number_or_none(cells, name, problems) for name in LOT_DAYS]
    trials = ColdTrials(
        worked=_cold_results(cells, "cold_worked", problems),
        failed=_cold_results(cells, "cold_failed", problems),
        longest_advised=number_or_none(cells, "cold_longest_advised_days", problems),
        measured=number_or_none(cells, "cold_measured_c", problems),
        untreated_share=number_or_none(cells, "untreated_share", problems),
        lot_days=_lot_days(lots, problems),
        source=cells["trials_source"],
    )
    filled = [name for name in ("cold_worked", "cold_failed", "untreated_share", *LOT_DAYS) if cells[name]]
    if filled and not trials.source:
        problems.add(f"{filled[0]} is filled but trials_source is blank: say who measured it")
    return trials


def parse_ripening(cells: Mapping[str, str], problems: Problems) -> Ripening | None:
    """When seed is ripe; None where the row does not say."""
    names = ("ripe_from", "ripe_to", "ripe_latitude", "ripe_source")
    blank = [name for name in names if not cells[name]]
    if len(blank) == len(names):
        return None
    if blank:
        problems.add(f"{', '.join(blank)} blank beside other ripe_ columns: fill all four or none")
    first, last = (_month_day(cells, name, problems) for name in names[:2])
    latitude = number_or_none(cells, "ripe_latitude", problems)
    if first is None or last is None or latitude is None:
        return None
    return Ripening(first, last, latitude, cells["ripe_source"])


def sourced(cells: Mapping[str, str], name: str, source: str, problems: Problems) -> float | None:
    """A number that must come with its source; None where blank."""
    if cells[name] and not cells[source]:
        problems.add(f"{name} is filled but {source} is blank: say who says so")
    return number_or_none(cells, name, problems)


def is_deep(dormancy: str) -> bool:
    """Whether the words of a class of dormancy speak of deep dormancy, a hard stone or a small embryo."""
    return any(word in dormancy.lower() for word in DEEP_WORDS)


def number_or_none(cells: Mapping[str, str], name: str, problems: Problems) -> float | None:
    """A number within the limits of its column; None where blank or, with a problem, where it is not one."""
    text = cells[name]
    limits = COLUMN[name].limits
    assert limits is not None, name
    if not text:
        return None
    try:
        value = float(text.replace("−", "-"))
    except ValueError:
        problems.add(f"{name} {quoted(text)} is not a number")
        return None
    if not limits[0] <= value <= limits[1]:
        problems.add(f"{name} {quoted(text)} is outside {limits[0]:g} to {limits[1]:g}: check the figure and its unit")
        return None
    return value


def _lot_days(days: list[float | None], problems: Problems) -> tuple[float, float, float] | None:
    tenth, half, most = days
    if tenth is None or half is None or most is None:
        if any(value is not None for value in days):
            problems.add(f"{', '.join(LOT_DAYS)} belong together: fill all three or none")
        return None
    if not tenth <= half <= most:
        problems.add(f"lot_days {tenth:g}, {half:g} and {most:g} do not rise: check their order")
    return (tenth, half, most)


def _cold_results(cells: Mapping[str, str], name: str, problems: Problems) -> tuple[ColdResult, ...]:
    parts = [part.strip() for part in cells[name].split(";")]
    results = [_cold_result(part, name, problems) for part in parts if part]
    return tuple(result for result in results if result is not None)


def _cold_result(text: str, name: str, problems: Problems) -> ColdResult | None:
    shown = f"{name} {quoted(text)}"
    length, colon, share_text = text.lower().partition(":")
    temperature, rest = take_temperature(length)
    days, rest = take_duration(rest)
    share = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*%\s*", share_text)
    unknown = [word for word in re.findall(r"[^\s,.]+", rest) if word not in _RESULT_WORDS]
    limits = COLUMN["cold_measured_c"].limits
    assert limits is not None
    if days is None or unknown or not days.single:
        problems.add(f"{shown} is not one length of cold: write for example '90 days at 4 °C: 80 %'")
        return None
    longest = COLUMN["cold_longest_advised_days"].limits
    assert longest is not None
    if not longest[0] <= days.low <= longest[1]:
        problems.add(f"{shown}: the length is outside {longest[0]:g} to {longest[1]:g} days")
    if temperature is not None and not limits[0] <= temperature.low <= temperature.high <= limits[1]:
        problems.add(f"{shown}: cold is held between {limits[0]:g} and {limits[1]:g} °C; check °C against °F")
    if colon and (share is None or float(share[1]) > 100.0):
        problems.add(f"{shown}: the share is not a percentage from 0 to 100: write for example '80 %'")
        return None
    middle = None if temperature is None else (temperature.low + temperature.high) / 2.0
    return ColdResult(days.low, middle, None if share is None else float(share[1]) / 100.0)


def _month_day(cells: Mapping[str, str], name: str, problems: Problems) -> tuple[int, int] | None:
    if not cells[name]:
        return None
    found = re.fullmatch(r"(\d\d)-(\d\d)", cells[name])
    try:
        date = datetime.date(LEAP_YEAR, int(found[1]), int(found[2])) if found else None
    except ValueError:
        date = None
    if date is None:
        problems.add(f"{name} {quoted(cells[name])} is not a month and day: write for example '08-15'")
        return None
    return (date.month, date.day)
