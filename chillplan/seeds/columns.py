"""The columns of a species table: what each holds, which are needed, what a blank cell means, and what was measured.

Lengths of cold that were tried are joined by semicolons, each with its temperature and the share that came up where the
source gives them::

    90 days at 4 °C: 80 %; 30 days at 4 °C: 40 %
    0 days: 10 %; 8 weeks at 1 to 5 °C
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass

from chillplan.errors import Problems, quoted
from chillplan.seeds.quantities import take_duration, take_temperature
from chillplan.seeds.recipe import ColdResult, ColdTrials, Ripening

__all__ = [
    "COLUMN",
    "COLUMNS",
    "COLUMN_NAMES",
    "FIGURE_COLUMNS",
    "GERMINATION_DEFAULT",
    "LIGHT",
    "STORAGE",
    "TRIAL_COLUMNS",
    "Column",
    "is_deep",
    "number_or_none",
    "parse_ripening",
    "parse_trials",
    "sourced",
]

LIGHT = ("needed", "not needed", "dark", "unknown")
STORAGE = ("dry", "short-lived", "never dry")


@dataclass(frozen=True)
class Column:
    """One column of a species table."""

    name: str
    meaning: str  # for the documentation of the table
    default: str = ""  # what a blank cell means, in the grammar of the column
    limits: tuple[float, float] | None = None  # plausible range of a number; None where the column holds words


GERMINATION_DEFAULT = {
    "base_temperature_c": "5",
    "base_low_c": "2",
    "base_high_c": "8",
    "thermal_time_low": "100",
    "thermal_time_high": "250",
}
"""Class default of an ordinary temperate species, used where a row gives nothing: an assumption, marked as such."""

COLUMNS = (
    Column("name", "scientific name; one row a species"),
    Column("common_name", "the usual common name"),
    Column("other_names", "synonyms and further common names, separated by semicolons"),
    Column("family", "plant family"),
    Column("dormancy", "class of dormancy in words, for example 'physiological'"),
    Column("hard_coat", "'yes' where water cannot enter until the coat is opened", "no"),
    Column("coat", "coat steps in plain words, alternatives joined by ' or '", "none"),
    Column("phases", "warm and cold phases in plain words, in order, alternatives joined by ' or '"),
    Column("cold_response", "own response to cold as four rising temperatures, blank for the default [°C]"),
    Column("warm_response", "own response to warmth as four rising temperatures, blank for the default [°C]"),
    Column("germination_c", "range to hold when germinating indoors, for example '15 to 20' [°C]"),
    Column("base_temperature_c", "base temperature of thermal time [°C]", "5", (-5.0, 20.0)),
    Column("base_low_c", "low end of its plausible range [°C]", "2", (-5.0, 20.0)),
    Column("base_high_c", "high end of its plausible range [°C]", "8", (-5.0, 20.0)),
    Column("thermal_time_low", "thermal time to emergence, 10th percentile [°C d]", "100", (1.0, 2000.0)),
    Column("thermal_time_high", "thermal time to emergence, 90th percentile [°C d]", "250", (1.0, 3000.0)),
    Column("germination_evidence", "'published' or 'assumed', for base temperature and thermal time", "assumed"),
    Column("light", "'needed', 'not needed', 'dark' or 'unknown'", "unknown"),
    Column("storage", "'dry', 'short-lived' or 'never dry'", "dry"),
    Column("depth_low_cm", "least sowing depth; 0, the surface, is the default for light [cm]", "0.6", (0.0, 20.0)),
    Column("depth_high_cm", "greatest sowing depth [cm]", "1.3", (0.0, 20.0)),
    Column("seedling_limit_c", "ground-level minimum that kills a seedling [°C]", "-5", (-25.0, 5.0)),
    Column("shoot_waits", "'yes' where the root comes first and the shoot waits for a cold phase", "no"),
    Column("uses", "words separated by semicolons, for example 'edible; pollinator'"),
    Column("sow_season", "what the source says about the season outdoors"),
    Column("seeds_per_gram", "clean seeds in one gram; blank where unknown", "", (0.001, 2_000_000.0)),
    Column(
        "trickle_share", "share of untreated hard seed that lets water in over one winter outdoors", "0.1", (0.0, 1.0)
    ),
    Column("cautions", "hazards and legal cautions, separated by semicolons"),
    Column("note", "anything else, such as how sources disagree"),
    Column("source", "who says so; a user's own trial is a source"),
    Column("source_url", "where it can be read"),
    Column(
        "read", "names of the figures that were read in the source, separated by semicolons; the rest is from memory"
    ),
    Column("cold_worked", "cold that worked in a trial, such as '90 days at 4 °C: 80 %; 30 days at 4 °C: 40 %'"),
    Column("cold_failed", "cold that did not work in a trial, such as '30 days at 5 °C: 0 %'"),
    Column("cold_longest_advised_days", "longest cold any source advises [day]", "", (0.0, 730.0)),
    Column(
        "cold_measured_c", "temperature at which the cold of phases and lot_days was counted [°C]", "", (-5.0, 16.0)
    ),
    Column("untreated_share", "share of viable seed that comes up without cold", "", (0.0, 1.0)),
    Column(
        "reversal_c",
        "chill is undone above; blank for 14.5, or the end of cold_response if higher [°C]",
        "",
        (5.0, 35.0),
    ),
    Column("lot_days_10", "cold that readies a tenth of viable seed in a trial [day]", "", (0.0, 730.0)),
    Column("lot_days_50", "cold that readies half of it [day]", "", (0.0, 730.0)),
    Column("lot_days_90", "cold that readies nine tenths of it [day]", "", (0.0, 730.0)),
    Column("trials_source", "who measured the columns from cold_worked to lot_days_90; needed where one is filled"),
    Column("ripe_from", "first day on which seed is ripe, month and day as in '08-15'"),
    Column("ripe_to", "last day on which it can still be gathered, as in '10-01'"),
    Column("ripe_latitude", "where those two days hold; south is negative [degrees north]", "", (-60.0, 75.0)),
    Column("ripe_source", "who says when it is ripe; needed where ripe_from is filled"),
    Column("hardiness_c", "lowest winter air temperature the plant stands [°C]", "", (-60.0, 10.0)),
    Column("hardiness_source", "who says so; needed where hardiness_c is filled"),
    Column("ceiling_share", "highest share of viable seed known to come up; blank for all of it", "", (0.01, 1.0)),
    Column("ceiling_source", "who says so; needed where ceiling_share is filled"),
)
"""All columns; only ``name`` and ``phases`` are needed, every other may be absent or blank."""

COLUMN = {column.name: column for column in COLUMNS}
COLUMN_NAMES = tuple(COLUMN)
FIGURE_COLUMNS = ("coat", "phases", "cold_response", "warm_response", "germination_c", *GERMINATION_DEFAULT)
"""Columns whose figures rest on the source of the row."""
TRIAL_COLUMNS = (
    "cold_worked",
    "cold_failed",
    "cold_longest_advised_days",
    "cold_measured_c",
    "untreated_share",
    "lot_days_10",
    "lot_days_50",
    "lot_days_90",
    "trials_source",
)
"""Columns that say what was measured of the cold."""


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
        problems.add(
            f"{name} {quoted(text)} is outside {limits[0]:.9g} to {limits[1]:.9g}: check the figure and its unit"
        )
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
