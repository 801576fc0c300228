"""Fetches station lists and daily records through the library meteostat, and hears what it hides.

The library answers an unreachable source, a broken file and a missing year alike with an empty series, keeps
files for at least 30 days whatever their age limit, reads daily files without a time limit, and lets values through
that mix a model with an observation. Here every warning it logs is a failure, nothing is taken from its own files,
a time limit holds, and a value with any model among its sources counts as modelled.
"""

from __future__ import annotations

import contextlib
import logging
import socket
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from chillplan.errors import SourceError
from chillplan.weather.nearness import COLUMNS
from chillplan.weather.store import DAILY

__all__ = ["fetch_station_list", "fetch_year"]

_PAUSE_S = 0.5
_LONGEST_REASON = 160  # characters
_CAUSES = {
    "name or service not known": "the name of the server is not resolved: no network?",
    "failed to resolve": "the name of the server is not resolved: no network?",
    "temporary failure in name resolution": "the name of the server is not resolved: no network?",
    "getaddrinfo failed": "the name of the server is not resolved: no network?",
    "connection refused": "connection refused",
    "timed out": "timed out",
    "certificate": "the certificate of the server is not accepted",
    "no space left": "no space left on the disk",
    "end-of-stream": "the file ends in the middle",
    "not a gzipped file": "the file is not gzip",
}
_SNOW_CM = 10.0  # the source gives snow depth in cm
_STATION_QUERY = """
SELECT stations.id AS station, names.name AS name, stations.country AS country, stations.latitude AS latitude,
       stations.longitude AS longitude, stations.elevation AS elevation
FROM stations LEFT JOIN names ON stations.id = names.station AND names.language = 'en'
"""
_INVENTORY_QUERY = """
SELECT station, MIN(start) AS first, MAX("end") AS last, AVG(completeness) AS coverage
FROM inventory WHERE parameter IN ('tmin', 'tmax') AND provider IN ({marks}) GROUP BY station
"""


class _Listener(logging.Handler):
    """Keeps what the library logs: missing files apart from failures."""

    def __init__(self) -> None:
        super().__init__(logging.INFO)
        self.absent = False
        self.failures: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        text = record.getMessage()
        if record.levelno >= logging.WARNING:
            cause = record.exc_info[1] if record.exc_info else None
            code = getattr(cause, "code", None)
            reason = f"status {code}" if code else getattr(cause, "reason", None) or cause
            self.failures.append(f"{type(cause).__name__}: {reason}" if cause is not None else text)
        elif "was not found" in text:
            self.absent = True


def _plain(reason: str) -> str:
    """The cause of a failure in few words; what is not known is cut short."""
    for sign, words in _CAUSES.items():
        if sign in reason.lower():
            return words
    return reason.splitlines()[0][:_LONGEST_REASON] if reason.strip() else "no reason given"


@contextlib.contextmanager
def _library() -> Iterator[tuple[Any, _Listener]]:
    """The library with its own files out of the way, a time limit, and an ear on its log."""
    import meteostat
    from meteostat.core.logger import logger
    from meteostat.providers.meteostat import daily

    config = meteostat.config
    wanted = {"cache_enable": False, "block_large_requests": False, "include_model_data": True}
    held = {name: getattr(config, name) for name in (*wanted, "cache_directory", "stations_db_file")}
    listener = _Listener()
    level, passed_on, limit = logger.level, logger.propagate, socket.getdefaulttimeout()
    with tempfile.TemporaryDirectory(prefix="chillplan-") as folder:
        wanted |= {"cache_directory": folder, "stations_db_file": str(Path(folder) / "stations.db")}  # type: ignore[dict-item]
        for name, value in wanted.items():
            setattr(config, name, value)
        daily.ENDPOINT = config.daily_endpoint
        logger.addHandler(listener)
        logger.setLevel(logging.INFO)
        logger.propagate = False
        socket.setdefaulttimeout(float(config.network_timeout))
        try:
            yield meteostat, listener
        finally:
            socket.setdefaulttimeout(limit)
            logger.propagate = passed_on
            logger.setLevel(level)
            logger.removeHandler(listener)
            for name, value in held.items():
                setattr(config, name, value)


def fetch_station_list() -> pd.DataFrame:
    """Fetch the list of stations.

    Returns
    -------
    pandas.DataFrame
        With the columns of `chillplan.weather.nearness.COLUMNS`, stations with daily temperatures only where the
        source tells.

    Raises
    ------
    SourceError
        If no mirror answers, or what it answers is not a list of stations.
    """
    with _library() as (meteostat, listener):
        tried = ", ".join(meteostat.config.stations_db_endpoints or ["nothing"])
        try:
            stations = meteostat.stations.query(_STATION_QUERY)
        except (sqlite3.Error, pd.errors.DatabaseError) as error:
            raise SourceError(f"what came from {tried} is not a list of stations ({error}): try again later") from error
        except Exception as error:
            heard = _plain(listener.failures[0] if listener.failures else str(error))
            raise SourceError(
                f"the list of stations could not be fetched from {tried} ({heard}): check the connection, "
                "or pass --weather"
            ) from error
        inventory = _inventory(meteostat)
    if stations.empty:
        raise SourceError(f"the list of stations from {tried} is empty: try again later, or pass --weather")
    stations = stations.drop_duplicates("station")
    if inventory is None:
        stations = stations.assign(first=np.nan, last=np.nan, coverage=np.nan)
    else:
        stations = stations.merge(inventory, on="station", how="inner")
    for name in ("latitude", "longitude", "elevation", "first", "last", "coverage"):
        stations[name] = pd.to_numeric(stations[name], errors="coerce").astype("float64")
    stations["station"] = stations["station"].astype("str")
    listed: pd.DataFrame = stations[list(COLUMNS)].dropna(subset=["latitude", "longitude"])
    return listed.reset_index(drop=True)


def _inventory(meteostat: Any) -> pd.DataFrame | None:
    """Years with daily temperatures by station; None where the source does not tell."""
    from meteostat.core.providers import provider_service

    daily = [str(entry.id) for entry in provider_service.providers if entry.granularity == meteostat.Granularity.DAILY]
    try:
        query = _INVENTORY_QUERY.format(marks=", ".join("?" * len(daily)))
        table: pd.DataFrame = meteostat.stations.query(query, params=tuple(daily))
    except (sqlite3.Error, pd.errors.DatabaseError):
        return None
    if table.empty:
        return None
    for name in ("first", "last"):
        table[name] = pd.to_numeric(table[name].astype("str").str.slice(0, 4), errors="coerce")
    share = pd.to_numeric(table["coverage"], errors="coerce")
    table["coverage"] = share.where(share <= 1.0, share / 100.0)
    return table


def fetch_year(station: str, year: int, pause: float = _PAUSE_S) -> tuple[pd.DataFrame, str, set[str]]:
    """Fetch one year of one station; failures are tried again, at most as often as the library's settings say.

    Parameters
    ----------
    station : str
        Identifier of the source.
    year : int
    pause : float
        Before the second trial, doubled each time. [s]

    Returns
    -------
    pandas.DataFrame
        Index ``date``; columns of the store; empty where the source has no file.
    str
        State as in `chillplan.weather.store.FetchedYear`.
    set of str
        Providers of the values.

    Raises
    ------
    SourceError
        If the source cannot be reached, or what it answers cannot be read.
    """
    failures: list[str] = []
    trials = 1
    for trial in range(100):
        with _library() as (meteostat, listener):
            address = meteostat.config.daily_endpoint.format(station=station, year=year)
            trials = 1 + max(0, int(meteostat.config.network_max_retries))
            series = meteostat.daily(
                meteostat.Station(id=station),
                datetime(year, 1, 1),
                datetime(year, 12, 31),
                parameters=_parameters(meteostat),
            )
            table = series.fetch(squash=False, clean=False)
            models = _models(meteostat)
        failures = listener.failures
        if not failures:
            if table is None or table.empty:
                return _empty(), "absent" if listener.absent else "no temperatures", set()
            return _in_house_form(table, models)
        if trial + 1 >= trials:
            break
        time.sleep(pause * 2**trial)
    raise SourceError(
        f"weather source {address} could not be read after {trials} trial{'s' if trials > 1 else ''} "
        f"({_plain(failures[0])}): check the connection and try again, use --offline, or pass --weather"
    )


def _parameters(meteostat: Any) -> list[Any]:
    names = meteostat.Parameter
    return [names.TMIN, names.TMAX, names.PRCP, names.SNWD]


def _models(meteostat: Any) -> frozenset[str]:
    """Providers that are models, by the library's own grades."""
    from meteostat.core.providers import provider_service
    from meteostat.enumerations import Grade

    return frozenset(
        str(entry.id) for entry in provider_service.providers if entry.grade in (Grade.FORECAST, Grade.ANALYSIS)
    )


def _empty() -> pd.DataFrame:
    frame = pd.DataFrame({name: pd.Series(dtype="float64") for name in DAILY})
    for name in DAILY:
        frame[f"{name}_modelled"] = pd.Series(dtype="bool")
    return frame.set_index(pd.DatetimeIndex([], name="date"))


def _in_house_form(table: pd.DataFrame, models: frozenset[str]) -> tuple[pd.DataFrame, str, set[str]]:
    """One row a day: observations first, then what a model filled, marked."""
    index = table.index
    dates = pd.DatetimeIndex(index.get_level_values("time")).normalize()
    sources = index.get_level_values("source").astype("str")
    modelled = np.array([any(part in models for part in source.split()) for source in sources])
    names = {"tmin": "tmin", "tmax": "tmax", "prcp": "precipitation", "snwd": "snow_depth"}
    days = pd.DatetimeIndex(sorted(set(dates)), name="date")
    frame = pd.DataFrame(index=days)
    used: set[str] = set()
    for name, house in names.items():
        values = pd.to_numeric(table[name], errors="coerce").astype("float64") if name in table else np.nan
        values = pd.Series(np.asarray(values, dtype="float64") * np.ones(len(dates)), index=dates)
        if house == "snow_depth":
            values *= _SNOW_CM
        observed = values[~modelled].dropna().groupby(level=0).first().reindex(days)
        filled = values[modelled].dropna().groupby(level=0).first().reindex(days)
        frame[house] = observed.fillna(filled)
        used |= set(sources[values.notna().to_numpy()])
        frame[f"{house}_modelled"] = (observed.isna() & filled.notna()).to_numpy()
    state = "kept" if frame["tmin"].notna().any() and frame["tmax"].notna().any() else "no temperatures"
    return frame, state, {part for source in used for part in source.split()}
