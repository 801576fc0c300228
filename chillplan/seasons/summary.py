"""One row a winter: chill, frost dates, soil warming."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from chillplan.physics.seed_zone import SeedZone, seed_zone
from chillplan.seasons.chill import chill_days, cold_days, effective_chill
from chillplan.seasons.cut import SPIN_UP, Seasons
from chillplan.seasons.dates import first_frost, last_frost, soil_warming_day
from chillplan.site import Site

__all__ = [
    "FROST_THRESHOLDS",
    "LEAD",
    "TEMPERATURE_GRAIN",
    "WARMING_THRESHOLDS",
    "Ground",
    "Winters",
    "ground_of",
    "winters_of",
]

FloatArray = NDArray[np.floating]

FROST_THRESHOLDS = (0.0, -2.0, -4.0)
WARMING_THRESHOLDS = (5.0, 10.0, 15.0)
LEAD = 92
"""Days before a season on which fresh seed may be sown, from 1 May (1 November in the south) on; the rest of the
spin-up lets the soil forget where it began. [day]"""
TEMPERATURE_GRAIN = 128.0
"""Parts of a degree in which the seed zone is kept, far below its error, so that sums are exact. [1/°C]"""


@dataclass(frozen=True)
class Ground:
    """The seed zone of every season, spin-up cut off; every array has the shape (day, season).

    Attributes
    ----------
    temperature : numpy.ndarray
        Daily mean at sowing depth. [°C]
    moist : numpy.ndarray of bool
    minimum : numpy.ndarray
        Minimum at the height of a seedling. [°C]
    snow_depth : numpy.ndarray
        [mm]
    moisture_known : bool
        False where the record has no precipitation and the seed zone is taken to be moist.
    lead : tuple of numpy.ndarray or None
        Temperature [°C] and moisture of the `LEAD` days before each season, for seed that is sown before it.
    """

    temperature: FloatArray
    moist: NDArray[np.bool_]
    minimum: FloatArray
    snow_depth: FloatArray
    moisture_known: bool
    lead: tuple[FloatArray, NDArray[np.bool_]] | None = None


@dataclass(frozen=True)
class Winters:
    """Numbers of each season; every array has the shape (season,).

    Attributes
    ----------
    years : numpy.ndarray of int
    chill_days, effective_chill, cold_days : numpy.ndarray
        [day]
    last_spring_frost, first_autumn_frost : mapping of float to numpy.ndarray
        Day index by threshold in the air; infinite where there was no frost. [day]
    soil_warm : mapping of float to numpy.ndarray
        Day index by threshold; ``-inf`` never below, ``inf`` never reached. [day]
    mean_temperature : numpy.ndarray
        Of the air over the season. [°C]
    """

    years: NDArray[np.int_]
    chill_days: FloatArray
    effective_chill: FloatArray
    cold_days: FloatArray
    last_spring_frost: Mapping[float, FloatArray]
    first_autumn_frost: Mapping[float, FloatArray]
    soil_warm: Mapping[float, FloatArray]
    mean_temperature: FloatArray

    def latest(self, count: int) -> Winters:
        """The last winters only."""

        def cut(table: Mapping[float, FloatArray]) -> Mapping[float, FloatArray]:
            return MappingProxyType({limit: values[-count:] for limit, values in table.items()})

        return Winters(
            years=self.years[-count:],
            chill_days=self.chill_days[-count:],
            effective_chill=self.effective_chill[-count:],
            cold_days=self.cold_days[-count:],
            last_spring_frost=cut(self.last_spring_frost),
            first_autumn_frost=cut(self.first_autumn_frost),
            soil_warm=cut(self.soil_warm),
            mean_temperature=self.mean_temperature[-count:],
        )


def ground_of(seasons: Seasons, site: Site, warming: float = 0.0) -> Ground:
    """Run the seed-zone model over all seasons at once, in single precision.

    Parameters
    ----------
    seasons : Seasons
    site : Site
    warming : float
        Added to every temperature. [°C]
    """
    tmin, tmax = _warmed(seasons, "tmin", warming), _warmed(seasons, "tmax", warming)
    zone: SeedZone = seed_zone(
        tmin,
        tmax,
        day_of_year=seasons.day_of_year,
        latitude=site.latitude,
        precipitation=seasons.daily.get("precipitation"),
        snow_depth=seasons.daily.get("snow_depth"),
        elevation=site.elevation or 0.0,
        slope=site.slope,
        aspect=site.aspect,
        cover=site.cover,
        depth_cm=site.depth_cm,
        calibration=site.calibration or None,
    )
    temperature = np.rint(zone.temperature * TEMPERATURE_GRAIN) / TEMPERATURE_GRAIN
    before = slice(SPIN_UP - LEAD, SPIN_UP)
    return Ground(
        temperature=temperature[SPIN_UP:],
        moist=np.asarray(zone.moist[SPIN_UP:]),
        minimum=np.asarray(zone.ground_minimum[SPIN_UP:]),
        snow_depth=np.asarray(zone.snow_depth[SPIN_UP:]),
        moisture_known="precipitation" in seasons.daily,
        lead=(temperature[before], np.asarray(zone.moist[before])),
    )


def winters_of(
    seasons: Seasons, ground: Ground, warming: float = 0.0, frost_thresholds: Iterable[float] = ()
) -> Winters:
    """Sum up each season.

    Parameters
    ----------
    seasons : Seasons
    ground : Ground
    warming : float
        Added to every air temperature; must be the one `ground` was made with. [°C]
    frost_thresholds : iterable of float
        Frosts to date besides the usual `FROST_THRESHOLDS`. [°C]
    """
    frosts = dict.fromkeys((*FROST_THRESHOLDS, *frost_thresholds))
    low = _warmed(seasons, "tmin", warming)[SPIN_UP:]
    air_minimum = np.where(seasons.observed, low, np.float32(np.nan))
    air_mean = (seasons.daily["tmin"][SPIN_UP:] + seasons.daily["tmax"][SPIN_UP:]) / 2.0 + warming
    return Winters(
        years=seasons.years,
        chill_days=chill_days(ground.temperature, ground.moist),
        effective_chill=effective_chill(ground.temperature, ground.moist),
        cold_days=cold_days(ground.temperature),
        last_spring_frost=MappingProxyType({t: last_frost(air_minimum, t) for t in frosts}),
        first_autumn_frost=MappingProxyType({t: first_frost(air_minimum, t) for t in frosts}),
        soil_warm=MappingProxyType({t: soil_warming_day(ground.temperature, t) for t in WARMING_THRESHOLDS}),
        mean_temperature=air_mean.mean(axis=0),
    )


def _warmed(seasons: Seasons, name: str, warming: float) -> NDArray[np.float32]:
    return seasons.daily[name].astype(np.float32) + np.float32(warming)
