"""Many stations' soil records against the model at once: one run over all of them, and calibration of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.physics.climate import climate_of, filled_precipitation, guessed_precipitation
from chillplan.physics.coefficients import coefficients_of
from chillplan.physics.daylight import extraterrestrial_radiation
from chillplan.physics.parameters import WITH_PRECIPITATION, WITHOUT_PRECIPITATION
from chillplan.physics.seed_zone import CALIBRATION, seed_zone
from chillplan.seasons.calibrate import calibrate
from chillplan.seasons.soil_faults import SoilFaults, find_soil_faults, followed_through
from chillplan.seasons.soilcheck import SoilCheck, compare

__all__ = ["Calibrated", "Checked", "Station", "calibrate_stations", "check_stations"]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

YEAR = 365
ENOUGH_OF_A_YEAR = 0.9
"""Share of a year's days with a soil value from which it can be fitted. [-]"""

FEWEST_TEST_DAYS = 90
"""Days outside the fitted year from which the others are the test; with fewer, blocks of days take turns. [day]"""

BLOCK = 15
"""Length of those blocks. [day]"""

FEWEST_DAYS = 60
"""Soil values needed to calibrate at all. [day]"""


@dataclass(frozen=True)
class Station:
    """A record of air and soil."""

    name: str
    # [degrees, m]
    latitude: float
    elevation: float
    dates: NDArray[np.datetime64]  # consecutive; shape (day,)
    day_of_year: NDArray[np.int_]  # [day]; shape (day,)
    # NaN where missing [°C]; shape (day,)
    tmin: FloatArray
    tmax: FloatArray
    soil: FloatArray
    # [mm]; shape (day,)
    precipitation: FloatArray | None = None
    snow_depth: FloatArray | None = None
    site: dict[str, Any] = field(default_factory=dict)  # slope, aspect, cover, calibration: arguments of the seed zone

    @property
    def guessed_days(self) -> int:
        """Days whose precipitation is missing in a record that has it: it is guessed there."""
        return 0 if self.precipitation is None else int(np.isnan(self.precipitation).sum())


@dataclass(frozen=True)
class Checked:
    """One station after the check."""

    station: Station
    model: FloatArray  # [°C]; shape (day,)
    check: SoilCheck
    faults: SoilFaults


@dataclass(frozen=True)
class Calibrated:
    """One station after calibration, judged on days that were not fitted."""

    parameters: dict[str, float]
    # of the days fitted
    first: np.datetime64
    last: np.datetime64
    blocks: bool  # whether blocks of days took turns, for want of another year
    # on the days not fitted
    before: SoilCheck
    after: SoilCheck
    model: FloatArray  # with the fitted parameters [°C]; shape (day,)


def check_stations(stations: Sequence[Station], depth_cm: float) -> list[Checked]:
    """Run the model for all stations and compare.

    Parameters
    ----------
    stations : sequence of Station
    depth_cm : float
        Of the thermometers. [cm]

    Returns
    -------
    list of Checked
        In the order given.
    """
    filled = [_without_gaps(station) for station in stations]
    result: list[Checked | None] = [None] * len(stations)
    for group in _groups(filled):
        models = _run([filled[at] for at in group], depth_cm)
        for at, model in zip(group, models, strict=True):
            station = stations[at]
            faults = find_soil_faults(station.soil, model)
            soil = np.where(faults.possible, station.soil, np.nan)
            check = compare(station.dates, model, soil, station.latitude < 0)
            result[at] = Checked(station, model, check, faults)
    return [one for one in result if one is not None]


def calibrate_stations(checked: Sequence[Checked], depth_cm: float) -> list[Calibrated | None]:
    """Fit each station on one year of its soil record and judge it on the others.

    Parameters
    ----------
    checked : sequence of Checked
    depth_cm : float
        [cm]

    Returns
    -------
    list of Calibrated or None
        None where there are fewer than 60 good soil values.
    """
    result: list[Calibrated | None] = [None] * len(checked)
    filled = [_without_gaps(one.station) for one in checked]
    for group in _groups(filled):
        usable = [at for at in group if checked[at].faults.good.sum() >= FEWEST_DAYS]
        if not usable:
            continue
        stations = [filled[at] for at in usable]
        spans = [_days_to_fit(checked[at]) for at in usable]
        fitted = _fit(stations, [checked[at] for at in usable], spans, depth_cm)
        tuned = [
            replace(station, site={**station.site, "calibration": parameters})
            for station, parameters in zip(stations, fitted, strict=True)
        ]
        for at, parameters, (use, blocks), model in zip(usable, fitted, spans, _run(tuned, depth_cm), strict=True):
            result[at] = _judged(checked[at], parameters, use, blocks, model)
    return result


def _judged(one: Checked, parameters: dict[str, float], use: BoolArray, blocks: bool, model: FloatArray) -> Calibrated:
    station = one.station
    left = np.where(one.faults.possible & ~use, station.soil, np.nan)
    south = station.latitude < 0
    days = station.dates[use]
    before = compare(station.dates, one.model, left, south)
    return Calibrated(parameters, days[0], days[-1], blocks, before, compare(station.dates, model, left, south), model)


def _days_to_fit(one: Checked) -> tuple[BoolArray, bool]:
    """The year from autumn nearest the middle of the record (sensors and plots drift), or blocks of days in turn."""
    good = one.faults.good & np.isfinite(one.model)
    dates = one.station.dates
    autumn = 3 if one.station.latitude < 0 else 9
    month = dates.astype("datetime64[M]").astype(int) % 12 + 1
    starts = np.flatnonzero((month == autumn) & (dates == dates.astype("datetime64[M]")))
    middle = np.flatnonzero(good).mean() - YEAR / 2 if good.any() else 0.0
    for first in sorted(starts, key=lambda start: abs(start - middle)):
        span = slice(first, first + YEAR)
        enough = good[span].sum() >= ENOUGH_OF_A_YEAR * YEAR
        if enough and good.sum() - good[span].sum() >= FEWEST_TEST_DAYS:
            use = np.zeros(good.size, dtype=bool)
            use[span] = good[span]
            return use, False
    return good & ((np.arange(good.size) // BLOCK) % 2 == 0), True


def _fit(
    stations: list[Station], checked: list[Checked], spans: list[tuple[BoolArray, bool]], depth_cm: float
) -> list[dict[str, float]]:
    """All stations in one run over windows of one length: a year before the fitted days, and those days."""
    firsts = [int(np.flatnonzero(use)[0]) for use, _ in spans]
    lasts = [int(np.flatnonzero(use)[-1]) + 1 for use, _ in spans]
    longest = max(last - first for first, last in zip(firsts, lasts, strict=True)) + YEAR
    windows = [np.arange(last - longest, last) for last in lasts]

    def cut(values: NDArray[Any], window: NDArray[np.int_]) -> NDArray[Any]:
        return values[np.maximum(window, 0)]

    soil = np.full((longest, len(stations)), np.nan)
    for column, (one, (use, _), window) in enumerate(zip(checked, spans, windows, strict=True)):
        inside = (window >= 0) & cut(use, window)
        soil[inside, column] = one.station.soil[window[inside]]
    together: dict[str, Any] = {
        name: np.stack([cut(getattr(s, name), w) for s, w in zip(stations, windows, strict=True)], axis=1)
        for name in ("tmin", "tmax", "day_of_year", "precipitation", "snow_depth")
        if getattr(stations[0], name) is not None
    }
    site = _shared_site(stations)
    site.pop("calibration")
    climate = _climate(stations)
    values = calibrate(
        together.pop("tmin"),
        together.pop("tmax"),
        soil,
        latitude=np.array([station.latitude for station in stations]),
        elevation=np.array([station.elevation for station in stations]),
        depth_cm=depth_cm,
        day_of_year=together.pop("day_of_year"),
        **together,
        **site,
        **climate,
    )
    return [{name: float(value[at]) for name, value in values.items()} for at in range(len(stations))]


def _without_gaps(station: Station) -> Station:
    low, high = (followed_through(series, station.day_of_year) for series in (station.tmin, station.tmax))
    low, high, water = np.minimum(low, high), np.maximum(low, high), station.precipitation
    if water is not None and np.isnan(water).any():
        water = filled_precipitation(low, high, water)
    return replace(station, tmin=low, tmax=high, precipitation=water)


def _groups(stations: Sequence[Station]) -> list[list[int]]:
    """Stations that can share one run: the same record kinds, cover and slope."""
    groups: dict[str, list[int]] = {}
    for at, station in enumerate(stations):
        site = {name: value for name, value in station.site.items() if name != "calibration"}
        key = repr((station.precipitation is None, station.snow_depth is None, sorted(site.items())))
        groups.setdefault(key, []).append(at)
    return list(groups.values())


def _shared_site(stations: list[Station]) -> dict[str, Any]:
    """Site arguments of a group, the calibration as one array a parameter."""
    site = dict(stations[0].site)
    own = [station.site.get("calibration") or {} for station in stations]
    names = sorted({name for one in own for name in one})
    site["calibration"] = {
        name: np.array([float(one.get(name, CALIBRATION[name])) for one in own]) for name in names
    } or None
    return site


def _climate(stations: list[Station]) -> dict[str, Any]:
    """Long-term warmth and aridity of each station, from its own days."""
    means, aridity = [], []
    for station in stations:
        p = WITHOUT_PRECIPITATION if station.precipitation is None else WITH_PRECIPITATION
        water = station.precipitation
        if water is None:
            water = guessed_precipitation(station.tmin, station.tmax, station.elevation, p)
        sky = extraterrestrial_radiation(station.latitude, station.day_of_year)
        climate = climate_of(station.tmin, station.tmax, water, sky, station.latitude, None, None, coefficients_of(p))
        means.append(float(climate.mean_temperature))
        aridity.append(float(climate.aridity))
    return {"mean_annual_temperature": np.array(means), "aridity": np.array(aridity)}


def _run(stations: list[Station], depth_cm: float) -> list[FloatArray]:
    """Modelled soil temperature of each station on its own days, from one run on a common calendar."""
    first = min(station.dates[0] for station in stations)
    last = max(station.dates[-1] for station in stations)
    length = int((last - first).astype(int)) + 1
    calendar = first + np.arange(length)
    offsets = [int((station.dates[0] - first).astype(int)) for station in stations]

    def stack(name: str) -> FloatArray:
        table = np.full((length, len(stations)), np.nan)
        for column, (station, offset) in enumerate(zip(stations, offsets, strict=True)):
            table[offset : offset + station.dates.size, column] = getattr(station, name)
        return table

    extra: dict[str, Any] = {
        name: stack(name) for name in ("precipitation", "snow_depth") if getattr(stations[0], name) is not None
    }
    day_of_year = (calendar - calendar.astype("datetime64[Y]")).astype(int) + 1
    zone = seed_zone(
        stack("tmin"),
        stack("tmax"),
        day_of_year=day_of_year,
        latitude=np.array([station.latitude for station in stations]),
        elevation=np.array([station.elevation for station in stations]),
        depth_cm=depth_cm,
        **extra,
        **_shared_site(stations),
        **_climate(stations),
    )
    return [
        zone.temperature[offset : offset + station.dates.size, column]
        for column, (station, offset) in enumerate(zip(stations, offsets, strict=True))
    ]
