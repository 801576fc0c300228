"""Place, clock and files of the weather commands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from chillplan.cli.site_file import write_site_table
from chillplan.cli.values import number
from chillplan.errors import InputError, Problems, quoted
from chillplan.site import Site, read_site

if TYPE_CHECKING:
    from chillplan.weather.get import Fetching

__all__ = ["asked_place", "fetching", "write_tie", "written"]


def asked_place(
    site: Path | None, latitude: str | None, longitude: str | None, elevation: str | None, problems: Problems
) -> Site:
    """The place asked for; raises every problem found so far.

    Raises
    ------
    InputError
    """
    named: Site | None = None
    if site is not None:
        try:
            named = read_site(site)
        except InputError as error:
            problems.extend(error)
    north = number(problems, "--latitude", latitude, -90, 90, "degrees")
    east = number(problems, "--longitude", longitude, -180, 180, "degrees")
    height = number(problems, "--elevation", elevation, -450, 8850, "m")
    if named is None and site is None:
        for option, given in (("--latitude", latitude), ("--longitude", longitude)):
            if given is None:
                problems.add(f"{option} is missing: give the place in degrees, or --site FILE")
    problems.raise_if_any()
    return Site(
        latitude=north if north is not None else (named.latitude if named else 0.0),
        longitude=east if east is not None else (named.longitude if named else 0.0),
        elevation=height if height is not None else (named.elevation if named else None),
        name=named.name if named else "the site",
    )


def fetching(
    progress: Callable[[int, int, str], None],
    offline: bool = False,
    refresh: bool = False,
    with_model: bool = False,
    must_store: bool = False,
    first_year: int | None = None,
) -> Fetching:
    """How to fetch, now."""
    from chillplan.weather.get import Fetching

    if offline and refresh:
        raise InputError("--offline and --refresh exclude each other: leave one out")
    return Fetching(
        now=datetime.now(UTC),
        offline=offline,
        refresh=refresh,
        with_model=with_model,
        must_store=must_store,
        first_year=first_year,
        progress=progress,
    )


def written(folder: Path, name: str, text: str) -> str:
    """Write a file into a folder that is made where it is missing; says where.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"{quoted(folder / name)} cannot be written: {error.strerror}; choose another folder"
        ) from error
    return f"Written: {folder / name}"


def write_tie(path: Path, coefficients: Mapping[str, float]) -> Path:
    """Put the table ``[tie]`` into a site file; all else in it stays as it is.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    return write_site_table(path, "tie", coefficients)
