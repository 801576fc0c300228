"""The local store: one file a station, written whole or not at all, with what was fetched when.

The folder is the platform's data folder of the program, or the one named by the environment variable
``CHILLPLAN_DATA``.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

import pandas as pd

from chillplan.data_files import data_folder
from chillplan.errors import DataGapError, InputError, counted, quoted
from chillplan.weather.check import first_checks
from chillplan.weather.fill import fill_short_gaps
from chillplan.weather.history import History, Provenance
from chillplan.weather.quality import quality_notes

__all__ = ["FetchedYear", "Store", "StoredStation", "data_folder", "history_of_stored", "join_stored"]

DAILY = ("tmin", "tmax", "precipitation", "snow_depth")
LICENCE = "CC BY 4.0, Meteostat and the weather services behind it"
_LOCK_WAIT_S = 20.0
_LOCK_STALE_S = 60.0
_META = b"chillplan"


@dataclass(frozen=True)
class FetchedYear:
    """When a year was fetched and what came of it: ``kept``, ``absent`` (no file) or ``no temperatures``."""

    when: datetime
    state: str


@dataclass
class StoredStation:
    """What the store holds of one station."""

    place: dict[str, Any]  # ``station``, ``name``, ``latitude``, ``longitude``, ``elevation``
    # index ``date``; columns of `DAILY` in house units and, for each, whether a model gave it: ``tmin_modelled``
    # (bool) and the like
    frame: pd.DataFrame
    years: dict[int, FetchedYear] = field(default_factory=dict)
    sources: list[str] = field(default_factory=list)  # providers behind the values


class Store:
    """Reads and writes stored stations and the list of stations.

    Parameters
    ----------
    folder : pathlib.Path or None
        `data_folder` where it is not given.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = folder or data_folder()

    def path_of(self, station: str) -> Path:
        """File of one station."""
        return self.folder / "stations" / f"{re.sub(r'[^A-Za-z0-9_-]', '_', station)}.parquet"

    def stations(self) -> list[str]:
        """Names of the stations held."""
        return sorted(path.stem for path in (self.folder / "stations").glob("*.parquet"))

    def load(self, station: str) -> StoredStation | None:
        """A stored station; None where there is none or its file is damaged."""
        return _load(self.path_of(station))

    def save(self, fetched: StoredStation) -> StoredStation:
        """Add what was fetched to what is stored: a newer fetch of a year replaces the older one.

        Raises
        ------
        InputError
            If the folder cannot be written; what was stored before stays whole.
        """
        path = self.path_of(str(fetched.place["station"]))
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with _locked(path.with_suffix(".lock")):
                held = _load(path)
                joined = fetched if held is None else join_stored(held, fetched)
                _write(path, joined.frame.reset_index(), _meta(joined))
        except OSError as error:
            raise self._unwritable(error) from error
        return joined

    def load_list(self) -> tuple[pd.DataFrame, datetime] | None:
        """The list of stations and when it was fetched; None where there is none."""
        path = self.folder / "station_list.parquet"
        try:
            table, meta = _read(path)
            return table, datetime.fromisoformat(meta["fetched"])
        except (OSError, KeyError, ValueError):
            return None

    def save_list(self, table: pd.DataFrame, when: datetime) -> None:
        """Keep the list of stations; errors as `save`."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            _write(self.folder / "station_list.parquet", table, {"fetched": when.isoformat()})
        except OSError as error:
            raise self._unwritable(error) from error

    def _unwritable(self, error: OSError) -> InputError:
        return InputError(
            f"the store {quoted(self.folder)} cannot be written: {error.strerror or error}; make room, or name "
            "another folder in the environment variable CHILLPLAN_DATA"
        )


def _meta(station: StoredStation) -> dict[str, Any]:
    return {
        "place": station.place,
        "sources": station.sources,
        "years": {str(year): [entry.when.isoformat(), entry.state] for year, entry in sorted(station.years.items())},
    }


def _load(path: Path) -> StoredStation | None:
    try:
        table, meta = _read(path)
        years = {
            int(year): FetchedYear(datetime.fromisoformat(when), state) for year, (when, state) in meta["years"].items()
        }
        frame = table.set_index(pd.DatetimeIndex(table.pop("date"), name="date"))
        return StoredStation(meta["place"], frame, years, meta["sources"])
    except (OSError, KeyError, ValueError, TypeError):
        return None


def join_stored(held: StoredStation, fetched: StoredStation) -> StoredStation:
    """Both together: of a year fetched twice the newer stands."""
    newer = {
        year: entry
        for year, entry in fetched.years.items()
        if year not in held.years or entry.when >= held.years[year].when
    }
    kept = held.frame[~pd.DatetimeIndex(held.frame.index).year.isin(list(newer))]
    added = fetched.frame[pd.DatetimeIndex(fetched.frame.index).year.isin(list(newer))]
    parts = [part for part in (kept, added) if len(part)]
    frame = pd.concat(parts).sort_index() if parts else fetched.frame
    sources = sorted(set(held.sources) | set(fetched.sources))
    return StoredStation(fetched.place, frame, {**held.years, **newer}, sources)


def _write(path: Path, table: pd.DataFrame, meta: dict[str, Any]) -> None:
    """Write beside the file, then put it in its place in one step."""
    import pyarrow
    import pyarrow.parquet

    arrow = pyarrow.Table.from_pandas(table, preserve_index=False)
    described = arrow.replace_schema_metadata({**(arrow.schema.metadata or {}), _META: json.dumps(meta).encode()})
    handle, name = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=".part", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            pyarrow.parquet.write_table(described, file)
            file.flush()
            os.fsync(file.fileno())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def _read(path: Path) -> tuple[pd.DataFrame, dict[str, Any]]:
    import pyarrow
    import pyarrow.parquet

    try:
        arrow = pyarrow.parquet.read_table(path)
    except pyarrow.ArrowException as error:
        raise ValueError(str(error)) from error
    return arrow.to_pandas(), json.loads((arrow.schema.metadata or {})[_META])


@contextlib.contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Hold a lock file; one left behind by a process that died is taken over after a minute."""
    began = time.monotonic()
    while True:
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            break
        except FileExistsError:
            with contextlib.suppress(FileNotFoundError):
                if time.time() - path.stat().st_mtime > _LOCK_STALE_S:
                    path.unlink()
                    continue
            if time.monotonic() - began > _LOCK_WAIT_S:
                raise TimeoutError(0, "another process is writing it") from None
            time.sleep(0.02)
    try:
        yield
    finally:
        path.unlink(missing_ok=True)


def history_of_stored(stored: StoredStation, with_model: bool = False) -> History:
    """A stored station as a checked history.

    Parameters
    ----------
    stored : StoredStation
    with_model : bool
        Keep values that a weather model filled, flagged ``modelled`` and counted; else they are left out and counted.

    Raises
    ------
    DataGapError
        If the station has no temperatures.
    """
    frame = stored.frame
    daily = frame[[name for name in frame if not str(name).endswith("_modelled")]].copy()
    count = 0
    for name in DAILY:
        modelled = frame[f"{name}_modelled"].to_numpy(dtype=bool)
        count += int(modelled.sum())
        if name in {"tmin", "tmax"}:
            daily[f"{name}_flag"] = pd.Series("", index=daily.index, dtype="str").mask(
                modelled & with_model, "modelled"
            )
        if not with_model:
            daily[name] = daily[name].mask(modelled)
    daily = daily.drop(columns=[name for name in ("precipitation", "snow_depth") if daily[name].isna().all()])
    known = daily["tmin"].notna() & daily["tmax"].notna()
    place = stored.place
    if not known.any():
        raise DataGapError(
            f"station {quoted(place['station'])} has no daily minimum and maximum: choose another station"
        )
    daily = daily[known.cummax() & known[::-1].cummax()[::-1]]
    daily = daily.reindex(pd.date_range(daily.index[0], daily.index[-1], freq="D", name="date"))
    for name in ("tmin_flag", "tmax_flag"):
        daily[name] = daily[name].fillna("")
    provenance = _provenance(stored, [*_years_without(stored, daily), *_about_models(count, with_model)])
    history = fill_short_gaps(first_checks(History(daily, provenance)))
    return history.noted(*quality_notes(history.daily))


def _about_models(count: int, kept: bool) -> list[str]:
    what = "kept and flagged" if kept else "left out (--with-model keeps them)"
    return [f"{counted(count, 'value')} filled by a weather model {what}."] if count else []


def _provenance(stored: StoredStation, notes: list[str]) -> Provenance:
    place = stored.place
    fetched = [entry.when for entry in stored.years.values()]
    first, last = f"{min(fetched):%Y-%m-%d}", f"{max(fetched):%Y-%m-%d}"
    when = f"Fetched {last}." if first == last else f"Fetched between {first} and {last}."
    return Provenance(
        source=f"Meteostat daily ({', '.join(stored.sources) or 'source not stated'})",
        station=f"{place['station']} {place.get('name') or ''}".strip(),
        latitude=place.get("latitude"),
        longitude=place.get("longitude"),
        elevation=place.get("elevation"),
        licence=LICENCE,
        notes=(when, *notes),
    )


def _years_without(stored: StoredStation, daily: pd.DataFrame) -> list[str]:
    """Years within the record of which the source has no file, or one without temperatures."""
    first, last = pd.DatetimeIndex(daily.index)[0].year, pd.DatetimeIndex(daily.index)[-1].year
    notes = []
    for state, what in (("absent", "no file"), ("no temperatures", "a file without temperatures")):
        years = [
            str(year) for year, entry in sorted(stored.years.items()) if entry.state == state and first < year < last
        ]
        if years:
            more = f" and {len(years) - 8} more" if len(years) > 8 else ""
            notes.append(f"The source has {what} of {', '.join(years[:8])}{more}.")
    return notes
