"""Recognises the columns of a weather table by their headers: which variable, which unit, which depth."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from chillplan.weather.units import unit_of

__all__ = ["Column", "column_of", "columns_of", "is_noaa_table"]

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
    """One recognised column.

    Attributes
    ----------
    header : str
        As the file has it.
    variable : str
        Name of the variable, or ``date``, ``year``, ``station`` and the like.
    unit : str or None
        Unit stated by the header.
    depth_cm : float or None
        Depth of a soil column. [cm]
    """

    header: str
    variable: str
    unit: str | None = None
    depth_cm: float | None = None


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
