"""Units of a grid: told by its attributes, never guessed."""

from __future__ import annotations

import math
import re

__all__ = [
    "PRECIPITATION_UNITS",
    "TEMPERATURE_UNITS",
    "angle_factor",
    "height_factor",
    "precipitation_factor",
    "temperature_scale",
]

# Factor and offset to °C.
TEMPERATURE_UNITS: dict[str, tuple[float, float]] = {
    "°C": (1.0, 0.0),
    "K": (1.0, -273.15),
    "°F": (5.0 / 9.0, -160.0 / 9.0),
}
# Factor to mm a day.
PRECIPITATION_UNITS: dict[str, float] = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "inch": 25.4,
    "kg m-2": 1.0,
    "kg m-2 s-1": 86400.0,
    "mm s-1": 86400.0,
    "mm h-1": 24.0,
}

_TEMPERATURE_WORDS = {
    "°C": {"c", "°c", "degc", "degreec", "degreesc", "celsius", "degcelsius", "degreecelsius", "degreescelsius"},
    "K": {"k", "kelvin", "degk", "degreek", "degreesk", "degreekelvin"},
    "°F": {"f", "°f", "degf", "degreef", "degreesf", "fahrenheit", "degreefahrenheit", "degreesfahrenheit"},
}
_PRECIPITATION_WORDS = {
    "mm": {"mm", "millimeter", "millimeters", "millimetre", "millimetres", "mmd-1", "mmday-1", "mm/day", "mm/d"},
    "cm": {"cm", "cmd-1", "cm/day", "cmday-1"},
    "m": {"m", "md-1", "m/day", "mday-1", "metre", "meter", "metres", "meters"},
    "inch": {"in", "inch", "inches", "in/day", "inday-1", "ind-1"},
    "kg m-2": {"kgm-2", "kg/m2", "kg/m^2", "kgm-2d-1", "kgm-2day-1", "kgm**-2"},
    "kg m-2 s-1": {"kgm-2s-1", "kg/m2/s", "kg/m^2/s", "kg/(m2s)", "kgm**-2s**-1"},
    "mm s-1": {"mms-1", "mm/s"},
    "mm h-1": {"mmh-1", "mm/h", "mm/hr", "mmhr-1"},
}

_ANGLE_WORDS = {"degree": {"degree", "degrees", "deg", "°"}, "radian": {"radian", "radians", "rad"}}
_HEIGHT_WORDS = {
    "m": {"m", "metre", "metres", "meter", "meters"},
    "km": {"km", "kilometre", "kilometres", "kilometer", "kilometers"},
    "ft": {"ft", "feet", "foot"},
}
# Factors to degrees and to metres (the foot after NIST SP 811).
_ANGLES = {"degree": 1.0, "radian": 180.0 / math.pi}
_HEIGHTS = {"m": 1.0, "km": 1000.0, "ft": 0.3048}


def temperature_scale(unit: object) -> tuple[float, float] | None:
    """Factor and offset that turn a temperature unit into °C; None where the unit is not one of temperature."""
    name = _named(unit, _TEMPERATURE_WORDS)
    return TEMPERATURE_UNITS[name] if name else None


def precipitation_factor(unit: object) -> float | None:
    """Factor that turns a unit of precipitation into mm a day; None where the unit is not known."""
    name = _named(unit, _PRECIPITATION_WORDS)
    return PRECIPITATION_UNITS[name] if name else None


def angle_factor(unit: object) -> float | None:
    """Factor that turns a unit of angle into degrees; None where the unit is not known."""
    name = _named(unit, _ANGLE_WORDS)
    return _ANGLES[name] if name else None


def height_factor(unit: object) -> float | None:
    """Factor that turns a unit of height into metres; None where the unit is not known."""
    name = _named(unit, _HEIGHT_WORDS)
    return _HEIGHTS[name] if name else None


def _named(unit: object, words: dict[str, set[str]]) -> str | None:
    plain = re.sub(r"[\s_.*]", "", str(unit)).lower().replace("º", "°")
    return next((name for name, known in words.items() if plain in known), None)
