"""Reads weather tables with one row a day: GHCN-Daily tables, plain CSV, parquet; one station or many."""

from __future__ import annotations

import io
from typing import Any

import pandas as pd

from chillplan.errors import InputError, counted, quoted
from chillplan.weather.history import Record
from chillplan.weather.read_columns import Column, columns_of, dates_of, is_noaa_table
from chillplan.weather.units import decide_temperature_unit, to_celsius, to_millimetres, without_sentinels

__all__ = ["read_parquet_table", "read_text_table"]

MISSING_WORDS = ["", "NA", "N/A", "na", "nan", "NaN", "null", "NULL", "None", "M", "-", "--", ".", "missing", "ND"]
NOAA_LICENCE = "NOAA, open data; some stations under World Meteorological Organization Resolution 40"
_HEADER_WITHIN = 60
_A_YEAR = 365  # [day]
# Rain below which mm are doubted where no unit is stated: 100 in. are 2,540 mm. Common practice, no source. [mm]
_LEAST_YEAR, _LEAST_DAY = 100.0, 12.0
_WATER = ("precipitation", "snow_depth", "new_snow")
_LARGEST = {"latitude": 90.0, "longitude": 180.0, "elevation": 9000.0}
_PLACE = ("station", "station_name", "latitude", "longitude", "elevation")


def read_text_table(text: str, file: str, units: str | None = None) -> list[Record]:
    """Read a table from text.

    Parameters
    ----------
    text : str
        Whole file; comma, semicolon, tab or blanks between columns; lines before the header are passed over.
    file : str
        File name, for messages and provenance.
    units : str or None
        Unit of temperature the user passed.

    Returns
    -------
    list of Record
        One a station.

    Raises
    ------
    InputError
        If no header with date, minimum and maximum is found, or a value is not a number.
    """
    line, separator, headers = _header(text, file)
    columns = columns_of(headers)
    wanted = {column.header for column in columns.values()} | set(_flag_headers(headers, columns).values())
    as_text = {columns[name].header for name in ("date", "station", "station_name") if name in columns}
    try:
        table = pd.read_csv(
            io.StringIO(text),
            sep=separator,
            skiprows=line,
            header=0,
            names=headers,
            usecols=sorted(wanted),
            dtype=dict.fromkeys(as_text, "str"),
            na_values=MISSING_WORDS,
            skipinitialspace=True,
            low_memory=False,
            index_col=False,
        )
    except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError) as error:
        raise InputError(f"{quoted(file)} is not a regular table: {_one_line(error)}; save it again as CSV") from error
    return _records(table, headers, file, units, "table")


def read_parquet_table(content: bytes, file: str, units: str | None = None) -> list[Record]:
    """Read a table from the bytes of a parquet file; parameters, result and errors as `read_text_table`."""
    import pyarrow
    import pyarrow.parquet

    try:
        source = pyarrow.parquet.ParquetFile(io.BytesIO(content))
        headers = list(source.schema_arrow.names)
        _need(headers, file)
        wanted = [column.header for column in columns_of(headers).values()]
        table = source.read(columns=wanted).to_pandas(ignore_metadata=True)
    except (pyarrow.ArrowException, OSError) as error:
        raise InputError(f"{quoted(file)} is a damaged parquet file: {_one_line(error)}; fetch it again") from error
    return _records(table, headers, file, units, "parquet table")


def _header(text: str, file: str) -> tuple[int, str, list[str]]:
    """Line number, separator and names of the header: the first line that names date, minimum and maximum."""
    first: list[str] = []
    for number, line in enumerate(io.StringIO(text)):
        if number >= _HEADER_WITHIN:
            break
        separator = next((mark for mark in ("\t", ";", "|", ",") if mark in line), r"\s+")
        bare = line.strip().lstrip("#").strip()
        names = (
            bare.split() if separator == r"\s+" else [name.strip().strip('"').strip() for name in bare.split(separator)]
        )
        first = first or names
        if _is_complete(columns_of(names)):
            return number, separator, _unique(names)
    _need(first, file)
    raise AssertionError("unreachable: _need raises")  # pragma: no cover


def _is_complete(columns: dict[str, Column]) -> bool:
    dated = (
        "date" in columns
        or {"year", "month", "day_of_month"} <= set(columns)
        or {"year", "day_of_year"} <= set(columns)
    )
    return dated and {"tmin", "tmax"} <= set(columns)


def _need(headers: list[str], file: str) -> None:
    columns = columns_of(headers)
    if _is_complete(columns):
        return
    dated = "date" in columns or "year" in columns
    lacking = [
        name for name, there in (("date", dated), ("tmin", "tmin" in columns), ("tmax", "tmax" in columns)) if not there
    ]
    shown = ", ".join(quoted(header, 20) for header in headers[:8])
    raise InputError(
        f"{quoted(file)} is not a weather file that can be read: no column for {', '.join(lacking) or 'the day'} "
        f"(it begins with {shown}); give a table with the columns date, tmin and tmax, a GHCN-Daily file "
        "or USCRN daily files"
    )


def _unique(names: list[str]) -> list[str]:
    seen: dict[str, int] = {}
    result = []
    for name in names:
        seen[name] = seen.get(name, 0) + 1
        result.append(name if seen[name] == 1 else f"{name} #{seen[name]}")
    return result


def _flag_headers(headers: list[str], columns: dict[str, Column]) -> dict[str, str]:
    """Headers of the columns that carry the source's quality flags, by variable."""
    upper = {header.upper(): header for header in headers}
    found = {}
    for variable in ("tmin", "tmax"):
        for ending in ("_ATTRIBUTES", "_QFLAG", "_QUALITY_FLAG"):
            name = columns[variable].header.upper() + ending if variable in columns else ""
            if name in upper:
                found[variable] = upper[name]
    return found


def _records(table: pd.DataFrame, headers: list[str], file: str, units: str | None, kind: str) -> list[Record]:
    columns = columns_of(headers)
    if table.empty:
        raise InputError(f"{quoted(file)} has a header but no rows: nothing to read")
    rows = pd.DataFrame({"date": dates_of(table, columns, file)})
    for name in _PLACE:
        if name in columns:
            rows[name] = table[columns[name].header]
    kept = _kept_columns(columns)
    for name, column in kept.items():
        rows[name] = _as_numbers(table[column.header], column.header, file)
    for variable, header in _flag_headers(headers, columns).items():
        rows[f"{variable}_failed"] = _failed(table[header], header) if header in table else False
    noaa = is_noaa_table(headers)
    notes = _house_units(rows, kept, units, noaa, file)
    soil = kept["soil_temperature"].depth_cm if "soil_temperature" in kept else None
    source, licence = _origin(headers, kind)
    return [
        Record(
            frame=group.drop(columns=[name for name in _PLACE if name in group]),
            station=name,
            source=source,
            licence=licence,
            file=file,
            soil_depth_cm=soil,
            notes=list(notes),
            **_place(group, file),
        )
        for name, group in _by_station(rows, file)
    ]


def _origin(headers: list[str], kind: str) -> tuple[str, str]:
    """Source and licence in words, as far as the headers tell."""
    if is_noaa_table(headers):
        return "GHCN-Daily table, one row a day", NOAA_LICENCE
    if {"wban", "wbanno"} & {header.lower() for header in headers}:
        return f"U.S. Climate Reference Network, {kind}", "public domain (NOAA)"
    return kind, "not stated"


def _kept_columns(columns: dict[str, Column]) -> dict[str, Column]:
    """Columns with values, by name in the history; of several soil depths 5 cm is the main one, else the shallowest."""
    kept = {}
    for column in columns.values():
        if column.variable in {"tmin", "tmax", *_WATER, "solar_radiation", "surface_temperature"}:
            kept[column.variable] = column
        elif column.depth_cm is not None:
            depths = [other.depth_cm for other in columns.values() if other.variable == column.variable]
            main = 5.0 if 5.0 in depths else min(depth for depth in depths if depth is not None)
            kept[column.variable if column.depth_cm == main else f"{column.variable}_{column.depth_cm:g}cm"] = column
    return kept


def _as_numbers(values: pd.Series, header: str, file: str) -> pd.Series:
    if pd.api.types.is_numeric_dtype(values) and not pd.api.types.is_bool_dtype(values):
        return values.astype("float64")
    text = values.astype("str").str.strip().fillna("nan")
    text = text.where(~text.isin([*MISSING_WORDS, "<NA>"]), "nan")
    # "T" is a trace of rain or snow: less than can be measured (GHCN-Daily and local climatological data).
    numbers = pd.to_numeric(text.where(text != "T", "0").str.replace(",", ".", regex=False), errors="coerce")
    wrong = numbers.isna() & (text != "nan")
    if wrong.any():
        row = int(wrong.argmax()) + 1
        raise InputError(
            f"{quoted(text[wrong].iloc[0])} in column {quoted(header)}, data row {row} of {quoted(file)} is not a "
            "number: correct it or leave it blank"
        )
    return numbers.astype("float64")


def _failed(flags: pd.Series, header: str) -> pd.Series:
    """Where the source's own quality flag is set. Attributes are "measurement flag,quality flag,source flag"."""
    text = pd.Series(["" if pd.isna(flag) else str(flag) for flag in flags], index=flags.index, dtype="str")
    if header.upper().endswith("_ATTRIBUTES"):
        text = text.str.split(",").str[1].fillna("")
    return text.str.strip() != ""


def _house_units(rows: pd.DataFrame, kept: dict[str, Column], units: str | None, noaa: bool, file: str) -> list[str]:
    """Convert the columns in place and say what was decided."""
    stated = {kept[name].unit for name in ("tmin", "tmax")} - {None}
    if len(stated) > 1:
        raise InputError(f"the headers of {quoted(file)} give tmin and tmax in different units: use one unit")
    header_unit = next(iter(stated), None)
    sample = rows[["date"]].assign(**{name: without_sentinels(rows[name])[0] for name in ("tmin", "tmax")})
    if sample["tmin"].isna().all() or sample["tmax"].isna().all():
        raise InputError(f"{quoted(file)} has no temperatures: every tmin or every tmax is missing")
    unit, note = decide_temperature_unit(sample, header_unit, units, noaa, file)
    missing = 0
    for name, column in kept.items():
        rows[name], count = without_sentinels(rows[name], tenths="tenths" in {unit, column.unit})
        missing += count
    notes = [note]
    if missing:
        notes.append(f"{counted(missing, 'value')} that stand for missing (such as -9999) set to missing.")
    for name, column in kept.items():
        if name in {"tmin", "tmax"}:
            rows[name] = to_celsius(rows[name], unit)
        elif name.startswith(("soil_temperature", "surface_temperature")):
            rows[name] = to_celsius(rows[name], column.unit or "celsius")
        elif name in _WATER:
            water = column.unit or _water_unit(name, unit)
            rows[name] = to_millimetres(rows[name], water)
            if column.unit is None and name == "precipitation" and water == "mm":
                _refuse_inches(rows, column.header, file)
            if column.unit is None:
                notes.append(
                    f"{name.replace('_', ' ').capitalize()} is taken as {water.replace('tenths', 'tenths of a mm')}."
                )
    return notes


def _refuse_inches(rows: pd.DataFrame, header: str, file: str) -> None:
    """Refuse rain without a unit that is too little for mm: a year of less than 100, and never a day of 12."""
    rain = rows["precipitation"].dropna()
    if len(rain) < _A_YEAR or not 0.0 < rain.mean() * _A_YEAR < _LEAST_YEAR or rain.max() >= _LEAST_DAY:
        return
    raise InputError(
        f"{header} in {quoted(file)} comes to {rain.mean() * _A_YEAR:.1f} a year, {rain.max():g} on the wettest day: "
        "in mm that is a desert, in inches it is usual; name the column precipitation_in or precipitation_mm"
    )


def _water_unit(name: str, temperature_unit: str) -> str:
    """Unit of rain and snow that goes with a unit of temperature (GHCN-Daily: only rain comes in tenths)."""
    if temperature_unit == "fahrenheit":
        return "inches"
    return "tenths" if temperature_unit == "tenths" and name == "precipitation" else "mm"


def _by_station(rows: pd.DataFrame, file: str) -> list[tuple[str, pd.DataFrame]]:
    if "station" not in rows and "station_name" not in rows:
        return [(file.rsplit(".", 1)[0], rows)]
    key = "station" if "station" in rows else "station_name"
    groups = [(_full_name(str(name), group), group) for name, group in rows.groupby(key, observed=True, sort=True)]
    if not groups:
        raise InputError(f"{quoted(file)} has a station column without names: fill it in or remove it")
    return groups


def _full_name(identifier: str, rows: pd.DataFrame) -> str:
    """Identifier and, where the table has one, the name of the station."""
    names = list(rows["station_name"].dropna().head(1)) if {"station", "station_name"} <= set(rows) else []
    return f"{identifier} {names[0]}" if names else identifier


def _place(rows: pd.DataFrame, file: str) -> dict[str, Any]:
    place: dict[str, Any] = {}
    for name in ("latitude", "longitude", "elevation"):
        if name in rows:
            values = pd.to_numeric(rows[name], errors="coerce").dropna()
            place[name] = float(values.iloc[0]) if len(values) else None
            if place[name] is not None and abs(place[name]) > _LARGEST[name]:
                raise InputError(
                    f"{name} {place[name]:g} in {quoted(file)} is outside {-_LARGEST[name]:g} to {_LARGEST[name]:g}: "
                    "check the column"
                )
    return place


def _one_line(error: Exception) -> str:
    return (
        str(error).strip().splitlines()[0].removeprefix("Error tokenizing data. C error: ")
        if str(error)
        else "unreadable"
    )
