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
from chillplan.errors import InputError, quoted

__all__ = ["FetchedYear", "Store", "StoredStation", "data_folder", "join_stored"]

DAILY = ("tmin", "tmax", "precipitation", "snow_depth")
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
    """What the store holds of one station.

    Attributes
    ----------
    frame : pandas.DataFrame
        Index ``date``; columns of `DAILY` in house units and, for each, whether a model gave it: ``tmin_modelled``
        (bool) and the like.
    years : dict of int to FetchedYear
    place : dict
        ``station``, ``name``, ``latitude``, ``longitude``, ``elevation``.
    sources : list of str
        Providers behind the values.
    """

    place: dict[str, Any]
    frame: pd.DataFrame
    years: dict[int, FetchedYear] = field(default_factory=dict)
    sources: list[str] = field(default_factory=list)


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
