"""The history: daily temperatures at one place, with where they came from."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import pandas as pd

__all__ = ["FLAGS", "History", "Provenance"]

# What a flag in the columns ``tmin_flag`` and ``tmax_flag`` says; empty text is an observation.
FLAGS = {
    "": "observed",
    "interpolated": "gap of at most 5 days, straight line between the days around it",
    "filled": "from a neighbouring station after removing the seasonal difference",
    "removed": "failed a quality check; missing",
    "modelled": "not an observation: filled by a weather model",
}


@dataclass(frozen=True)
class Provenance:
    """Where a record came from.

    Attributes
    ----------
    source : str
        Format or provider in words.
    station : str
        Station name or identifier.
    latitude, longitude, elevation : float or None
        Of the station. [degrees, degrees, m]
    files : tuple of str
        File names read, without their folders.
    licence : str
    invented : bool
        True for the demo's weather only.
    notes : tuple of str
        What was decided while reading (units, repairs), one sentence each.
    """

    source: str
    station: str = "unnamed station"
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    files: tuple[str, ...] = ()
    licence: str = "not stated"
    invented: bool = False
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class History:
    """A daily record of one place.

    Attributes
    ----------
    daily : pandas.DataFrame
        Index: every date from first to last, daily, no gaps, named ``date``. Columns ``tmin`` and ``tmax`` [°C]
        always; ``precipitation`` [mm], ``snow_depth`` [mm], ``soil_temperature`` [°C] and ``soil_moisture`` [m3/m3]
        where the record has them; ``tmin_flag`` and ``tmax_flag`` with the words of `FLAGS`. Missing is NaN.
    provenance : Provenance
    soil_depth_cm : float or None
        Depth of ``soil_temperature``; None where there is none or it is not stated. [cm]
    """

    daily: pd.DataFrame
    provenance: Provenance
    soil_depth_cm: float | None = None
    attributes: dict[str, str] = field(default_factory=dict)

    @property
    def coverage(self) -> float:
        """Share of days between first and last with both temperatures observed, 0 to 1."""
        if self.daily.empty:
            return 0.0
        both = self.daily["tmin"].notna() & self.daily["tmax"].notna()
        observed = both & (self.daily["tmin_flag"] == "") & (self.daily["tmax_flag"] == "")
        return float(observed.mean())

    def noted(self, *notes: str) -> History:
        """The same history with notes added to its provenance."""
        return replace(self, provenance=replace(self.provenance, notes=(*self.provenance.notes, *notes)))
