"""The grower's own readings of the hillside: a daily table, or a logger's file turned into days."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from chillplan.errors import InputError

if TYPE_CHECKING:
    from chillplan.weather.history import History

__all__ = ["own_readings"]

_LOGGER_UNITS = {"celsius": "C", "fahrenheit": "F", "kelvin": "K"}
# A day of a logger counts with at least this share of the usual number of readings, and this many. Common practice.
_SHARE, _FEWEST = 0.9, 4


def own_readings(paths: Sequence[Path], units: str | None = None) -> History:
    """Read the grower's own daily minima and maxima.

    Parameters
    ----------
    paths : sequence of pathlib.Path
        A daily table of any format that is read as weather; or files of a logger with several readings a day.
    units : str or None
        Unit of temperature where the file does not say it.

    Raises
    ------
    InputError
        If it is neither; the message is that of the daily table unless it has several readings a day.
    """
    from chillplan.weather.read import read_weather

    try:
        histories = read_weather(paths, units=units)
    except InputError as refusal:
        try:
            return _days_of_logger(paths, units)
        except InputError as error:
            several = any("several hours a day" in problem for problem in refusal.problems)
            raise (error if several else refusal) from error
    if len(histories) > 1:
        raise InputError(f"the readings hold {len(histories)} places: give the file of one thermometer")
    return histories[0]


def _days_of_logger(paths: Sequence[Path], units: str | None) -> History:
    import pandas as pd

    from chillplan.journal.logger_read import read_logger
    from chillplan.weather.check import first_checks
    from chillplan.weather.history import Record, history_of

    records = [read_logger(path, _LOGGER_UNITS.get(units or "")) for path in paths]
    readings = [reading for record in records for reading in record.readings]
    if not readings:
        raise InputError("the logger's file has no readings: check the file")
    moments = pd.DatetimeIndex([one.at for one in readings])
    days = pd.Series([one.temperature for one in readings]).groupby(moments.normalize())
    counts = days.count()
    whole = counts >= max(_FEWEST, _SHARE * float(counts.median()))
    frame = pd.DataFrame({"tmin": days.min(), "tmax": days.max()})[whole].rename_axis("date").reset_index()
    record = Record(
        frame=frame,
        station="own thermometer",
        source="logger",
        file=paths[0].name,
        notes=[note for one in records for note in one.notes],
    )
    return first_checks(history_of([record]))
