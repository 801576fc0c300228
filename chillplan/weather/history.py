"""A daily record: the rows of one station as a file has them, and the history that is made of them, day by day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd

from chillplan.errors import InputError, Problems, counted, quoted

__all__ = ["FLAGS", "History", "Provenance", "Record", "counted", "histories_of", "history_of"]


@dataclass
class Record:
    """Rows of one station from one file, before dates are put in order.

    Attributes
    ----------
    frame : pandas.DataFrame
        Column ``date`` (datetime64) and variables in house units, any order; beside those of `chillplan.variables`
        ``solar_radiation`` [MJ m-2 d-1, daily sum on level ground], ``surface_temperature`` [°C, infrared, daily mean]
        and ``new_snow`` [mm, depth fallen in the day] where a record has them; ``tmin_failed`` and
        ``tmax_failed`` (bool) where the source itself rejects a value.
    station : str
    source, licence : str
        In words.
    file : str
        File name without its folder.
    latitude, longitude, elevation : float or None
        Of the station. [degrees, degrees, m]
    soil_depth_cm : float or None
        Depth of the column ``soil_temperature``. [cm]
    notes : list of str
        What was decided while reading.
    """

    frame: pd.DataFrame
    station: str
    source: str
    file: str
    licence: str = "not stated"
    latitude: float | None = None
    longitude: float | None = None
    elevation: float | None = None
    soil_depth_cm: float | None = None
    notes: list[str] = field(default_factory=list)


FEWEST_DAYS = 10
# Long official records hold a row out of place now and then; more than one in this many is a fault of the file.
_ROWS_A_STRAY = 10_000
_STRAY_GAP, _MOST_STRAYS = pd.Timedelta(days=15 * 365), 5  # a record so interrupted is as good as another's
_TOLERANCE = 0.051  # two copies of a value that were rounded apart still agree [°C, mm]


def histories_of(records: Iterable[Record]) -> list[History]:
    """One history a station: records of the same station and source are joined.

    Parameters
    ----------
    records : iterable of Record

    Returns
    -------
    list of History
        Sorted by station.

    Raises
    ------
    InputError
        With every problem of every record.
    """
    groups: dict[tuple[str, str], list[Record]] = {}
    for record in records:
        groups.setdefault((record.station, record.source), []).append(record)
    problems = Problems()
    result = []
    for key in sorted(groups):
        try:
            result.append(history_of(groups[key]))
        except InputError as error:
            problems.extend(error)
    problems.raise_if_any()
    return result


def history_of(records: list[Record]) -> History:
    """Join the records of one station; parameters, result and errors as `histories_of`."""
    notes = list(dict.fromkeys(note for record in records for note in record.notes))
    parts = []
    for record in records:
        frame, note = _in_order(record.frame, record.file)
        parts.append(frame)
        notes += note
    rows = pd.concat(parts, ignore_index=True) if len(parts) > 1 else parts[0]
    files = tuple(dict.fromkeys(record.file for record in records))
    rows, note = _without_strays(rows)
    notes += note
    rows, note = _each_day_once(rows.sort_values("date", kind="stable"), ", ".join(files[:3]))
    notes += note
    known = rows["tmin"].notna() | rows["tmax"].notna()
    if not known.any():
        raise InputError(
            f"{quoted(files[0])} has no temperatures for {quoted(records[0].station)}: every value is missing"
        )
    rows = rows[known.cummax() & known[::-1].cummax()[::-1]].set_index("date")
    if len(rows) < FEWEST_DAYS:
        days = counted(len(rows), "day")
        raise InputError(f"{quoted(files[0])} has {days}: at least {FEWEST_DAYS} are needed, and 3 winters to plan")
    rows.index = pd.DatetimeIndex(rows.index).as_unit("ns")
    daily = rows.reindex(pd.date_range(rows.index[0], rows.index[-1], freq="D", name="date"))
    return History(_flagged(daily), _provenance(records, files, notes), soil_depth_cm=_soil_depth(records, daily))


def _in_order(rows: pd.DataFrame, file: str) -> tuple[pd.DataFrame, list[str]]:
    dates = rows["date"]
    if dates.is_monotonic_increasing:
        return rows, []
    if dates.is_monotonic_decreasing:
        return rows[::-1], ["The file runs from the newest day to the oldest; it was turned round."]
    back = (dates.diff() < pd.Timedelta(0)).to_numpy()
    at = int(back.argmax())
    if back.sum() <= len(rows) // _ROWS_A_STRAY:
        days = ", ".join(f"{day:%Y-%m-%d}" for day in dates[back])
        return rows.sort_values("date", kind="stable"), [f"Rows out of order were put in their place: {days}."]
    raise InputError(
        f"dates in {quoted(file)} are out of order: {dates.iloc[at]:%Y-%m-%d} follows {dates.iloc[at - 1]:%Y-%m-%d}; "
        "sort the rows by date, and check that day and month are not exchanged"
    )


def _without_strays(rows: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
    """Leave out a few days that lie decades from all others: a wrong year."""
    rows = rows.sort_values("date", kind="stable")
    far = (rows["date"].diff() > _STRAY_GAP).to_numpy()
    part = np.cumsum(far)
    stray = (np.bincount(part)[part] <= _MOST_STRAYS) & (len(rows) > FEWEST_DAYS)
    if not stray.any() or stray.all():
        return rows, []
    days = ", ".join(f"{day:%Y-%m-%d}" for day in rows["date"][stray][:5])
    return rows[~stray], [
        f"{counted(int(stray.sum()), 'day')} far from all others left out, the year is wrong: {days}."
    ]


def _each_day_once(rows: pd.DataFrame, files: str) -> tuple[pd.DataFrame, list[str]]:
    """Drop identical doubles; refuse two different values for one day."""
    if not rows["date"].duplicated().any():
        return rows, []
    doubled = rows[rows["date"].duplicated(keep=False)]
    values = doubled.groupby("date")[["tmin", "tmax"]]
    lowest, highest = values.min(), values.max()
    apart = np.flatnonzero(((highest - lowest).to_numpy(dtype=float) > _TOLERANCE).any(axis=1))
    if len(apart):
        days = [f"{day:%Y-%m-%d}" for day in pd.DatetimeIndex(lowest.index[apart])]
        shown = ", ".join(days[:5]) + (f" and {len(days) - 5} more" if len(days) > 5 else "")
        raise InputError(f"{quoted(files)} gives two different temperatures for one day: {shown}; keep one row a day")
    once = rows.groupby("date", as_index=False).first()
    return once, [f"{counted(len(rows) - len(once), 'row')} that repeat a day with the same values dropped."]


def _flagged(daily: pd.DataFrame) -> pd.DataFrame:
    result = daily[[name for name in daily if not str(name).endswith("_failed")]].astype("float64")
    unused = [name for name in result if name not in {"tmin", "tmax"} and result[name].isna().all()]
    result = result.drop(columns=unused)
    for name in ("tmin", "tmax"):
        result[f"{name}_flag"] = ""
        if f"{name}_failed" in daily:
            failed = (daily[f"{name}_failed"].eq(True) & result[name].notna()).to_numpy()
            result.loc[failed, name] = float("nan")
            result.loc[failed, f"{name}_flag"] = "removed"
    return result


def _provenance(records: list[Record], files: tuple[str, ...], notes: list[str]) -> Provenance:
    place: dict[str, Any] = {
        name: next((getattr(record, name) for record in records[::-1] if getattr(record, name) is not None), None)
        for name in ("latitude", "longitude", "elevation")
    }
    first = records[0]
    return Provenance(
        source=first.source, station=first.station, files=files, licence=first.licence, notes=tuple(notes), **place
    )


def _soil_depth(records: list[Record], daily: pd.DataFrame) -> float | None:
    if "soil_temperature" not in daily or daily["soil_temperature"].isna().all():
        return None
    return records[0].soil_depth_cm


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
