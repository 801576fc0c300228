"""The answers of the soil check: JSON by contract, CSV, a table, a picture of one winter."""

from __future__ import annotations

import html
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.errors import counted
from chillplan.report.rows import csv_text
from chillplan.report.tables_terminal import console, fitted
from chillplan.seasons.soil_covers import CLEARLY, CoverTrial
from chillplan.seasons.soil_stations import Calibrated, Checked
from chillplan.seasons.soilcheck import COLD_EDGE, SoilCheck, WinterChill

__all__ = ["Found", "csv_of", "json_of", "print_soilcheck", "summary_of", "winter_picture"]


@dataclass(frozen=True)
class Found:
    """What the check found at one station."""

    checked: Checked
    covers: CoverTrial | None = None
    tuned: Calibrated | None = None

    @property
    def wet(self) -> bool:
        """Whether the station's precipitation was used."""
        return self.checked.station.precipitation is not None


def json_of(stations: Sequence[Found], depth_cm: float) -> dict[str, Any]:
    """The answer by contract: one row a station, and the figures over all of them.

    Parameters
    ----------
    depth_cm : float
        [cm]
    """
    rows = []
    for found in stations:
        one, tuned = found.checked, found.tuned
        row: dict[str, Any] = {"station": one.station.name, **_figures(one.check)}
        row |= {
            "winters": len(one.check.winters),
            "lag_days": one.check.lag,
            "precipitation_used": found.wet,
            "precipitation_guessed_days": one.station.guessed_days,
            "notes": list(one.faults.notes),
            "covers": None if found.covers is None else _covers_json(found.covers),
        }
        if tuned is not None:
            row["calibration"] = {
                "parameters": {name: round(value, 4) for name, value in tuned.parameters.items()},
                "fitted_from": str(tuned.first),
                "fitted_to": str(tuned.last),
                "days_in_turn": tuned.blocks,
                "before": _figures(tuned.before),
                "after": _figures(tuned.after),
            }
        rows.append(row)
    answer: dict[str, Any] = {"schema": 1, "depth_cm": depth_cm, "stations": rows}
    answer |= summary_of([found.checked.check for found in stations])
    tuned_ones = [found.tuned for found in stations if found.tuned is not None]
    if tuned_ones:
        answer["calibrated"] = {
            "before": summary_of([tuned.before for tuned in tuned_ones]),
            "after": summary_of([tuned.after for tuned in tuned_ones]),
        }
    return answer


def _covers_json(trial: CoverTrial) -> dict[str, Any]:
    return {
        "stated": trial.stated,
        "suggested": trial.suggested,
        "clearly_better_c": CLEARLY,
        "tried": [{"cover": cover, **_figures(check)} for cover, check in trial.checks.items()],
    }


def summary_of(checks: Sequence[SoilCheck]) -> dict[str, Any]:
    """Median, mean and 90th percentile of the stations' errors; chill error and agreement over all their winters."""
    errors = np.array([check.rmse for check in checks if math.isfinite(check.rmse)])
    return {
        "median_rmse_c": _rounded(np.median(errors) if errors.size else math.nan),
        "mean_rmse_c": _rounded(errors.mean() if errors.size else math.nan),
        "p90_rmse_c": _rounded(np.percentile(errors, 90) if errors.size else math.nan),
        **_chill_figures(_together([check.chill for check in checks])),
        "cold_edge": _at_cold_edge(_together([check.chill_to_cold_edge for check in checks])),
    }


def _together(each: Sequence[WinterChill]) -> WinterChill:
    return WinterChill(np.concatenate([one.model for one in each]), np.concatenate([one.soil for one in each]))


def csv_of(stations: Sequence[Found]) -> str:
    """One row a station; empty cells where there is nothing to tell."""
    names = ["days", "rmse_c", "bias_c", "chill_mae_days", "agreement"]
    rows = []
    for found in stations:
        one, tuned = found.checked, found.tuned
        figures = _figures(one.check)
        after = _figures(tuned.after) if tuned is not None else {}
        cells: list[object] = [figures[name] for name in names]
        cells += [len(one.check.winters), one.check.lag, after.get("rmse_c"), after.get("chill_mae_days")]
        cells += [None if found.covers is None else found.covers.suggested, figures["cold_edge"]["chill_mae_days"]]
        rows.append([one.station.name, *cells])
    extra = ["winters", "lag_days", "calibrated_rmse_c", "calibrated_chill_mae_days", "suggested_cover"]
    extra += ["chill_mae_days_to_cold_edge"]
    return csv_text(["station", *names, *extra], rows)


def _figures(check: SoilCheck) -> dict[str, Any]:
    return {
        "days": check.days,
        "rmse_c": _rounded(check.rmse),
        "bias_c": _rounded(check.bias),
        **_chill_figures(check.chill),
        "cold_edge": _at_cold_edge(check.chill_to_cold_edge),
    }


def _chill_figures(chill: WinterChill) -> dict[str, float | None]:
    return {"chill_mae_days": _rounded(chill.error), "agreement": _rounded(chill.agreement, 4)}


def _at_cold_edge(chill: WinterChill) -> dict[str, float | None]:
    return {"zero_c": COLD_EDGE.zero, "full_c": COLD_EDGE.full, **_chill_figures(chill)}


def _rounded(value: float, digits: int = 3) -> float | None:
    return round(float(value), digits) if math.isfinite(value) else None


def print_soilcheck(stations: Sequence[Found], depth_cm: float) -> None:
    """Print one row a station, the figures over all, what is wrong with the records, the covers, the calibration.

    Parameters
    ----------
    depth_cm : float
        [cm]
    """
    out = console()
    wet = [found.wet for found in stations]
    water = "with precipitation" if all(wet) else "without precipitation"
    if any(wet) and not all(wet):
        water = "with precipitation where the record has it"
    out.print(f"Seed-zone model against soil thermometers at {depth_cm:g} cm, {water}.")
    out.print("Error and bias of the daily mean (°C), chill error of a winter (days), agreement (%), best lag (days).")
    checked = [found.checked for found in stations]
    out.print(fitted(_table(checked), out.width))
    if len(checked) > 1:
        out.print(f"All stations: {_sentence(summary_of([one.check for one in checked]))}")
    tuned = [found.tuned for found in stations if found.tuned is not None]
    if tuned:
        out.print(f"Days not fitted, before calibration: {_sentence(summary_of([fit.before for fit in tuned]))}")
        out.print(f"Days not fitted, after calibration:  {_sentence(summary_of([fit.after for fit in tuned]))}")
    for one in checked:
        for note in _notes(one):
            out.print(f"  {escape(one.station.name)}: {escape(note)}")
    guessed = [one.station.guessed_days for one in checked if one.station.guessed_days]
    if guessed:
        where = f" at {len(guessed)} of {len(checked)} stations" if len(checked) > 1 else ""
        out.print(
            f"Precipitation is missing on {counted(sum(guessed), 'day')}{where}: guessed there from the daily range."
        )
    for line in _cover_lines(stations):
        out.print(escape(line))
    out.print(
        "Observed: air and soil. Modelled: the seed zone. Assumed: how a day counts as chill (0 at -2, 1 from 1 to 7, "
        f"0 at 12 °C); it may as well count down to {COLD_EDGE.zero:g} °C (1 from {COLD_EDGE.full:g}), and the chill "
        "error is given for both. Chill error: mean error of a winter's effective chill, September to May (six months "
        "later in the south)."
    )


def _cover_lines(stations: Sequence[Found]) -> list[str]:
    """What each station's ground acts like; of several stations only those that another cover fits clearly better."""
    tried = [(found.checked.station.name, found.covers) for found in stations if found.covers is not None]
    if not tried:
        return []
    lines = [
        f"  {name}: {_cover_words(trial)}" for name, trial in tried if len(stations) == 1 or trial.suggested is not None
    ]
    told = sum(trial.suggested is not None for _, trial in tried)
    if len(stations) > 1:
        lines.append(f"Another cover fits clearly better (by {CLEARLY:g} °C) at {told} of {len(tried)} stations.")
    if told:
        lines.append(
            "A cover says what the ground acts like, not what grows on it; soilcheck --calibrate comes closer than any."
        )
    return lines


def _cover_words(trial: CoverTrial) -> str:
    errors = {cover: f"{check.rmse:.2f}" for cover, check in trial.checks.items()}
    if trial.suggested is not None:
        return (
            f"{trial.suggested} fits clearly better than {trial.stated}, the cover stated: error {errors[trial.best]} "
            f"against {errors[trial.stated]} °C; to use it, say --cover '{trial.suggested}'"
        )
    others = ", ".join(f"{cover} {error}" for cover, error in errors.items() if cover != trial.stated)
    return (
        f"no cover fits clearly better (by {CLEARLY:g} °C) than {trial.stated}, the cover stated: error "
        f"{errors[trial.stated]} °C; {others}"
    )


def _table(checked: Sequence[Checked]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Station", overflow="fold")
    to_edge = f"to\u00a0{COLD_EDGE.zero:g}"
    headings = ["days", "error", "bias", "winters", "chill", to_edge, "agree", "lag"]
    for heading in headings:
        table.add_column(heading, justify="right")
    for one in checked:
        check = one.check
        table.add_row(
            escape(one.station.name),
            f"{check.days}",
            _number(check.rmse, 2),
            _number(check.bias, 2, "+"),
            f"{len(check.winters)}",
            _number(check.chill.error, 1),
            _number(check.chill_to_cold_edge.error, 1),
            _number(100 * check.chill.agreement, 0),
            "–" if check.lag is None else f"{check.lag:+d}" if check.lag else "0",
        )
    return table


def _notes(one: Checked) -> list[str]:
    notes = list(one.faults.notes)
    lag = one.check.lag
    if lag:
        late, early = ("soil", "air") if lag > 0 else ("air", "soil")
        days = counted(abs(lag), "day")
        notes.append(
            f"the {late} record fits the {early} best when dated {days} earlier: "
            "check on which day morning readings are entered"
        )
    return notes


def _sentence(figures: dict[str, Any]) -> str:
    parts = (
        ("median error", figures["median_rmse_c"], "°C"),
        ("mean", figures["mean_rmse_c"], "°C"),
        ("90th percentile", figures["p90_rmse_c"], "°C"),
        ("chill error", figures["chill_mae_days"], "days"),
        (f"down to {COLD_EDGE.zero:g} °C", figures["cold_edge"]["chill_mae_days"], "days"),
    )
    text = ", ".join(f"{name} {'–' if value is None else f'{value:.2f} {unit}'}" for name, value, unit in parts)
    agreement = figures["agreement"]
    return text + ("" if agreement is None else f", agreement {100 * agreement:.1f} %")


def _number(value: float, digits: int, sign: str = "") -> str:
    return f"{value:{sign}.{digits}f}" if math.isfinite(value) else "–"


FloatArray = NDArray[np.floating]

WIDTH, HEIGHT = 960, 420
LEFT, RIGHT, TOP, BOTTOM = 56, 16, 52, 40
LINES = (("air", "#9aa5b1", 1.2), ("model", "#c2410c", 2.0), ("thermometer", "#1d4ed8", 2.0))


def winter_picture(title: str, first: date, air: ArrayLike, model: ArrayLike, soil: ArrayLike) -> str:
    """Draw the winter as SVG.

    Parameters
    ----------
    first : datetime.date
        First day.
    air, model, soil : array_like, shape (day,)
        Daily means; NaN breaks the line. [°C]

    Returns
    -------
    str
        SVG text.
    """
    series = {"air": air, "model": model, "thermometer": soil}
    values = {name: np.asarray(line, dtype=float) for name, line in series.items()}
    known = np.concatenate([line[np.isfinite(line)] for line in values.values()] or [np.zeros(1)])
    low, high = (np.floor(known.min() / 5) * 5, np.ceil(known.max() / 5) * 5) if known.size else (0.0, 5.0)
    high = max(high, low + 5)
    days = max(len(values["air"]) - 1, 1)

    def across(day: float) -> float:
        return float(LEFT + (WIDTH - LEFT - RIGHT) * day / days)

    def down(value: float) -> float:
        return float(TOP + (HEIGHT - TOP - BOTTOM) * (high - value) / (high - low))

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{html.escape(title)}" font-family="sans-serif" font-size="12">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>',
        f'<text x="{LEFT}" y="20" font-size="15">{html.escape(title)}</text>',
        f'<rect x="{LEFT}" y="{down(min(7.0, high)):.1f}" width="{WIDTH - LEFT - RIGHT}" '
        f'height="{max(down(max(1.0, low)) - down(min(7.0, high)), 0):.1f}" fill="#ecfdf5"/>',
    ]
    for value in np.arange(low, high + 1, 5):
        colour = "#6b7280" if value == 0 else "#e5e7eb"
        y = down(float(value))
        parts.append(f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" stroke="{colour}"/>')
        parts.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{value:.0f} °C</text>')
    parts += _months(first, days, across)
    for at, (name, colour, width) in enumerate(LINES):
        path = _path(values[name], across, down)
        parts.append(f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width}"/>')
        x = LEFT + 150 * at
        parts.append(f'<line x1="{x}" x2="{x + 24}" y1="38" y2="38" stroke="{colour}" stroke-width="3"/>')
        parts.append(f'<text x="{x + 30}" y="42">{name}</text>')
    parts.append(f'<text x="{LEFT + 450}" y="42" fill="#047857">green band: 1 to 7 °C, a full day of chill</text>')
    return "\n".join([*parts, "</svg>\n"])


def _months(first: date, days: int, across: Callable[[float], float]) -> list[str]:
    parts = []
    for day in range(days + 1):
        when = first + timedelta(days=day)
        if when.day == 1:
            x = across(day)
            parts.append(f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{HEIGHT - BOTTOM}" stroke="#f3f4f6"/>')
            parts.append(f'<text x="{x + 4:.1f}" y="{HEIGHT - BOTTOM + 18}">{when:%b %Y}</text>')
    return parts


def _path(line: FloatArray, across: Callable[[float], float], down: Callable[[float], float]) -> str:
    steps, pen = [], "M"
    for day, value in enumerate(line):
        if not np.isfinite(value):
            pen = "M"
            continue
        steps.append(f"{pen}{across(day):.1f} {down(value):.1f}")
        pen = "L"
    return " ".join(steps)
