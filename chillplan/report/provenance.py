"""Where the weather of a plan came from, as the reader is told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import asin, cos, radians, sin, sqrt

from chillplan.report.reader import Reader
from chillplan.site import Site
from chillplan.weather.history import History

__all__ = ["TAKEN_MOIST", "Source", "distance_km", "source_of", "what_if"]

EARTH_RADIUS_KM = 6371.0


@dataclass(frozen=True)
class Source:
    """Provenance of a history beside the site it is used for.

    Attributes
    ----------
    coverage : float
        Share of days observed, 0 to 1.
    distance_km, height_difference_m : float or None
        Site minus station; None where either is not known. [km, m]
    """

    source: str
    station: str
    first: date
    last: date
    coverage: float
    distance_km: float | None
    height_difference_m: float | None
    invented: bool
    licence: str
    notes: tuple[str, ...]

    @property
    def air(self) -> str:
        """What kind of number the air temperatures are: ``observed``, or ``invented`` in the demo."""
        return "invented" if self.invented else "observed"


TAKEN_MOIST = (
    "The record has no precipitation: the seed zone is taken to be moist all year. In dry autumns chilling begins "
    "later."
)


def what_if(warming: float, reader: Reader) -> str:
    """A sentence that says by how much every temperature was moved."""
    return (
        f"Every temperature was moved by {reader.units.difference(warming)} as asked: this is a what-if, not a record."
    )


def distance_km(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Great-circle distance between two (latitude, longitude) pairs. [km]"""
    lat1, lon1, lat2, lon2 = map(radians, (*first, *second))
    chord = sin((lat2 - lat1) / 2) ** 2 + cos(lat1) * cos(lat2) * sin((lon2 - lon1) / 2) ** 2
    return 2.0 * EARTH_RADIUS_KM * asin(min(1.0, sqrt(chord)))


def source_of(history: History, site: Site) -> Source:
    """What the reader is told about a history."""
    origin = history.provenance
    away = None
    if origin.latitude is not None and origin.longitude is not None:
        away = distance_km((site.latitude, site.longitude), (origin.latitude, origin.longitude))
    both = site.elevation is not None and origin.elevation is not None
    higher = (site.elevation or 0.0) - (origin.elevation or 0.0) if both else None
    return Source(
        source=origin.source,
        station=origin.station,
        first=history.daily.index[0].date(),
        last=history.daily.index[-1].date(),
        coverage=history.coverage,
        distance_km=away,
        height_difference_m=higher,
        invented=origin.invented,
        licence=origin.licence,
        notes=origin.notes,
    )
