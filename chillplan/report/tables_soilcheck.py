"""The soil check as a table for a terminal of 80 columns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.report.soilcheck import Found, summary_of
from chillplan.report.tables_terminal import console, fitted
from chillplan.seasons.soil_covers import CLEARLY, CoverTrial
from chillplan.seasons.soil_stations import Checked
from chillplan.seasons.soilcheck import COLD_EDGE

__all__ = ["print_soilcheck"]


def print_soilcheck(stations: Sequence[Found], depth_cm: float) -> None:
    """Print one row a station, the figures over all, what is wrong with the records, the covers, the calibration.

    Parameters
    ----------
    stations : sequence of Found
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
        where = f" of {len(guessed)} stations" if len(checked) > 1 else ""
        out.print(f"Precipitation is missing on {sum(guessed)} days{where}: guessed there from the daily range.")
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
        days = f"{abs(lag)} day{'s' if abs(lag) > 1 else ''}"
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
