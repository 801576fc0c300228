"""The soil check as a table for a terminal of 80 columns."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.report.soilcheck import summary_of
from chillplan.report.tables_terminal import console, fitted
from chillplan.seasons.soil_stations import Calibrated, Checked

__all__ = ["print_soilcheck"]

Pair = tuple[Checked, Calibrated | None]


def print_soilcheck(pairs: Sequence[Pair], depth_cm: float, with_precipitation: Sequence[bool]) -> None:
    """Print one row a station, the figures over all, what is wrong with the records, and the calibration.

    Parameters
    ----------
    pairs : sequence of (Checked, Calibrated or None)
    depth_cm : float
        [cm]
    with_precipitation : sequence of bool
    """
    out = console()
    water = "with precipitation" if all(with_precipitation) else "without precipitation"
    if any(with_precipitation) and not all(with_precipitation):
        water = "with precipitation where the record has it"
    out.print(f"Seed-zone model against soil thermometers at {depth_cm:g} cm, {water}.")
    out.print("Error and bias of the daily mean (°C), chill error of a winter (days), agreement (%), best lag (days).")
    out.print(fitted(_table(pairs), out.width))
    checks = [one.check for one, _ in pairs]
    if len(pairs) > 1:
        out.print(f"All stations: {_sentence(summary_of(checks))}")
    tuned = [fit for _, fit in pairs if fit is not None]
    if tuned:
        out.print(f"Days not fitted, before calibration: {_sentence(summary_of([fit.before for fit in tuned]))}")
        out.print(f"Days not fitted, after calibration:  {_sentence(summary_of([fit.after for fit in tuned]))}")
    for one, _ in pairs:
        for note in _notes(one):
            out.print(f"  {escape(one.station.name)}: {escape(note)}")
    out.print(
        "Observed: air and soil. Modelled: the seed zone. Assumed: how a day counts as chill (0 at -2, 1 from 1 to 7, "
        "0 at 12 °C). Chill error: mean error of a winter's effective chill, September to May (six months later in the "
        "south)."
    )


def _table(pairs: Sequence[Pair]) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Station", overflow="fold")
    headings = ["days", "error", "bias", "winters", "chill", "agree", "lag"]
    for heading in headings:
        table.add_column(heading, justify="right")
    for one, _ in pairs:
        check = one.check
        table.add_row(
            escape(one.station.name),
            f"{check.days}",
            _number(check.rmse, 2),
            _number(check.bias, 2, "+"),
            f"{len(check.winters)}",
            _number(check.chill_error, 1),
            _number(100 * check.agreement, 0),
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


def _sentence(figures: dict[str, float | None]) -> str:
    parts = (
        ("median error", figures["median_rmse_c"], "°C"),
        ("mean", figures["mean_rmse_c"], "°C"),
        ("90th percentile", figures["p90_rmse_c"], "°C"),
        ("chill error", figures["chill_mae_days"], "days"),
    )
    text = ", ".join(f"{name} {'–' if value is None else f'{value:.2f} {unit}'}" for name, value, unit in parts)
    agreement = figures["agreement"]
    return text + ("" if agreement is None else f", agreement {100 * agreement:.1f} %")


def _number(value: float, digits: int, sign: str = "") -> str:
    return f"{value:{sign}.{digits}f}" if math.isfinite(value) else "–"
