"""Recognises the columns of a weather table by their headers, and reads its dates: one format, or a refusal."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.weather.units import unit_of

__all__ = ["Column", "column_of", "columns_of", "dates_of", "is_noaa_table"]

_FILLERS = {"deg", "degree", "degrees", "of", "day"}  # "day" as in mm/day

_ALIASES = {
    "date": "date day dates datetime time timestamp lstdate obsdate observationdate yyyymmdd valid localdate messdatum",
    "year": "year yr yyyy",
    "month": "month mo mon mm",
    "day_of_month": "dy dd dayofmonth",
    "day_of_year": "dayofyear doy yday julianday",
    "tmin": "tmin tn tmn mintemp mintemperature tempmin temperaturemin minimumtemperature minairtemp airtempmin "
    "airtemperaturemin minairtemperature mint temperature2mmin t2mmin tasmin dailymin dailyminimum low lowtemp "
    "tdailymin tnk mn2t tmmn minimumairtemperature dailyminimumtemperature min minimum",
    "tmax": "tmax tx tmx maxtemp maxtemperature tempmax temperaturemax maximumtemperature maxairtemp airtempmax "
    "airtemperaturemax maxairtemperature maxt temperature2mmax t2mmax tasmax dailymax dailymaximum high hightemp "
    "tdailymax txk mx2t tmmx maximumairtemperature dailymaximumtemperature max maximum",
    "precipitation": "prcp precip precipitation rain rainfall pr ppt precipitationsum pdailycalc prectotcorr prec "
    "totalprecip rsk rr tp",
    "snow_depth": "snwd snowdepth snd snowonground snowlying depthofsnow snowongrnd shktag",
    "new_snow": "snow snowfall newsnow snowfallsum",
    "solar_radiation": "solar solarmj solarmjm2 solarradiation solaraddaily srad",
    "surface_temperature": "surfacetemp surfacetemperature surtempdailyavg",
    "station": "station stationid stationname id site ghcnid stationsid climateid",
    "station_name": "name",
    "latitude": "latitude lat latitudey",
    "longitude": "longitude lon long lng longitudex",
    "elevation": "elevation elev altitude height stationelevation orog topo z",
}
_VARIABLE_OF = {alias: variable for variable, aliases in _ALIASES.items() for alias in aliases.split()}
# Names of a national service whose unit stands in its description only (Deutscher Wetterdienst, daily climate data).
_IMPLIED_UNITS = {"shktag": "cm", "rsk": "mm", "tnk": "celsius", "txk": "celsius"}
_SOIL = re.compile(r"^soil_?(temp|temperature|moisture|water)_?(?:daily_?)?_?(\d+)_?(?:cm)?(?:_(c|f|k|degc|degf))?$")
_NOT_VALUES = re.compile(r"(attributes?|flags?|qflag|mflag|sflag|source|quality)$")


@dataclass(frozen=True)
class Column:
    """One recognised column."""

    header: str  # as the file has it
    variable: str  # name of the variable, or ``date``, ``year``, ``station`` and the like
    unit: str | None = None  # unit stated by the header
    depth_cm: float | None = None  # depth of a soil column [cm]


def column_of(header: str) -> Column | None:
    """What a header stands for.

    Parameters
    ----------
    header : str
        Column header, any case, for example ``TMAX (°F)``, ``min_temp_c`` or ``soil_temp_5cm_c``.

    Returns
    -------
    Column or None
        None where the header is not known, or names a flag beside a value.
    """
    text = header.strip().strip('"').lower().replace("°", " deg ").replace("\ufeff", "")
    plain = re.sub(r"[^a-z0-9]+", "_", text).strip("_")
    if not plain or _NOT_VALUES.search(plain):
        return None
    soil = _SOIL.match(plain)
    if soil:
        kind = "soil_temperature" if soil[1].startswith("temp") else "soil_moisture"
        return Column(
            header, kind, unit_of(soil[3] or "c", "temperature") if kind == "soil_temperature" else None, float(soil[2])
        )
    unit = "tenths" if re.search(r"\b(0\.1|1/10)\b", text) else None
    words = [word for word in plain.split("_") if not (unit and word in {"0", "1", "10"})]
    while len(words) > 1 and (_unit(words[-1]) or words[-1] in _FILLERS):
        word = words.pop()
        found = _unit(word)
        unit = found if found and (unit is None or found == "tenths") else unit
    name = "".join(words)
    variable = _VARIABLE_OF.get(name)
    return Column(header, variable, unit or _IMPLIED_UNITS.get(name)) if variable else None


def _unit(word: str) -> str | None:
    return unit_of(word, "temperature", "precipitation")


def columns_of(headers: Sequence[str]) -> dict[str, Column]:
    """The column to use for each variable.

    Parameters
    ----------
    headers : sequence of str

    Returns
    -------
    dict of str to Column
        By variable; soil columns by ``soil_temperature@5``. Where two columns state the same variable, the
        one in °C or mm wins, then the first. A table with year and month columns reads ``day`` as day of month.
    """
    found: dict[str, Column] = {}
    known = [column for column in map(column_of, headers) if column]
    split_dates = {"year", "month"} <= {column.variable for column in known}
    for column in known:
        variable = column.variable
        if variable == "date" and split_dates and column.header.strip().lower() in {"day", "dd", "dy"}:
            variable = "day_of_month"
        if column.depth_cm is not None:
            variable = f"{variable}@{column.depth_cm:g}"
        if variable not in found or (
            column.unit in {"celsius", "mm"} and found[variable].unit not in {"celsius", "mm"}
        ):
            found[variable] = column
    return found


def is_noaa_table(headers: Sequence[str]) -> bool:
    """Whether the headers are those of a GHCN-Daily table with one row a day."""
    names = {header.strip().strip('"') for header in headers}
    return {"TMAX", "TMIN"} <= names and bool(names & {"PRCP", "SNOW", "SNWD", "STATION", "TAVG", "NAME"})


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
