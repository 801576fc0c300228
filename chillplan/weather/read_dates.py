"""Turns the dates of a table into days: one format for the whole column, or a refusal."""

from __future__ import annotations

import re

import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.weather.read_columns import Column

__all__ = ["dates_of"]

# Format and how it is called in a message. Slashes may be month first or day first: told by a number above 12.
_FORMATS = (
    ("%Y-%m-%d", "year-month-day"),
    ("%Y%m%d", "yearmonthday"),
    ("%Y/%m/%d", "year/month/day"),
    ("%m/%d/%Y", "month/day/year"),
    ("%d/%m/%Y", "day/month/year"),
    ("%d.%m.%Y", "day.month.year"),
    ("%m-%d-%Y", "month-day-year"),
    ("%d-%m-%Y", "day-month-year"),
    ("%d %b %Y", "day month-name year"),
    ("%d-%b-%Y", "day-month name-year"),
)
_SPREADSHEET = re.compile(r"[1-7]\d{4}(\.0)?")
_SHORT_YEAR = re.compile(r"\d{1,2}[/.-]\d{1,2}[/.-]\d{2}")
_EARLIEST, _LATEST = 1700, 2200


def dates_of(table: pd.DataFrame, columns: dict[str, Column], file: str) -> pd.Series:
    """Dates of the rows.

    Parameters
    ----------
    table : pandas.DataFrame
        Date columns as text or as dates; year, month and day columns as numbers.
    columns : dict of str to Column
        As from `columns_of`.
    file : str
        File name, for messages.

    Returns
    -------
    pandas.Series of datetime64, midnight

    Raises
    ------
    InputError
        If a date does not exist, the dates are in two formats, the order of day and month cannot be
        told, or the rows are not daily.
    """
    dates: pd.Series
    if "date" in columns:
        dates = _of_one_column(table[columns["date"].header], file)
    else:
        dates = _of_split_columns(table, columns, file)
    years = dates.dt.year
    odd = dates[(years < _EARLIEST) | (years > _LATEST)]
    if len(odd):
        raise InputError(f"date {str(odd.iloc[0])[:10]} in {quoted(file)} cannot be right: check the date column")
    return dates


def _of_one_column(column: pd.Series, file: str) -> pd.Series:
    if pd.api.types.is_datetime64_any_dtype(column):
        if getattr(column.dt, "tz", None) is not None:
            column = column.dt.tz_localize(None)
        if column.isna().any():
            row = int(column.isna().argmax()) + 1
            raise InputError(f"data row {row} of {quoted(file)} has no date: remove the row")
        return _days_only(column, file)
    text = column.astype("str").str.strip()
    sample = str(text.iloc[0])
    if len(sample) > 10 and sample[10:11] in {"T", " "}:
        clock = text.str.slice(11, 16)
        if clock.nunique() > 1:
            raise InputError(f"{quoted(file)} has several hours a day: make one row a day with its minimum and maximum")
        text = text.str.slice(0, 10)
    return _parsed(text, file)


def _days_only(column: pd.Series, file: str) -> pd.Series:
    days: pd.Series = column.dt.normalize()
    if (column - days).nunique() > 1:
        raise InputError(f"{quoted(file)} has several hours a day: make one row a day with its minimum and maximum")
    return days


def _parsed(text: pd.Series, file: str) -> pd.Series:
    fits = []
    best = pd.Series(pd.NaT, index=text.index)
    best_name = ""
    for form, name in _FORMATS:
        if not _may_fit(str(text.iloc[0]), form) and not (
            text.str.len().iloc[-1] and _may_fit(str(text.iloc[-1]), form)
        ):
            continue
        dates = pd.to_datetime(text, format=form, errors="coerce")
        if dates.notna().all():
            fits.append((dates, name))
        elif dates.notna().sum() > best.notna().sum():
            best, best_name = dates, name
    if len(fits) > 1 and not (fits[0][0] == fits[1][0]).all():
        return _daily_of_the_two(fits, file)
    if fits:
        return fits[0][0]
    raise InputError(_complaint(text, best, best_name, file))


def _may_fit(sample: str, form: str) -> bool:
    if form == "%Y%m%d":
        return sample.isdigit() and len(sample) == 8
    separator = form[2]
    parts = sample.split(separator)
    return len(parts) == 3 and len(parts[0 if form.startswith("%Y") else 2]) == 4


def _daily_of_the_two(fits: list[tuple[pd.Series, str]], file: str) -> pd.Series:
    """Month first or day first: right is the one in which one row follows the other by a day."""
    steps = [(dates.diff().dt.days == 1).mean() for dates, _ in fits]
    if max(steps) > 0.5 and min(steps) < 0.5:
        return fits[steps.index(max(steps))][0]
    raise InputError(f"dates in {quoted(file)} can be {fits[0][1]} or {fits[1][1]}: write them as year-month-day")


def _complaint(text: pd.Series, best: pd.Series, best_name: str, file: str) -> str:
    if not best_name and _SPREADSHEET.fullmatch(str(text.iloc[0])):
        return (
            f"date {quoted(text.iloc[0])} in {quoted(file)} is a spreadsheet's day number: format the column as a date "
            "and save the file again"
        )
    if not best_name and _SHORT_YEAR.fullmatch(str(text.iloc[0])):
        return f"date {quoted(text.iloc[0])} in {quoted(file)} has a year of two digits: write it with four"
    if not best_name:
        return f"date {quoted(text.iloc[0])} in {quoted(file)} is in no known format: write dates as year-month-day"
    wrong = text[best.isna()]
    row, value = int(wrong.index[0]) + 1, str(wrong.iloc[0])
    if value in {"", "nan", "NaT", "None"}:
        return f"data row {row} of {quoted(file)} has no date: remove the row or write its date"
    for form, name in _FORMATS:
        if (
            name != best_name
            and _may_fit(value, form)
            and pd.notna(pd.to_datetime(value, format=form, errors="coerce"))
        ):
            return (
                f"dates in {quoted(file)} are in two formats: most are {best_name}, but data row {row} has "
                f"{quoted(value)} ({name}); write all as year-month-day"
            )
    return f"date {quoted(value)} in data row {row} of {quoted(file)} does not exist or is not {best_name}: correct it"


def _of_split_columns(table: pd.DataFrame, columns: dict[str, Column], file: str) -> pd.Series:
    year = pd.to_numeric(table[columns["year"].header], errors="coerce")
    if "month" in columns and "day_of_month" in columns:
        month = pd.to_numeric(table[columns["month"].header], errors="coerce")
        day = pd.to_numeric(table[columns["day_of_month"].header], errors="coerce")
        dates = pd.to_datetime(pd.DataFrame({"year": year, "month": month, "day": day}), errors="coerce")
    else:
        day = pd.to_numeric(table[columns["day_of_year"].header], errors="coerce")
        start = pd.to_datetime(pd.DataFrame({"year": year, "month": 1, "day": 1}), errors="coerce")
        dates = start + pd.to_timedelta(day - 1, unit="D")
        dates = dates.where((day >= 1) & (dates.dt.year == year))
    if dates.isna().any():
        row = int(dates.isna().argmax()) + 1
        raise InputError(f"data row {row} of {quoted(file)} has no such date: check its year, month and day")
    return dates
