"""``chillplan map``: verdicts for a whole region."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli import options as opt
from chillplan.cli.catalogue_files import Wanted
from chillplan.cli.place import PlaceOptions
from chillplan.cli.streams import print_json
from chillplan.errors import DataGapError, Problems

if TYPE_CHECKING:
    import xarray as xr

    from chillplan.region.blocks import Job
    from chillplan.seeds.recipe import Species
    from chillplan.weather.grid import Grid

__all__ = ["register"]

FORMATS = ("table", "json")
MANY_TIMES = 2.0  # a grid that is read more often is worth rewriting


@dataclass(frozen=True)
class MapText:
    """What is asked of a map, as text."""

    weather: Annotated[
        tuple[Path, ...],
        opt.option("--weather", "GRID", "Grid of daily tmin, tmax (and precipitation): NetCDF or Zarr; repeatable."),
    ] = ()
    out: Annotated[Path | None, opt.option("--out", "MAP", "Map to write, ending in .nc (NetCDF) or .zarr.")] = None
    picture: Annotated[
        Path | None, opt.option("--picture", "PAGE", "Picture of the map to write, ending in .html.")
    ] = None
    years: opt.YearsOption = None
    against: Annotated[
        str | None,
        opt.option(
            "--against", "FIRST-LAST", "Other winters to compare with, FIRST-LAST; --years are then the earlier."
        ),
    ] = None
    warming: Annotated[
        str, opt.option("--warming", "DEGREES", "Degrees C added to every temperature; several with commas: 0,1.5,3.")
    ] = "0"
    accept: opt.AcceptOption = "0.8"


@dataclass(frozen=True)
class HandsText:
    """Who does the work: threads, processes or a cluster, as text."""

    scheduler: Annotated[
        str | None, opt.option("--scheduler", "ADDRESS", "Address of a dask scheduler to work on, tcp://HOST:PORT.")
    ] = None
    workers: Annotated[
        str | None, opt.option("--workers", "NUMBER", "Threads on this machine; else one a processor.")
    ] = None
    processes: Annotated[
        str | None,
        opt.option(
            "--processes", "NUMBER", "Processes on this machine instead of threads, where reading takes the time."
        ),
    ] = None


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("map")(map_region)


@opt.grouped
def map_region(
    *,
    said: MapText,
    wanted: Wanted,
    ground: Annotated[PlaceOptions, opt.Only("cover", "depth")],
    hands: HandsText,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Make the map again where it is there already.")
    ] = False,
    output: Annotated[str, opt.option("--format", "FORMAT", "table or json, for the summary.")] = "table",
) -> None:
    """Decide for every place of a grid, and write the answers as a map.

    The map holds for every place and species the verdict, good winters, the chance of a good winter, the window to sow
    and the day to plant out; and chill and frost of the place. The picture shows each of them.

    Elevation, slope and aspect are taken from the grid where it has them (CF names and units); else the ground is taken
    as level. Temperatures are taken as they are: none is moved to another height. Snow is modelled, never read. A
    calibration holds for the bed it was made in, so a map takes none.

    Stopped with Ctrl-C, or by accident, the same command goes on where it was.

    Example: chillplan map --weather grid.nc --species "common milkweed" --out map.nc --picture map.html
    """
    problems = Problems()
    asked = _checked(problems, said, ground, output)
    workers = _hands(problems, hands)
    chosen = _species(problems, wanted)
    out, picture = said.out, said.picture
    for option, given in (("--weather", said.weather), ("--out", out)):
        if not given:
            problems.add(f"{option} is missing: see 'chillplan map --help'")
    if picture is not None and picture.suffix != ".html":
        problems.add(f"--picture {picture} has another ending than .html: name it so")
    if picture is not None and not picture.parent.is_dir():
        problems.add(f"the folder of picture {picture} does not exist: make it first")
    problems.raise_if_any()
    assert out is not None
    grid, job = _prepared(said.weather, chosen, asked)
    written = _made(grid, job, out, workers, overwrite)
    _tell(written, picture, output)


def _now() -> str:
    """Line for the history of a map: when, and by which command (CF conventions, section 2.6.2)."""
    from datetime import UTC, datetime

    return f"{datetime.now(UTC):%Y-%m-%dT%H:%M:%SZ} chillplan {shlex.join(sys.argv[1:])}"


def _checked(problems: Problems, said: MapText, ground: PlaceOptions, output: str) -> dict[str, Any]:
    from chillplan.cli import values
    from chillplan.errors import quoted
    from chillplan.site import COVERS

    first = values.year_range(problems, "--years", said.years)
    second = values.year_range(problems, "--against", said.against)
    if said.against and not said.years:
        problems.add(f"--against {quoted(said.against)} has nothing to be compared with: give --years FIRST-LAST too")
    warmings = [values.number(problems, "--warming", text, -10.0, 10.0, "°C") for text in said.warming.split(",")]
    if len(set(warmings)) < len(warmings):
        problems.add(f"--warming {quoted(said.warming)} names a value twice: name each once")
    if ground.cover is not None and ground.cover not in COVERS:
        problems.add(f"--cover {quoted(ground.cover)} is not known: use one of {', '.join(COVERS)}")
    values.choice(problems, "--format", output, FORMATS)
    return {
        "periods": [first] if second is None else [first, second],
        "warmings": tuple(value or 0.0 for value in warmings),
        "accept": values.number(problems, "--accept", said.accept, 0.5, 1.0) or 0.8,
        "cover": ground.cover or "short grass",
        "depth": values.number(problems, "--depth", ground.depth, 0.5, 20.0, "cm") or 2.0,
    }


def _hands(problems: Problems, said: HandsText) -> dict[str, Any]:
    """Who does the work, checked."""
    from chillplan.cli import values

    named = [f"--{name}" for name, value in vars(said).items() if value is not None]
    if len(named) > 1:
        problems.add(f"{' and '.join(named)} were given together: name one of them")
    return {
        "scheduler": said.scheduler,
        "workers": values.whole_number(problems, "--workers", said.workers, 1, 1024),
        "processes": values.whole_number(problems, "--processes", said.processes, 1, 256),
    }


def _species(problems: Problems, wanted: Wanted) -> tuple[Species, ...]:
    from chillplan.cli.catalogue_files import chosen_species

    if not wanted.species and wanted.list_file is None:
        problems.add("no species is named: pass --species NAME, or --list FILE")
        return ()
    return chosen_species(wanted, problems)


def _prepared(weather: Sequence[Path], species: Sequence[Species], asked: dict[str, Any]) -> tuple[Grid, Job]:
    from chillplan.region.blocks import job_of
    from chillplan.region.layout import Layout
    from chillplan.region.places import Ask
    from chillplan.weather.grid import read_grid

    grid = read_grid(weather)
    for note in grid.notes:
        print(note, file=sys.stderr)
    names = tuple("all" if years is None else f"{years[0]}-{years[1]}" for years in asked["periods"])
    ask = Ask(tuple(species), cover=asked["cover"], depth_cm=asked["depth"], accept=asked["accept"])
    return grid, job_of(grid, Layout(names, asked["warmings"], ask), asked["periods"])


def _made(grid: Grid, job: Job, out: Path, hands: dict[str, Any], overwrite: bool) -> Path:
    from chillplan.cli.streams import progress_bar, say_when_compiling
    from chillplan.region.blocks import blocks_of, times_read
    from chillplan.region.mapping import Hands, make_map
    from chillplan.region.store import is_made

    say_when_compiling()
    if not overwrite and is_made(out, grid, job):
        print(f"{out} is there already, from the same data and options: nothing to do.", file=sys.stderr)
        return out
    often = times_read(grid, blocks_of(grid))
    if often > MANY_TIMES:
        print(
            f"The grid is stored in slices of days, so that each is read {often:.0f} times. It goes faster when "
            "it is rewritten in columns of places once, with xarray: data.chunk(time=-1, lat=20, lon=20).to_zarr(...)",
            file=sys.stderr,
        )
    last = [0, 0]
    try:
        with progress_bar("Mapping") as bar:

            def progress(done: int, count: int) -> None:
                last[:] = [done, count]
                bar(done, count, "regions" if done else "regions; the first after installing takes longer")

            crew = Hands(**hands)
            return make_map(grid, job, out, hands=crew, overwrite=overwrite, history=_now(), progress=progress)
    except KeyboardInterrupt:
        print(f"{last[0]} of {last[1]} regions are written; the same command goes on from there.", file=sys.stderr)
        raise


def _tell(written: Path, picture: Path | None, output: str) -> None:
    """Write the picture, and print how many places have which verdict."""
    from chillplan.region.store import open_map

    with open_map(written) as data:
        rows = _summary(data)
        answered, places = int((data["seasons"] > 0).any(["period", "warming"]).sum()), data["seasons"][0, 0].size
        if picture is not None:
            from chillplan.report.map_picture import map_html

            picture.write_text(map_html(data), encoding="utf-8")
    if output == "json":
        print_json({"schema": 1, "map": str(written), "summary": rows})
    else:
        from chillplan.report.tables_lists import print_map_summary

        print_map_summary(rows)
    for kind, path in (("Map", written), ("Picture", picture)):
        if path is not None:
            print(f"{kind}: {path}", file=sys.stderr)
    if answered < places:
        print(
            f"{places - answered} of {places} places have no answer: water, ground that is too steep, or fewer than 3 "
            "winters with enough data.",
            file=sys.stderr,
        )
    if not answered:
        raise DataGapError(
            f"no place of the grid has an answer, and {written} is empty: look whether its temperatures are all "
            "missing, or a mask says that all of it is water"
        )


def _summary(data: xr.Dataset) -> list[dict[str, Any]]:
    """Places by verdict for every species, period and warming."""
    import numpy as np

    from chillplan.verdicts import VERDICTS

    rows = []
    for species in data["species"].values:
        for period in data["period"].values:
            for warming in data["warming"].values:
                where = {"species": species, "period": period, "warming": warming}
                values = data["verdict"].sel(where).values
                known = values[np.isfinite(values) & (values >= 0)].astype(int)
                counts = np.bincount(known, minlength=len(VERDICTS)).tolist()
                rows.append(
                    {
                        "species": str(species),
                        "period": str(period),
                        "warming": float(warming),
                        "places": int(known.size),
                        "median_chance": _median(data["chance"].sel(where)),
                        "verdicts": {name: count for name, count in zip(VERDICTS, counts, strict=True) if count},
                    }
                )
    return rows


def _median(chance: xr.DataArray) -> float | None:
    """Middle of the places' chances as a share; None where no place has one. [-]"""
    known = chance.load()
    return round(float(known.median()) / 100.0, 4) if bool(known.notnull().any()) else None
