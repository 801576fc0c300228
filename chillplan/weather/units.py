"""Units: one table for tables and grids; headers and attributes tell, then what is possible; doubt is refused."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.variables import VARIABLES

__all__ = [
    "FACTORS",
    "TEMPERATURE_UNITS",
    "decide_temperature_unit",
    "to_celsius",
    "to_millimetres",
    "unit_of",
    "without_sentinels",
]

# Zero point, and units to one °C (SI brochure; NIST SP 811).
_SCALES = {"celsius": (0.0, 1.0), "fahrenheit": (32.0, 1.8), "tenths": (0.0, 10.0), "kelvin": (273.15, 1.0)}
TEMPERATURE_UNITS = tuple(_SCALES)
# Factors to mm (a day), degrees and m; a kilogram of water on a square metre is 1 mm deep.
FACTORS: dict[str, dict[str, float]] = {
    "precipitation": {
        "mm": 1.0, "cm": 10.0, "m": 1000.0, "inches": 25.4, "tenths": 0.1, "kg m-2": 1.0, "kg m-2 s-1": 86400.0,
        "mm s-1": 86400.0, "mm h-1": 24.0,
    },
    "angle": {"degree": 1.0, "radian": 180.0 / math.pi},
    "height": {"m": 1.0, "km": 1000.0, "ft": 0.3048},
}  # fmt: skip
# How units are written, without blanks, dots and lines between.
_WORDS = {
    "temperature": {
        "celsius": "c °c degc degreec degreesc celsius degcelsius degreecelsius degreescelsius centigrade",
        "kelvin": "k kelvin degk degreek degreesk degreekelvin",
        "fahrenheit": "f °f degf degreef degreesf fahrenheit degfahrenheit degreefahrenheit degreesfahrenheit",
        "tenths": "tenths",
    },
    "precipitation": {
        "mm": "mm millimeter millimeters millimetre millimetres mmd-1 mmday-1 mm/day mm/d",
        "cm": "cm cmd-1 cm/day cmday-1",
        "m": "m md-1 m/day mday-1 metre meter metres meters",
        "inches": "in inch inches in/day inday-1 ind-1",
        "kg m-2": "kgm-2 kg/m2 kg/m^2 kgm-2d-1 kgm-2day-1",
        "kg m-2 s-1": "kgm-2s-1 kg/m2/s kg/m^2/s kg/(m2s)",
        "mm s-1": "mms-1 mm/s",
        "mm h-1": "mmh-1 mm/h mm/hr mmhr-1",
    },
    "angle": {"degree": "degree degrees deg °", "radian": "radian radians rad"},
    "height": {
        "m": "m metre metres meter meters",
        "km": "km kilometre kilometres kilometer kilometers",
        "ft": "ft feet foot",
    },
}
_UNITS = {kind: {word: unit for unit, words in each.items() for word in words.split()} for kind, each in _WORDS.items()}
_UNIT_NAMES = {"celsius": "°C", "fahrenheit": "°F", "tenths": "tenths of °C", "kelvin": "kelvin"}

# Numbers that stand for "missing" in one source or another. In tenths of a degree 999 and -99 may be real.
_SENTINELS = (-9999.0, -9999.9, -999.0, -999.9, -99.0, -99.9, -99.99, 999.0, 999.9, 999.99, 9999.0, 9999.9, -8888.0)
_SENTINELS_TENTHS = (-9999.0, -8888.0, 9999.0, -99999.0)

# The warmest month's mean daily maximum is below 50 °C everywhere on Earth; where seed can grow at all it is
# above 50 °F (10 °C, the tree line). Common practice, no source.
_HOTTEST_MONTH_C = 50.0
# Widest median daily range of a real place. Deserts reach 20 °C. Common practice, no source.
_WIDEST_RANGE_C = 25.0
# A part of a year does not show the warmest month; a daily range like this is then as likely in °F.
_FEWEST_MONTHS, _WIDEST_RANGE_PARTIAL_C = 7, 14.0
_KELVIN = (180.0, 345.0)
_TENTHS_OUTSIDE = (-130.0, 140.0)  # beyond every temperature in °F and °C
_LARGEST_SHARE_OUTSIDE = 0.001


def without_sentinels(values: pd.Series, tenths: bool = False) -> tuple[pd.Series, int]:
    """Set the numbers that stand for missing to NaN.

    Parameters
    ----------
    values : pandas.Series of float
        In the unit of the file.
    tenths : bool
        Whether the unit is tenths of a degree or of a millimetre, in which 999 and -99 can be real.

    Returns
    -------
    pandas.Series, int
        Values and how many were set to NaN.
    """
    numbers = values.to_numpy(dtype=float)
    hit = np.isin(np.round(numbers, 2), _SENTINELS_TENTHS if tenths else _SENTINELS) | np.isinf(numbers)
    return values.where(~hit), int(hit.sum())


def unit_of(said: object, *kinds: str) -> str | None:
    """The unit that a header or an attribute names; None where it is none of these kinds.

    Parameters
    ----------
    said : object
        For example ``degC`` or ``kg m**-2 s**-1``.
    *kinds : {'temperature', 'precipitation', 'angle', 'height'}
    """
    plain = re.sub(r"[\s_.*]", "", str(said)).lower().replace("º", "°")
    return next((_UNITS[kind][plain] for kind in kinds if plain in _UNITS[kind]), None)


def to_celsius(values: Any, unit: str) -> Any:
    """Convert temperatures of any kind of array from one of `TEMPERATURE_UNITS`; their precision is kept."""
    zero, size = _SCALES[unit]
    if zero:
        values = values - values.dtype.type(zero)
    return values / values.dtype.type(size) if size != 1.0 else values


def to_millimetres(values: Any, unit: str) -> Any:
    """Convert a depth of water or snow of any kind of array; ``unit`` as in `FACTORS`."""
    factor = FACTORS["precipitation"][unit]
    return values * values.dtype.type(factor) if factor != 1.0 else values


def decide_temperature_unit(
    rows: pd.DataFrame, stated: str | None, asked: str | None, three_units: bool, file: str
) -> tuple[str, str]:
    """The unit of the temperature columns.

    Parameters
    ----------
    rows : pandas.DataFrame
        Columns ``date``, ``tmin``, ``tmax`` in the unit of the file.
    stated : str or None
        Unit in the header.
    asked : str or None
        Unit the user passed.
    three_units : bool
        Whether the format is known to come in °C, °F and tenths (GHCN-Daily tables): then the range decides.
    file : str
        File name, for messages.

    Returns
    -------
    str, str
        Unit, and the note for the provenance.

    Raises
    ------
    InputError
        If header and option disagree, the range is impossible in the unit, or no unit is clear.
    """
    if asked is not None and asked not in TEMPERATURE_UNITS:
        raise InputError(f"unit {quoted(asked)} is not known: use one of {', '.join(TEMPERATURE_UNITS)}")
    if asked and stated and asked != stated:
        raise InputError(
            f"the header of {quoted(file)} says {_UNIT_NAMES[stated]} but {asked} was asked for: "
            "correct the header or leave the option out"
        )
    unit = asked or stated
    if unit:
        _must_be_possible(rows, unit, file, "the header says" if stated else "the option says")
        return unit, f"Temperatures are in {_UNIT_NAMES[unit]}, as {'the header says' if stated else 'asked'}."
    likely = _likely_unit(rows)
    if likely == "celsius":
        _must_be_possible(rows, "celsius", file, "no unit is stated, so the values were taken as")
        return "celsius", "Temperatures are taken as °C: no unit is stated and the range fits."
    if likely in {"fahrenheit", "tenths"} and three_units:
        return likely, f"Temperatures are taken as {_UNIT_NAMES[likely]}: the range fits no other unit of this format."
    raise InputError(_refusal(rows, likely, file))


def _likely_unit(rows: pd.DataFrame) -> str:
    """``celsius``, ``fahrenheit``, ``tenths``, ``kelvin`` or ``doubt``."""
    tmin, tmax = rows["tmin"].to_numpy(dtype=float), rows["tmax"].to_numpy(dtype=float)
    low, high = np.nanquantile(tmin, 0.005), np.nanquantile(tmax, 0.995)
    if low > _KELVIN[0] and high < _KELVIN[1] and high - low < 120.0:
        return "kelvin"
    if low < _TENTHS_OUTSIDE[0] or high > _TENTHS_OUTSIDE[1]:
        return "tenths"
    months = rows["tmax"].groupby(rows["date"].dt.month).mean()
    spread = float(np.nanmedian(tmax - tmin)) if np.isfinite(tmax - tmin).any() else 0.0
    if months.max() > _HOTTEST_MONTH_C:
        return "fahrenheit"
    partial = months.notna().sum() < _FEWEST_MONTHS and spread > _WIDEST_RANGE_PARTIAL_C
    if spread > _WIDEST_RANGE_C or high > VARIABLES["tmax"].high or partial:
        return "doubt"
    return "celsius"


def _refusal(rows: pd.DataFrame, likely: str, file: str) -> str:
    worst = rows.iloc[int(np.nanargmax(rows["tmax"].to_numpy(dtype=float)))]
    value = f"tmax {worst['tmax']:g} on {worst['date']:%Y-%m-%d} in {quoted(file)}"
    if likely == "kelvin":
        return f"{value} looks like kelvin: convert the file to °C, or name the columns tmin_k and tmax_k"
    if likely == "tenths":
        return (
            f"{value} is outside -89.4 to 57.7 °C: it looks like tenths of a degree; "
            "pass --weather-units tenths or convert it"
        )
    if likely == "fahrenheit":
        return (
            f"{value} is outside -89.4 to 57.7 °C: the column looks like Fahrenheit; "
            "pass --weather-units fahrenheit or convert it"
        )
    if worst["tmax"] > VARIABLES["tmax"].high:
        return f"{value} is outside -89.4 to 57.7 °C while most values fit: the unit seems to change; use one unit"
    return f"{value} fits no unit for certain: pass --weather-units celsius, fahrenheit or tenths"


def _must_be_possible(rows: pd.DataFrame, unit: str, file: str, because: str) -> None:
    """Refuse when more than a few values lie outside the world records in this unit."""
    outside = {}
    for name in ("tmax", "tmin"):
        celsius = to_celsius(rows[name], unit).to_numpy(dtype=float)
        outside[name] = (celsius < VARIABLES[name].low) | (celsius > VARIABLES[name].high)
    count = int(sum(mask.sum() for mask in outside.values()))
    if count <= max(3, _LARGEST_SHARE_OUTSIDE * 2 * len(rows)):
        return
    name = "tmax" if outside["tmax"].any() else "tmin"
    row = rows.iloc[int(outside[name].argmax())]
    likely = _likely_unit(rows)
    if because.startswith("no unit"):
        raise InputError(_refusal(rows, likely if likely != "celsius" else "doubt", file))
    raise InputError(
        f"{name} {row[name]:g} on {row['date']:%Y-%m-%d} in {quoted(file)} is impossible in {_UNIT_NAMES[unit]}, "
        f"and {count} values are: {because} {_UNIT_NAMES[unit]}; correct the unit"
    )
