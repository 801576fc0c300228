"""Stations and records: tables for a terminal, and a map of the stations around a site."""

from __future__ import annotations

import html
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.errors import counted
from chillplan.report.tables_terminal import console, fitted

__all__ = ["MapStation", "print_check", "print_record", "print_stations", "print_tie", "station_map"]


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
    out.print(f"{counted(answer['days'], 'day')} compared.")
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


_SIZE, _CENTRE, _RADIUS = 720, 360, 300
_WIDTH, _LISTED = 1120, 30
_RINGS_KM = (5, 10, 25, 50, 100, 200, 300, 500)
_KM_PER_DEGREE = 111.195


@dataclass(frozen=True)
class MapStation:
    """One station on the map; the first is drawn as the chosen one.

    Attributes
    ----------
    latitude, longitude : float
        [degrees]
    distance : float
        From the site. [km]
    height_difference : float or None
        Site less station. [m]
    error : float
        Expected. [°C]
    """

    name: str
    latitude: float
    longitude: float
    distance: float
    height_difference: float | None
    error: float


def station_map(latitude: float, longitude: float, name: str, stations: Sequence[MapStation]) -> str:
    """Draw stations by direction and distance around a site.

    Parameters
    ----------
    latitude, longitude : float
        Of the site. [degrees]
    stations : sequence of MapStation
        Best first.

    Returns
    -------
    str
        SVG, 1120 by 720; north is up; the first 30 stations are listed beside the map.
    """
    offsets = [_offset(latitude, longitude, station) for station in stations]
    farthest = max([math.hypot(*offset) for offset in offsets], default=5.0)
    reach = next((ring for ring in _RINGS_KM if ring >= farthest), _RINGS_KM[-1])
    scale = _RADIUS / reach
    parts = [_frame(name, reach)]
    parts += [_ring(ring, ring * scale) for ring in _RINGS_KM if reach / 5 <= ring <= reach]
    parts.append(
        f'<path d="M{_CENTRE - 9} {_CENTRE}h18M{_CENTRE} {_CENTRE - 9}v18" stroke="#b3261e" stroke-width="3"/>'
        f'<text x="{_CENTRE + 12}" y="{_CENTRE - 8}" font-weight="bold" fill="#b3261e">site</text>'
    )
    for rank in range(len(stations), 0, -1):
        east, north = offsets[rank - 1]
        parts.append(_mark(rank, _CENTRE + east * scale, _CENTRE - north * scale))
        if rank <= _LISTED:
            parts.append(_legend(rank, stations[rank - 1]))
    return "".join([*parts, "</svg>\n"])


def _offset(latitude: float, longitude: float, station: MapStation) -> tuple[float, float]:
    """East and north of the site on a plane that touches it; good to a few hundred km. [km]"""
    east = (station.longitude - longitude + 180.0) % 360.0 - 180.0
    return east * _KM_PER_DEGREE * math.cos(math.radians(latitude)), (station.latitude - latitude) * _KM_PER_DEGREE


def _frame(name: str, reach: float) -> str:
    title = html.escape(f"Weather stations around {name[:60]}")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDTH}" height="{_SIZE}" viewBox="0 0 {_WIDTH} {_SIZE}" '
        'font-family="sans-serif" font-size="13" fill="#1d1b20">'
        f"<title>{title}</title>"
        f'<rect width="{_WIDTH}" height="{_SIZE}" fill="#ffffff"/>'
        f'<text x="16" y="26" font-size="16" font-weight="bold">{title}</text>'
        f'<text x="16" y="46">North is up; the outer ring is {reach:g} km. Number: rank by expected error.</text>'
    )


def _ring(distance: float, radius: float) -> str:
    return (
        f'<circle cx="{_CENTRE}" cy="{_CENTRE}" r="{radius:.1f}" fill="none" stroke="#c9c5d0"/>'
        f'<text x="{_CENTRE + 3}" y="{_CENTRE + radius - 4:.1f}" fill="#605d66" font-size="11" '
        f'stroke="#ffffff" stroke-width="4" paint-order="stroke">{distance:g} km</text>'
    )


def _mark(rank: int, x: float, y: float) -> str:
    colour = "#1b6e3c" if rank == 1 else "#3b5b92"
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9" fill="{colour}" stroke="#ffffff"/>'
        f'<text x="{x:.1f}" y="{y + 4:.1f}" text-anchor="middle" fill="#ffffff" font-size="11">{rank}</text>'
    )


def _legend(rank: int, station: MapStation) -> str:
    """A line of the list beside the map."""
    y = 74 + 21 * rank
    height = "" if station.height_difference is None else f", site {station.height_difference:+.0f} m"
    text = f"{station.name[:30]}: {station.distance:.0f} km{height}, error {station.error:.1f} °C"
    return _mark(rank, _SIZE + 14, y - 4) + f'<text x="{_SIZE + 30}" y="{y}" font-size="12">{html.escape(text)}</text>'
