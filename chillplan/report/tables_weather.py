"""Tables about stations and records for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.report.tables_terminal import console, fitted

__all__ = ["print_check", "print_record", "print_stations", "print_tie"]


def print_stations(rows: Sequence[Mapping[str, Any]], notes: Sequence[str]) -> None:
    """Print stations, best first."""
    out = console()
    if not rows:
        out.print("No station with daily temperatures is near.")
        return
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Station", overflow="fold", min_width=22)
    for name in ("Away", "Site higher", "Years", "Days", "Error"):
        table.add_column(name, justify="right", no_wrap=True)
    for row in rows:
        higher = "?" if row["height_difference_m"] is None else f"{row['height_difference_m']:+.0f} m"
        years = "?" if row["first"] is None else f"{row['first']}-{row['last']}"
        kept = "?" if row["coverage"] is None else f"{row['coverage']:.0%}"
        table.add_row(
            escape(f"{row['station']} {row['name']}".strip()),
            f"{row['distance_km']:.0f} km",
            higher,
            years,
            kept,
            f"{row['expected_error_c']:.1f} °C",
        )
    out.print(fitted(table, out.width))
    out.print(
        "Days: share with a value. Error: to be expected of daily temperatures moved to the site by seasonal lapse "
        "rates; measured between stations 159 to 800 km apart and extended to nearer ones."
    )
    for note in notes:
        out.print(escape(note))


def print_record(record: Mapping[str, Any]) -> None:
    """Print what is known of one record."""
    out = console()
    out.print(f"[bold]{escape(record['station'])}[/bold]: {escape(record['source'])}")
    out.print(
        f"{record['first']} to {record['last']}, {record['days']} days, {record['coverage']:.1%} observed; "
        f"licence: {escape(record['licence'])}."
    )
    if record.get("stored"):
        out.print(f"Stored in {escape(record['stored'])}")
    for note in record["notes"]:
        out.print(f"- {escape(note)}")


def print_check(record: Mapping[str, Any]) -> None:
    """Print the quality findings of one record and how well gaps are restored."""
    print_record(record)
    out = console()
    missing = record["missing"]
    out.print(
        f"Days missing: tmin {missing['tmin']}, tmax {missing['tmax']}; longest gap, in days: {record['longest_gap']}."
    )
    if record["findings"]:
        table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
        for name in ("Check", "Of", "Days", "First days"):
            table.add_column(name, justify="right" if name == "Days" else "left", overflow="fold")
        for finding in record["findings"]:
            days = ", ".join(f"{day} ({value:.1f})" for day, value in finding["days"][:3])
            table.add_row(finding["says"], finding["variable"], str(finding["count"]), days)
        out.print(fitted(table, out.width))
        out.print("Nothing was changed: look at these days, and correct or blank what is wrong.")
    else:
        out.print("No day looks wrong by any of the eleven checks.")
    for name, error in record["held_out"].items():
        if error["days"]:
            out.print(
                f"Gaps of {name} {record['filled_by']}: {error['error_c']:.1f} °C error, {error['bias_c']:+.1f} °C "
                f"bias on {error['days']} real days blanked and restored."
            )


def print_tie(answer: Mapping[str, Any]) -> None:
    """Print a tie and its error on days not used."""
    out = console()
    out.print(f"{answer['days']} days compared.")
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("", "Mean offset", "Yearly swing", "Error before", "Error after"):
        table.add_column(name, justify="right")
    for name in ("tmin", "tmax"):
        table.add_row(
            name,
            f"{answer['tie'][f'{name}_mean']:+.1f} °C",
            f"{answer['swing'][name]:.1f} °C",
            f"{answer['error_before'][name]:.1f} °C",
            f"{answer['error_after'][name]:.1f} °C",
        )
    out.print(fitted(table, out.width))
    out.print("Errors are those of days that were left out of the fit. Short readings say little of other seasons.")
    if not answer["helps"]:
        out.print("[bold]The tie does not lower the error on days not used: leave it out, or read for longer.[/bold]")
