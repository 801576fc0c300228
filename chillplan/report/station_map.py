"""A small map picture of the stations around a site: one SVG file, nothing fetched."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

__all__ = ["MapStation", "station_map"]

_SIZE, _CENTRE, _RADIUS = 720, 360, 300
_WIDTH, _LISTED = 1120, 30
_RINGS_KM = (5, 10, 25, 50, 100, 200, 300, 500)
_KM_PER_DEGREE = 111.195


@dataclass(frozen=True)
class MapStation:
    """One station on the map; the first is drawn as the chosen one.

    Attributes
    ----------
    name : str
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
    name : str
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
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDTH}" height="{_SIZE}" viewBox="0 0 {_WIDTH} {_SIZE}" '
        'font-family="sans-serif" font-size="13" fill="#1d1b20">'
        f"<title>{escape(f'Weather stations around {name}')}</title>"
        f'<rect width="{_WIDTH}" height="{_SIZE}" fill="#ffffff"/>'
        f'<text x="16" y="26" font-size="16" font-weight="bold">{escape(f"Weather stations around {name[:60]}")}</text>'
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
    return _mark(rank, _SIZE + 14, y - 4) + f'<text x="{_SIZE + 30}" y="{y}" font-size="12">{escape(text)}</text>'
