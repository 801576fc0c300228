"""Plain rows for spreadsheets; nothing in a cell is ever run as a formula."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.result import Plan
from chillplan.advice.wording import recipe_words
from chillplan.seasons.cut import Seasons, season_label
from chillplan.seasons.summary import Winters

__all__ = ["csv_text", "plan_csv", "safe_cell", "winter_csv"]

PLAN = (
    "species", "common_name", "verdict", "good_winters", "winters", "interval_low", "interval_high", "chance",
    "share_up_p10", "share_up_p50", "share_up_p90", "sow_from", "sow_to", "prepare", "into_cold", "plant_out",
    "requirement", "reason", "source", "evidence", "winters_too_cold_for_plant", "too_cold_for_plant",
)  # fmt: skip
WINTER = (
    "season", "chill_days", "effective_chill", "cold_days_at_or_below_5c", "last_spring_frost",
    "first_autumn_frost", "soil_5c_date", "soil_10c_date", "soil_15c_date", "mean_temperature_c",
)  # fmt: skip
RISKY = ("=", "+", "-", "@", "\t", "\r")


def safe_cell(value: object) -> str:
    """A cell that a spreadsheet shows as text: formulas get an apostrophe, numbers stay as they are."""
    text = "" if value is None else str(value)
    if isinstance(value, str) and (text.startswith(RISKY) or text.lstrip().startswith(RISKY)):
        return "'" + text
    return text


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A CSV file as text, lines ended as RFC 4180 says."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\r\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([safe_cell(cell) for cell in row])
    return buffer.getvalue()


def plan_csv(plan: Plan) -> str:
    """One row a species; without dates where the winters kill the plant."""
    rows = []
    for advice in plan.species:
        out = None if advice.killed else advice.outdoors
        indoors = (None, None, None) if advice.killed else advice.indoor_dates
        rows.append(
            (
                advice.species.name,
                advice.species.common_name,
                advice.verdict,
                advice.good,
                advice.winters,
                round(advice.interval[0], 3),
                round(advice.interval[1], 3),
                "" if math.isnan(advice.chance) else round(advice.chance, 3),
                *(round(share, 3) for share in advice.share_up),
                out.sow_from if out else "",
                out.sow_to if out else "",
                *(day or "" for day in indoors),
                recipe_words(advice.recipe),
                advice.reason,
                advice.species.source,
                advice.species.evidence,
                advice.frozen,
                "yes" if advice.killed else "",
            )
        )
    return csv_text(PLAN, rows)


def winter_csv(winters: Winters, seasons: Seasons) -> str:
    """One row a winter; a date that does not exist is written in words."""
    south = seasons.southern
    rows = []
    for index, year in enumerate(winters.years.tolist()):
        frost = (winters.last_spring_frost[0.0][index], winters.first_autumn_frost[0.0][index])
        warm = [winters.soil_warm[limit][index] for limit in (5.0, 10.0, 15.0)]
        rows.append(
            (
                season_label(year),
                int(winters.chill_days[index]),
                round(float(winters.effective_chill[index]), 1),
                int(winters.cold_days[index]),
                *(_frost(day, year, south) for day in frost),
                *(_warming(day, year, south) for day in warm),
                round(float(winters.mean_temperature[index]), 2),
            )
        )
    return csv_text(WINTER, rows)


def _frost(index: float, year: int, south: bool) -> str:
    return date_of(index, year, south).isoformat() if math.isfinite(index) else "no frost"


def _warming(index: float, year: int, south: bool) -> str:
    if math.isfinite(index):
        return date_of(index, year, south).isoformat()
    return "never below" if index < 0 else "never reached"
