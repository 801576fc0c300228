"""The site: where the seed lies."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from chillplan.errors import InputError, Problems, quoted

__all__ = ["COVERS", "TERRAINS", "Site", "read_site", "read_toml"]

COVERS = ("bare", "short grass", "tall grass", "leaf mulch", "straw mulch", "tree canopy")
TERRAINS = ("valley floor", "slope", "crest")
LIMITS = {
    "latitude": (-90.0, 90.0, "give degrees, south negative"),
    "longitude": (-180.0, 180.0, "give degrees, west negative"),
    "elevation": (-450.0, 8850.0, "give metres above sea level"),
    "slope": (0.0, 60.0, "give degrees from level"),
    "aspect": (0.0, 360.0, "give degrees clockwise from north"),
    "depth_cm": (0.5, 20.0, "give the sowing depth in cm"),
}


@dataclass(frozen=True)
class Site:
    """A place where seed is sown.

    Attributes
    ----------
    latitude, longitude : float
        Decimal degrees, north and east positive. [degrees]
    name : str
        What the user calls it.
    elevation : float or None
        Height above sea level; None where it is not known. [m]
    slope : float
        Steepness. [degrees]
    aspect : float
        Direction the slope faces, clockwise from north. [degrees]
    cover : str
        One of `COVERS`.
    terrain : str
        One of `TERRAINS`: decides how cold air gathers.
    depth_cm : float
        Sowing depth. [cm]
    time_zone : str or None
        IANA name; None means that local solar time is used.
    calibration : mapping of str to float
        Parameters fitted to the user's own thermometer; empty where there is none.
    tie : mapping of str to float
        Offsets between the station and the user's own readings; empty where there are none.
    """

    latitude: float
    longitude: float
    name: str = "unnamed site"
    elevation: float | None = None
    slope: float = 0.0
    aspect: float = 180.0
    cover: str = "short grass"
    terrain: str = "slope"
    depth_cm: float = 2.0
    time_zone: str | None = None
    calibration: Mapping[str, float] = field(default_factory=dict)
    tie: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        problems = Problems()
        _check_limits(problems, {entry.name: getattr(self, entry.name) for entry in fields(self)})
        problems.raise_if_any()

    @property
    def southern(self) -> bool:
        """Whether the site lies south of the equator."""
        return self.latitude < 0.0


def read_site(path: Path) -> Site:
    """Read a site from a TOML file.

    Parameters
    ----------
    path : pathlib.Path
        File with the names of `Site` as keys, at the top level or in a table ``[site]``;
        optional tables ``[calibration]`` and ``[tie]``. The table ``[grower]`` is the command line's.

    Raises
    ------
    InputError
        If the file cannot be read, is not TOML, or holds unknown or impossible values.
    """
    content = read_toml(path)
    content.pop("grower", None)
    values: dict[str, Any] = dict(content.pop("site", content))
    for table in ("calibration", "tie"):
        if table in content:
            values[table] = content[table]
    return _site_of(values, path)


def read_toml(path: Path) -> dict[str, Any]:
    """The content of a site file.

    Raises
    ------
    InputError
        If the file cannot be read or is not TOML.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(f"site file {quoted(path)} cannot be read: {error.strerror}; check the path") from error
    except UnicodeDecodeError as error:
        raise InputError(f"site file {quoted(path)} is not text: give a TOML file") from error
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"site file {quoted(path)} is not TOML: {error}") from error


def _site_of(values: dict[str, Any], path: Path) -> Site:
    problems = Problems()
    known = {entry.name: entry for entry in fields(Site)}
    for key in sorted(set(values) - set(known)):
        problems.add(
            f"{quoted(key)} in {quoted(path)} is not known: use {', '.join(known)}; records, lots, station, units and "
            "other answers of yours stand under [grower]"
        )
    for key in ("latitude", "longitude"):
        if key not in values:
            problems.add(f"{key} is missing in {quoted(path)}: add a line such as {key} = 44.1")
    for key in ("latitude", "longitude", "elevation", "slope", "aspect", "depth_cm"):
        if key in values and (isinstance(values[key], bool) or not isinstance(values[key], int | float)):
            problems.add(f"{key} {quoted(values[key])} in {quoted(path)} is not a number: write {key} = 12.5")
    for key in ("name", "cover", "terrain", "time_zone"):
        if key in values and not isinstance(values[key], str):
            problems.add(f"{key} {quoted(values[key])} in {quoted(path)} is not text: put it in quotes")
    for key in ("calibration", "tie"):
        if not isinstance(values.get(key, {}), Mapping):
            problems.add(f"{key} in {quoted(path)} is not a table: write it under [{key}]")
        else:
            for name, value in values.get(key, {}).items():
                if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
                    problems.add(f"{quoted(name)} under [{key}] in {quoted(path)} is {quoted(value)}: write a number")
    _check_limits(problems, values)
    problems.raise_if_any()
    return Site(**values)


def _check_limits(problems: Problems, values: Mapping[str, Any]) -> None:
    """Faults of numbers out of bounds and of unknown words; what is not a number or a word is left to others."""
    for label, (low, high, mend) in LIMITS.items():
        value = values.get(label)
        if not isinstance(value, int | float) or isinstance(value, bool):
            continue
        if not (math.isfinite(value) and low <= value <= high):
            problems.add(f"{label} {value:g} is outside {low:g} to {high:g}: {mend}")
    for label, known in (("cover", COVERS), ("terrain", TERRAINS)):
        value = values.get(label, known[0])
        if isinstance(value, str) and value not in known:
            problems.add(f"{label} {quoted(value)} is not known: use one of {', '.join(known)}")
