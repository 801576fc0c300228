"""Fetching through the library from a real server on loopback, and the store that keeps what was fetched."""

from __future__ import annotations

import gzip
import multiprocessing
import os
import socket
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import meteostat
import numpy as np
import pandas as pd
import pytest

from chillplan.errors import DataGapError, InputError, SourceError
from chillplan.weather import fetch_meteostat
from chillplan.weather import store as store_module
from chillplan.weather.fetch_meteostat import fetch_station_list, fetch_year
from chillplan.weather.get import Fetching, history_at, station_list, update_station
from chillplan.weather.store import FetchedYear, Store, StoredStation, history_of_stored
from tests.weather.source_server import Source, year_csv

NOW = datetime(2014, 6, 1, tzinfo=UTC)
PLACE = {"station": "10001", "name": "Valley Farm", "latitude": 44.0, "longitude": -72.0, "elevation": 120.0}
PLACE |= {"first": 2001.0, "last": 2012.0}


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "store")


def fetching(**changes: object) -> Fetching:
    return replace(Fetching(NOW), **changes)  # type: ignore[arg-type]


def test_the_list_of_stations_is_read(source: Source) -> None:
    stations = fetch_station_list()
    assert stations["station"].tolist() == ["10001", "10002", "10003"]
    assert stations["first"].tolist() == [2001.0] * 3
    assert stations["coverage"].tolist() == pytest.approx([0.98] * 3)


def test_one_year_is_read_in_house_units(source: Source) -> None:
    frame, state, sources = fetch_year("10001", 2003)
    assert state == "kept"
    assert sources == {"ghcnd"}
    assert len(frame) == 365
    served = pd.read_csv(source_text("10001", 2003))
    np.testing.assert_allclose(frame["tmin"], served["tmin"])
    assert (frame["snow_depth"] == 30.0).all()  # 3 cm
    assert not frame["tmin_modelled"].any()


def source_text(station: str, year: int, model_days: int = 0):  # type: ignore[no-untyped-def]
    from io import StringIO

    return StringIO(year_csv(station, year, model_days))


def test_a_place_gets_the_best_station_and_then_works_offline(source: Source, store: Store) -> None:
    history = history_at(44.01, -72.01, 150.0, fetching(), store)
    assert history.provenance.station == "10001 Valley Farm"
    assert history.provenance.licence.startswith("CC BY 4.0")
    assert len(history.daily) == 12 * 365 + 3
    asked = sum(source.asked.values())
    again = history_at(44.01, -72.01, 150.0, fetching(), store)
    pd.testing.assert_frame_equal(history.daily, again.daily)
    assert sum(source.asked.values()) == asked
    source.close()
    offline = history_at(44.01, -72.01, 150.0, fetching(offline=True), store)
    pd.testing.assert_frame_equal(history.daily, offline.daily)


def test_height_decides_between_two_near_stations(source: Source, store: Store) -> None:
    assert history_at(44.02, -72.02, 470.0, fetching(), store).provenance.station == "10002 Upper Meadow"


def test_a_missing_year_is_a_gap_not_a_failure(source: Source, store: Store) -> None:
    source.moods["/daily/2005/"] = [404]
    stored, _ = update_station(PLACE, store, fetching())
    assert stored.years[2005].state == "absent"
    history = history_of_stored(stored)
    assert history.daily.loc["2005", "tmin"].isna().all()
    assert history.daily.loc["2006", "tmin"].notna().all()
    assert "The source has no file of 2005." in history.provenance.notes


def test_an_unreachable_source_is_an_error_that_says_what_was_tried(source: Source, store: Store) -> None:
    source.close()
    with pytest.raises(SourceError, match=r"127\.0\.0\.1:\d+/stations\.db .*pass --weather"):
        history_at(44.0, -72.0, None, fetching(), store)
    with pytest.raises(
        SourceError, match=r"/daily/2001/10001\.csv\.gz could not be read after 1 trial .*refused"
    ) as caught:
        update_station(PLACE, store, fetching())
    assert "lacks 12 years (2001 to 2012)" in caught.value.problems[1]
    assert store.load("10001") is None


@pytest.mark.parametrize(
    ("mood", "cause"),
    [
        ("cut", "the file ends in the middle"),
        (500, "status 500"),
        (403, "status 403"),
        (b"<html>Service page</html>", "the file is not gzip"),
    ],
)
def test_broken_answers_are_errors_not_empty_series(source: Source, mood: object, cause: str) -> None:
    source.moods["/daily/2004/"] = [mood]
    with pytest.raises(SourceError, match=rf"/daily/2004/10001\.csv\.gz could not be read after 1 trial \(.*{cause}"):
        fetch_year("10001", 2004)


def test_a_failure_that_passes_is_tried_again(source: Source, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meteostat.config, "network_max_retries", 2)
    source.moods["/daily/2004/"] = [500, "cut", None]
    frame, state, _ = fetch_year("10001", 2004, pause=0.0)
    assert (len(frame), state) == (366, "kept")
    assert source.asked["/daily/2004/10001.csv.gz"] == 3


def test_a_slow_source_runs_into_the_time_limit(source: Source) -> None:
    before = socket.getdefaulttimeout()
    source.moods["/daily/2004/"] = ["slow"]
    with pytest.raises(SourceError, match="timed out"):
        fetch_year("10001", 2004)
    assert socket.getdefaulttimeout() == before


def test_a_changed_column_never_becomes_an_answer(source: Source, store: Store) -> None:
    text = year_csv("10001", 2004).replace("tmin", "lowest", 2)
    source.moods["/daily/"] = [gzip.compress(text.encode())]
    with pytest.raises(SourceError, match="from 2001 to 2012 but has files without daily minimum and maximum"):
        history_at(44.0, -72.0, 120.0, fetching(), store, station="10001")


def test_files_that_moved_away_are_a_source_error(source: Source, store: Store) -> None:
    source.moods["/daily/"] = [404]
    with pytest.raises(SourceError, match="but has no file at all: its layout may have changed") as caught:
        history_at(44.0, -72.0, 120.0, fetching(), store)
    assert len(caught.value.problems) == 3


def test_one_broken_station_is_passed_over(source: Source, store: Store) -> None:
    source.moods["10001.csv.gz"] = [404]
    assert history_at(44.01, -72.01, 150.0, fetching(), store).provenance.station == "10002 Upper Meadow"


def test_a_station_of_unknown_name_and_height(source: Source, store: Store) -> None:
    place = {**PLACE, "name": float("nan"), "elevation": float("nan")}
    stored, _ = update_station(place, store, fetching())
    provenance = history_of_stored(stored).provenance
    assert (provenance.station, provenance.elevation) == ("10001", None)


def test_years_fetched_before_a_failure_are_kept(source: Source, store: Store) -> None:
    source.moods["/daily/2007/"] = [500]
    with pytest.raises(SourceError, match="6 years fetched before the failure are kept"):
        update_station(PLACE, store, fetching())
    held = store.load("10001")
    assert held is not None
    assert sorted(held.years) == list(range(2001, 2007))
    source.moods.clear()
    source.asked.clear()
    stored, _ = update_station(PLACE, store, fetching())
    assert sorted(stored.years) == list(range(2001, 2013))
    assert source.asked["/daily/2001/10001.csv.gz"] == 0


def test_a_failing_refresh_answers_from_the_store_and_says_so(source: Source, store: Store) -> None:
    update_station(PLACE, store, fetching())
    source.close()
    later = fetching(now=NOW + timedelta(days=40), refresh=True)
    stored, notes = update_station(PLACE, store, later)
    assert len(stored.years) == 12
    assert any("could not be read" in note and "stored copy of 2014-06-01 was used" in note for note in notes)


def test_refresh_fetches_again_and_replaces(source: Source, store: Store) -> None:
    update_station(PLACE, store, fetching())
    source.moods["/daily/2004/"] = [gzip.compress(year_csv("10003", 2004).encode())]
    stored, _ = update_station(PLACE, store, fetching(refresh=True, now=NOW + timedelta(hours=1)))
    served = pd.read_csv(source_text("10003", 2004))
    np.testing.assert_allclose(stored.frame.loc["2004", "tmin"], served["tmin"])
    assert len(stored.frame) == 12 * 365 + 3


def test_a_running_year_is_fetched_again_after_a_day_and_a_past_one_never(source: Source, store: Store) -> None:
    """The library itself would keep both for 30 days."""
    running = datetime(2012, 6, 1, tzinfo=UTC)
    update_station(PLACE, store, fetching(now=running))
    source.asked.clear()
    update_station(PLACE, store, fetching(now=running + timedelta(hours=12)))
    assert not source.asked
    update_station(PLACE, store, fetching(now=running + timedelta(days=2)))
    assert list(source.asked) == ["/daily/2012/10001.csv.gz"]
    source.asked.clear()
    update_station(PLACE, store, fetching(now=datetime(2014, 5, 1, tzinfo=UTC)))
    assert list(source.asked) == ["/daily/2012/10001.csv.gz"]
    source.asked.clear()
    update_station(PLACE, store, fetching(now=datetime(2015, 5, 1, tzinfo=UTC)))
    assert not source.asked


def test_values_of_a_model_are_left_out_or_flagged_and_counted(source: Source, store: Store) -> None:
    source.model_days = 10
    stored, _ = update_station(PLACE, store, fetching())
    strict = history_of_stored(stored)
    assert any(note.startswith("360 values filled by a weather model left out") for note in strict.provenance.notes)
    assert strict.daily.loc["2004-01-01":"2004-01-10", ["tmin", "precipitation"]].isna().all().all()
    assert strict.daily["snow_depth"].notna().all()
    kept = history_of_stored(stored, with_model=True)
    assert (kept.daily["tmin_flag"] == "modelled").sum() == 120
    assert kept.coverage < 1.0


def test_offline_without_a_store_is_an_error(store: Store) -> None:
    with pytest.raises(SourceError, match="has no list of stations and --offline was given"):
        history_at(44.0, -72.0, None, fetching(offline=True), store)


def test_an_unknown_station_is_an_input_error(source: Source, store: Store) -> None:
    with pytest.raises(InputError, match="station '99999' is not in the list"):
        history_at(44.0, -72.0, None, fetching(), store, station="99999")


def test_nothing_near_is_too_little_data(source: Source, store: Store) -> None:
    with pytest.raises(DataGapError, match=r"no station with daily temperatures is within 300 km of -40, 170"):
        history_at(-40.0, 170.0, None, fetching(), store)


def test_a_list_that_is_no_list_is_an_error_and_an_old_one_is_used(source: Source, store: Store) -> None:
    station_list(store, fetching())
    source.moods["/stations.db"] = [b"<html>not today</html>"]
    with pytest.raises(SourceError, match="is not a list of stations"):
        fetch_station_list()
    table, notes = station_list(store, fetching(now=NOW + timedelta(days=31)))
    assert len(table) == 3
    assert "The list of 2014-06-01 was used" in notes[0]


def test_a_full_disk_leaves_the_old_file_whole(source: Source, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    update_station(PLACE, store, fetching())
    before = store.path_of("10001").read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store_module.os, "fsync", full)
    with pytest.raises(InputError, match="cannot be written: No space left on device; make room"):
        update_station(PLACE, store, fetching(refresh=True, must_store=True))
    assert store.path_of("10001").read_bytes() == before
    assert [path.name for path in store.path_of("10001").parent.iterdir()] == ["10001.parquet"]
    stored, notes = update_station(PLACE, store, fetching(refresh=True))
    assert len(stored.years) == 12
    assert notes[0].startswith("Not stored: ")


def _fetch_part(folder: str, years: tuple[int, int]) -> None:
    dates = pd.date_range(f"{years[0]}-01-01", f"{years[1]}-12-31", name="date")
    frame = pd.DataFrame({"tmin": 1.0, "tmax": 2.0, "precipitation": 0.0, "snow_depth": 0.0}, index=dates)
    for name in ("tmin", "tmax", "precipitation", "snow_depth"):
        frame[f"{name}_modelled"] = False
    entries = {year: FetchedYear(NOW, "kept") for year in range(years[0], years[1] + 1)}
    for _ in range(5):
        Store(Path(folder)).save(StoredStation(dict(PLACE), frame, entries, ["ghcnd"]))


def test_two_processes_that_fetch_at_once_lose_nothing(store: Store) -> None:
    context = multiprocessing.get_context("spawn" if os.name == "nt" else "fork")
    parts = [(1980, 1989), (1990, 1999), (2000, 2009)]
    workers = [context.Process(target=_fetch_part, args=(str(store.folder), part)) for part in parts]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    assert [worker.exitcode for worker in workers] == [0, 0, 0]
    held = store.load("10001")
    assert held is not None
    assert sorted(held.years) == list(range(1980, 2010))
    assert len(held.frame) == len(pd.date_range("1980-01-01", "2009-12-31"))


def test_a_damaged_store_file_is_fetched_again(source: Source, store: Store) -> None:
    update_station(PLACE, store, fetching())
    path = store.path_of("10001")
    path.write_bytes(path.read_bytes()[:500])
    assert store.load("10001") is None
    stored, _ = update_station(PLACE, store, fetching())
    assert len(stored.years) == 12


def test_the_library_is_left_as_it_was(source: Source) -> None:
    config = meteostat.config
    before = (config.cache_enable, config.cache_directory, config.stations_db_file, config.include_model_data)
    fetch_year("10001", 2003)
    assert (config.cache_enable, config.cache_directory, config.stations_db_file, config.include_model_data) == before


def test_a_stop_in_the_middle_keeps_what_was_fetched(
    source: Source, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = fetch_meteostat.fetch_year

    def stopped_in_2005(station: str, year: int) -> tuple[pd.DataFrame, str, set[str]]:
        if year == 2005:
            raise KeyboardInterrupt
        return real(station, year)

    monkeypatch.setattr(fetch_meteostat, "fetch_year", stopped_in_2005)
    with pytest.raises(KeyboardInterrupt):
        update_station(PLACE, store, fetching())
    held = store.load("10001")
    assert held is not None
    assert sorted(held.years) == [2001, 2002, 2003, 2004]


def test_a_first_year_after_the_record_is_too_little_data(source: Source, store: Store) -> None:
    with pytest.raises(DataGapError, match="its record runs from 2001 to 2012, and 2013 was the first year asked for"):
        history_at(44.0, -72.0, 120.0, fetching(first_year=2013), store, station="10001")
