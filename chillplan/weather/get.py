"""The history of a place from the source and the store: what is missing is fetched, the rest is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import pandas as pd

from chillplan.errors import DataGapError, InputError, SourceError, counted, quoted
from chillplan.weather.fill import WITHIN_KM, fill_from_neighbours, neighbours_of
from chillplan.weather.history import History
from chillplan.weather.nearness import nearest_stations
from chillplan.weather.quality import shift_notes
from chillplan.weather.store import FetchedYear, Store, StoredStation, history_of_stored, join_stored

__all__ = ["Fetching", "history_at", "station_list", "update_station"]

# A year that ended is final after this; before, and while it runs, it is fetched again after a day. [day]
_SETTLING = timedelta(days=60)
_FRESH = timedelta(days=1)
_LIST_FRESH = timedelta(days=30)
_ABSENT_FRESH = timedelta(days=30)
_YEARS_BACK = 60
_WANTED_DAYS = 3 * 365
_TRIED = 5
_GAPS_WORTH_FILLING = 0.01

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True)
class Fetching:
    """How to fetch."""

    now: datetime  # with time zone
    offline: bool = False  # use the store only
    refresh: bool = False  # fetch every year again
    with_model: bool = False  # keep values that a weather model filled, flagged
    must_store: bool = False  # a store that cannot be written is an error, not a note
    first_year: int | None = None  # earliest year wanted; 60 years back where it is not given
    # called with years done, years in all, and what is being fetched
    progress: Progress = lambda done, count, what: None


def station_list(store: Store, fetching: Fetching) -> tuple[pd.DataFrame, list[str]]:
    """The list of stations, from the store while it is fresh.

    Returns
    -------
    pandas.DataFrame, list of str
        Stations, and notes.

    Raises
    ------
    SourceError
        If it must be fetched and cannot be, or offline and never fetched.
    """
    held = store.load_list()
    if held is not None and (fetching.offline or (fetching.now - held[1] < _LIST_FRESH and not fetching.refresh)):
        return held[0], []
    if fetching.offline:
        raise SourceError(
            f"the store {quoted(store.folder)} has no list of stations and --offline was given: "
            "run `chillplan weather find` once while connected"
        )
    from chillplan.weather.fetch_meteostat import fetch_station_list

    fetching.progress(0, 1, "list of stations")
    try:
        table = fetch_station_list()
    except SourceError as error:
        if held is None:
            raise
        return held[0], [f"{error} The list of {held[1]:%Y-%m-%d} was used."]
    try:
        store.save_list(table, fetching.now)
    except InputError as error:
        if fetching.must_store:
            raise
        return table, [f"The list of stations was not stored: {error}."]
    return table, []


def update_station(place: dict[str, Any], store: Store, fetching: Fetching) -> tuple[StoredStation, list[str]]:
    """Fetch the years of a station that the store lacks or that may have changed.

    Parameters
    ----------
    place : dict
        ``station``, ``name``, ``latitude``, ``longitude``, ``elevation``, and ``first``, ``last`` year or NaN.
    store : Store
    fetching : Fetching

    Returns
    -------
    StoredStation, list of str
        What the store now holds, and notes.

    Raises
    ------
    SourceError
        If years cannot be fetched that the store does not hold; those fetched before are kept.
    DataGapError
        If the station has no year in the time asked for.
    """
    held = store.load(place["station"])
    if fetching.offline:
        if held is None:
            raise SourceError(
                f"station {quoted(place['station'])} is not in the store and --offline was given: "
                "run `chillplan weather fetch` while connected"
            )
        return held, []
    years = _years_to_fetch(place, held, fetching)
    if not years:
        if held is None:
            raise DataGapError(
                f"station {quoted(place['station'])} has no year to fetch: its record runs from "
                f"{place['first']:.0f} to {place['last']:.0f}, and {fetching.first_year or 'sixty years back'} was the "
                "first year asked for"
            )
        return held, []
    return _fetch_years(place, years, held, store, fetching)


def _fetch_years(
    place: dict[str, Any], years: list[int], held: StoredStation | None, store: Store, fetching: Fetching
) -> tuple[StoredStation, list[str]]:
    from chillplan.weather.fetch_meteostat import fetch_year

    kept = {name: _known(place.get(name)) for name in ("station", "name", "latitude", "longitude", "elevation")}
    frames: list[pd.DataFrame] = []
    done: dict[int, FetchedYear] = {}
    sources: set[str] = set()
    failure: SourceError | KeyboardInterrupt | None = None
    notes: list[str] = []
    for count, year in enumerate(years):
        fetching.progress(count, len(years), f"{place['station']} {year}")
        try:
            frame, state, used = fetch_year(str(place["station"]), year)
        except (SourceError, KeyboardInterrupt) as error:
            failure = error
            break
        frames.append(frame)
        done[year] = FetchedYear(fetching.now, state)
        sources |= used
    fetching.progress(len(done), len(years), str(place["station"]))
    if done:
        full = [frame for frame in frames if len(frame)]
        joined = pd.concat(full) if full else frames[0]
        held, notes = _kept(StoredStation(kept, joined, done, sorted(sources)), held, store, fetching)
    if isinstance(failure, KeyboardInterrupt):
        raise failure
    if failure is None and held is not None:
        return held, notes
    lacking = [year for year in years if held is None or year not in held.years]
    if held is None or lacking:
        raise SourceError([*(failure.problems if failure else ()), _so_far(place, lacking, done)])
    return held, [
        *notes,
        f"{failure} The stored copy of {max(entry.when for entry in held.years.values()):%Y-%m-%d} was used.",
    ]


def _known(value: Any) -> Any:
    """None where the list of stations says nothing."""
    return None if value is None or value != value else value  # noqa: PLR0124


def _kept(
    fetched: StoredStation, held: StoredStation | None, store: Store, fetching: Fetching
) -> tuple[StoredStation, list[str]]:
    """Store what was fetched; where that fails it still answers, unless it must be stored."""
    try:
        return store.save(fetched), []
    except InputError as error:
        if fetching.must_store:
            raise
        return fetched if held is None else join_stored(held, fetched), [f"Not stored: {error}."]


def _so_far(place: dict[str, Any], lacking: list[int], done: dict[int, FetchedYear]) -> str:
    return (
        f"station {quoted(place['station'])} lacks {counted(len(lacking), 'year')} ({lacking[0]} to {lacking[-1]}); "
        f"{counted(len(done), 'year')} fetched before the failure are kept, so that the next run goes on from there"
    )


def _years_to_fetch(place: dict[str, Any], held: StoredStation | None, fetching: Fetching) -> list[int]:
    this_year = fetching.now.year
    first = fetching.first_year or this_year - _YEARS_BACK
    known_first, known_last = place.get("first"), place.get("last")
    if known_first is not None and not pd.isna(known_first):
        first = max(first, int(known_first))
    last = this_year
    if known_last is not None and not pd.isna(known_last) and int(known_last) < this_year - 1:
        last = int(known_last)
    years = range(first, last + 1)
    if held is None or fetching.refresh:
        return list(years)
    return [year for year in years if year not in held.years or _may_have_changed(year, held.years[year], fetching.now)]


def _may_have_changed(year: int, entry: FetchedYear, now: datetime) -> bool:
    if entry.state != "kept" and now - entry.when > _ABSENT_FRESH:
        return True
    settled = datetime(year, 12, 31, tzinfo=entry.when.tzinfo) + _SETTLING
    return entry.when < settled and now - entry.when > _FRESH


def _with_neighbours(history: History, chosen: pd.DataFrame, store: Store, fetching: Fetching) -> History:
    """Fill what is missing from up to two other stations near; one that cannot be had is passed over and named."""
    if history.daily[["tmin", "tmax"]].isna().to_numpy().mean() < _GAPS_WORTH_FILLING:
        return history
    own = history.provenance.station.split(" ")[0]
    near, notes = [], []
    for place in chosen[(chosen["station"] != own) & (chosen["distance_km"] <= WITHIN_KM)].head(2).to_dict("records"):
        try:
            stored, _ = update_station({str(key): value for key, value in place.items()}, store, fetching)
            near.append(history_of_stored(stored))
        except (SourceError, DataGapError) as error:
            notes.append(f"Neighbour {place['station']} was not used: {error.problems[0]}")
    near = neighbours_of(history, near)
    return fill_from_neighbours(history, near).noted(*shift_notes(history, near), *notes)


def history_at(
    latitude: float,
    longitude: float,
    elevation: float | None,
    fetching: Fetching,
    store: Store | None = None,
    station: str | None = None,
) -> History:
    """The best history for a place: nearest stations are tried in order of expected error.

    Parameters
    ----------
    latitude, longitude : float
        [degrees]
    elevation : float or None
        [m]
    fetching : Fetching
    store : Store or None
    station : str or None
        Use this station of the source.

    Returns
    -------
    History

    Raises
    ------
    SourceError
        If the source cannot be reached and the store has no station near, or the source has no temperatures of the
        stations it lists.
    DataGapError
        If no station near has at least three years of temperatures.
    InputError
        If the station named is not in the list, or the store cannot be written.
    """
    store = store or Store()
    stations, notes = station_list(store, fetching)
    if station is not None:
        chosen = stations[stations["station"].str.lower() == station.lower()].assign(distance_km=0.0)
        if chosen.empty:
            raise InputError(f"station {quoted(station)} is not in the list: `chillplan weather find` shows those near")
    else:
        year = fetching.now.year
        chosen = nearest_stations(stations, latitude, longitude, elevation, limit=2000, this_year=year)
    if fetching.offline:
        here = set(store.stations())
        chosen = chosen[[store.path_of(str(name)).stem in here for name in chosen["station"]]]
        if chosen.empty:
            raise SourceError(
                f"the store {quoted(store.folder)} has no station within 300 km of {latitude:g}, {longitude:g} and "
                "--offline was given: run `chillplan weather fetch` while connected"
            )
    history = _first_that_serves(chosen, store, fetching, station is not None, (latitude, longitude))
    return history.noted(*notes)


def _first_that_serves(
    chosen: pd.DataFrame,
    store: Store,
    fetching: Fetching,
    named: bool,
    place: tuple[float, float],
) -> History:
    """The first candidate with enough temperatures; when none has, why."""
    tried: list[str] = []
    broken: list[str] = []
    for row in chosen.head(_TRIED).to_dict("records"):
        entry = {str(key): value for key, value in row.items()}
        try:
            stored, said = update_station(entry, store, fetching)
            broken += _promised_but_missing(entry, stored)
            history = history_of_stored(stored, fetching.with_model)
        except DataGapError as error:
            tried.append(str(error))
            continue
        if named or (history.daily["tmin"].notna() & history.daily["tmax"].notna()).sum() >= _WANTED_DAYS:
            return _with_neighbours(history, chosen, store, fetching).noted(*said)
        tried.append(f"station {quoted(entry['station'])} has less than three years of temperatures: choose another")
    if broken:
        raise SourceError(broken)
    raise DataGapError(
        tried or f"no station with daily temperatures is within 300 km of {place[0]:g}, {place[1]:g}: pass --weather"
    )


def _promised_but_missing(place: dict[str, Any], stored: StoredStation) -> list[str]:
    """What is wrong at the source when its list promises years of which not one holds temperatures."""
    if pd.isna(place.get("first", float("nan"))) or any(entry.state == "kept" for entry in stored.years.values()):
        return []
    states = {entry.state for entry in stored.years.values()}
    what = "no file at all" if states == {"absent"} else "files without daily minimum and maximum"
    return [
        f"the source lists station {quoted(place['station'])} from {place['first']:.0f} to {place['last']:.0f} but has "
        f"{what}: its layout may have changed; pass --weather, or try a newer version of the program"
    ]
