"""What a grower reads of a table that cannot be used, or of what was done to it: every sentence whole."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.errors import InputError
from chillplan.weather.read import load_history
from tests.weather.made_weather import daily_frame

ROW = 6
"""The seventh row is the one that is spoiled."""


def days(count: int = 60) -> pd.DataFrame:
    return daily_frame("2001-03-01", "2002-12-31").head(count).astype({"date": "str"})


def spoiled(column: str, value: object, row: int = ROW, count: int = 60) -> pd.DataFrame:
    frame = days(count).astype({column: "object"})
    frame.loc[row, column] = value  # type: ignore[call-overload]
    return frame


def dated(form: str, count: int = 60) -> pd.DataFrame:
    frame = days(count)
    return frame.assign(date=pd.to_datetime(frame["date"]).dt.strftime(form))


def loaded(folder: Path, table: pd.DataFrame | str, monkeypatch: pytest.MonkeyPatch) -> tuple[str, ...]:
    """Notes of a record, read from a file in the folder where the grower stands."""
    monkeypatch.chdir(folder)
    (folder / "farm.csv").write_text(table if isinstance(table, str) else table.to_csv(index=False), encoding="utf-8")
    return load_history([Path("farm.csv")]).provenance.notes


SHAPE = "; give a table with the columns date, tmin and tmax, a GHCN-Daily file or USCRN daily files"
ORDER = "; sort the rows by date, and check that day and month are not exchanged"

REFUSED: dict[str, tuple[Callable[[], pd.DataFrame | str], str]] = {
    "a header alone": (lambda: days(0), "'farm.csv' has a header but no rows: nothing to read"),
    "a torn table": (
        lambda: 'date,tmin,tmax\n2001-01-01,"1,2\n',
        "'farm.csv' is not a regular table: EOF inside string starting at row 1; save it again as CSV",
    ),
    "a word": (
        lambda: spoiled("tmin", "cold"),
        "'cold' in column 'tmin', data row 7 of 'farm.csv' is not a number: correct it or leave it blank",
    ),
    "two units": (
        lambda: days().rename(columns={"tmin": "tmin_c", "tmax": "tmax_f"}),
        "the headers of 'farm.csv' give tmin and tmax in different units: use one unit",
    ),
    "no minimum": (
        lambda: days().assign(tmin=np.nan),
        "'farm.csv' has no temperatures: every tmin or every tmax is missing",
    ),
    "a mark for missing as every maximum": (
        lambda: days().assign(tmax=-9999),
        "'farm.csv' has no temperatures: every tmin or every tmax is missing",
    ),
    "stations without names": (
        lambda: days().assign(station=""),
        "'farm.csv' has a station column without names: fill it in or remove it",
    ),
    "a latitude off the globe": (
        lambda: days().assign(latitude=91.0),
        "latitude 91 in 'farm.csv' is outside -90 to 90: check the column",
    ),
    "a longitude off the globe": (
        lambda: days().assign(longitude=-181),
        "longitude -181 in 'farm.csv' is outside -180 to 180: check the column",
    ),
    "a height above all land": (
        lambda: days().assign(elevation=9001),
        "elevation 9001 in 'farm.csv' is outside -9000 to 9000: check the column",
    ),
    "no column for tmin": (
        lambda: days().drop(columns="tmin"),
        "'farm.csv' is not a weather file that can be read: no column for tmin (it begins with 'date', 'tmax')" + SHAPE,
    ),
    "no column for the date": (
        lambda: days().drop(columns="date"),
        "'farm.csv' is not a weather file that can be read: no column for date (it begins with 'tmin', 'tmax')" + SHAPE,
    ),
    "a year without a day": (
        lambda: days().rename(columns={"date": "year"}),
        "'farm.csv' is not a weather file that can be read: no column for the day (it begins with 'year', 'tmin', "
        "'tmax')" + SHAPE,
    ),
    "another table, of which eight headers are shown": (
        lambda: pd.DataFrame({f"c{number}": [1] for number in range(9)}),
        "'farm.csv' is not a weather file that can be read: no column for date, tmin, tmax (it begins with 'c0', 'c1', "
        "'c2', 'c3', 'c4', 'c5', 'c6', 'c7')" + SHAPE,
    ),
    "day numbers": (
        lambda: days().assign(date=[str(36951 + day) for day in range(60)]),
        "date '36951' in 'farm.csv' is a spreadsheet's day number: format the column as a date and save the file again",
    ),
    "short years": (
        lambda: dated("%d/%m/%y"),
        "date '01/03/01' in 'farm.csv' has a year of two digits: write it with four",
    ),
    "a word for a date": (
        lambda: days().assign(date="spring"),
        "date 'spring' in 'farm.csv' is in no known format: write dates as year-month-day",
    ),
    "a row without a date": (
        lambda: spoiled("date", ""),
        "data row 7 of 'farm.csv' has no date: remove the row or write its date",
    ),
    "two formats": (
        lambda: spoiled("date", "03/07/2001"),
        "dates in 'farm.csv' are in two formats: most are year-month-day, but data row 7 has '03/07/2001' "
        "(month/day/year); write all as year-month-day",
    ),
    "the 30th of February": (
        lambda: spoiled("date", "2001-02-30"),
        "date '2001-02-30' in data row 7 of 'farm.csv' does not exist or is not year-month-day: correct it",
    ),
    "days that may be months": (
        lambda: dated("%d/%m/%Y", 12).iloc[[0, 4, 8, 11]],
        "dates in 'farm.csv' can be month/day/year or day/month/year: write them as year-month-day",
    ),
    "hours": (
        lambda: days().assign(date=[f"{day}T{hour % 24:02d}:00" for hour, day in enumerate(days()["date"])]),
        "'farm.csv' has several hours a day: make one row a day with its minimum and maximum",
    ),
    "a year to come": (
        lambda: spoiled("date", "2500-03-07"),
        "date 2500-03-07 in 'farm.csv' cannot be right: check the date column",
    ),
    "the 30th of February in columns": (
        lambda: days(3).drop(columns="date").assign(year=2001, month=2, dayofmonth=[1, 2, 30]),
        "data row 3 of 'farm.csv' has no such date: check its year, month and day",
    ),
    "the day after the last of a year": (
        lambda: days(3).drop(columns="date").assign(year=2001, doy=[364, 365, 366]),
        "data row 3 of 'farm.csv' has no such date: check its year, month and day",
    ),
    "the day before the first of a year": (
        lambda: days(3).drop(columns="date").assign(year=2001, doy=[2, 1, 0]),
        "data row 3 of 'farm.csv' has no such date: check its year, month and day",
    ),
    "a mixed-up table": (
        lambda: days().iloc[[*range(30, 60), *range(30)]],
        "dates in 'farm.csv' are out of order: 2001-03-01 follows 2001-04-29" + ORDER,
    ),
    "two temperatures of one day": (
        lambda: pd.concat([days(), days(7).assign(tmin=-20.0)]).sort_values("date", kind="stable"),
        "'farm.csv' gives two different temperatures for one day: 2001-03-01, 2001-03-02, 2001-03-03, 2001-03-04, "
        "2001-03-05 and 2 more; keep one row a day",
    ),
    "nine days": (
        lambda: days(9),
        "'farm.csv' has 9 days: at least 10 are needed, and 3 winters to plan",
    ),
    "exchanged columns": (
        lambda: days().rename(columns={"tmin": "tmax", "tmax": "tmin"}),
        "tmin 4.8 and tmax -7.5 on 2001-03-01: the columns tmin and tmax are exchanged; rename them",
    ),
    "exchanged on one day of ten": (
        lambda: days().assign(tmin=lambda frame: frame["tmin"].mask(frame.index % 10 == 3, frame["tmax"] + 5.0)),
        "tmin 9.4 and tmax 4.4 on 2001-03-04: tmin is above tmax on 10% of the days; check the columns",
    ),
    "never both on one day": (
        lambda: days().assign(
            tmin=lambda frame: frame["tmin"].mask(frame.index % 2 == 0),
            tmax=lambda frame: frame["tmax"].mask(frame.index % 2 == 1),
        ),
        "'farm' has no day with both tmin and tmax: give another record",
    ),
    "a thermometer that stands still": (
        lambda: days().assign(tmin=-3.0),
        "no tmin of 'farm' can be right (60 days of tmin in runs of 20 or more equal values removed: 2001-03-01, "
        "2001-03-02, 2001-03-03 and 57 more): give another record",
    ),
    "a year of little rain": (
        lambda: days(400).assign(rain=0.1),
        "rain in 'farm.csv' comes to 36.5 a year, 0.1 on the wettest day: in mm that is a desert, in inches it is "
        "usual; name the column precipitation_in or precipitation_mm",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_used_is_told_in_one_sentence(
    case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table, words = REFUSED[case]
    with pytest.raises(InputError) as refused:
        loaded(tmp_path, table(), monkeypatch)
    assert refused.value.problems == (words,)


FILLED = "{} in gaps of at most 5 days interpolated."
NOTED: dict[str, tuple[Callable[[], pd.DataFrame | str], tuple[str, ...]]] = {
    "a plain table": (days, ()),
    "a day twice": (
        lambda: pd.concat([days(), days(1)]).sort_values("date"),
        ("1 row that repeat a day with the same values dropped.",),
    ),
    "the newest day first": (
        lambda: days()[::-1],
        ("The file runs from the newest day to the oldest; it was turned round.",),
    ),
    "marks for missing": (
        lambda: days().assign(tmin=lambda frame: frame["tmin"].mask(frame.index.isin([6, 8]), -9999.0)),
        (
            "2 values that stand for missing (such as -9999) set to missing.",
            FILLED.format("2 values"),
        ),
    ),
    "tmin above tmax on a day": (
        lambda: days(400).assign(tmin=lambda frame: frame["tmin"].mask(frame.index == 3, frame["tmax"] + 5.0)),
        ("1 day with tmin above tmax removed: 2001-03-04.", FILLED.format("2 values")),
    ),
    "hotter than anywhere": (
        lambda: spoiled("tmax", 57.8, 3, 400),
        ("1 value of tmax outside -89.4 to 57.7 °C removed: 2001-03-04.", FILLED.format("1 value")),
    ),
    "a thermometer that stood still for twenty days": (
        lambda: days(400).assign(tmin=lambda frame: frame["tmin"].mask(frame.index < 20, -8.0)),
        (
            "20 days of tmin in runs of 20 or more equal values removed: 2001-03-01, 2001-03-02, 2001-03-03 and 17 "
            "more.",
        ),
    ),
    "and one that stood still for nineteen": (
        lambda: days(400).assign(tmin=lambda frame: frame["tmin"].mask(frame.index < 19, -8.0)),
        (),
    ),
    "rain without a unit": (
        lambda: days(400).assign(precipitation=[0.0, 12.0] * 200),
        ("Precipitation is taken as mm.",),
    ),
    "rain with one": (lambda: days(400).assign(precipitation_mm=1.5), ()),
    "snow without a unit": (lambda: days(400).assign(snow_depth=10.0), ("Snow depth is taken as mm.",)),
}


@pytest.mark.parametrize("case", NOTED)
def test_what_was_done_to_a_record_is_told(case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table, notes = NOTED[case]
    taken = "Temperatures are taken as °C: no unit is stated and the range fits."
    assert loaded(tmp_path, table(), monkeypatch) == (taken, *notes)
