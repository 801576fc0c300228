"""Writes a map region by region, so that a stop loses no more than the regions in work.

While a map is being made it is a Zarr store beside its final name; a small record beside it says which regions are done
and what they were made from. When the last one is written the store takes its final name, or is turned into NetCDF.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan import __version__
from chillplan.errors import InputError, quoted
from chillplan.region.blocks import Block, Job
from chillplan.region.layout import NUMBERS, WHOLE, labelled
from chillplan.weather.grid import Grid

__all__ = ["MapStore", "fingerprint", "is_made", "open_map"]

MADE_FROM = "made_from"  # attribute of a map by which the same question is known again


def fingerprint(grid: Grid, job: Job) -> str:
    """Names what a map is made from and how, so that halves of two different maps are never joined."""
    said = [
        __version__,
        grid.source,
        grid.stamp,
        {name: grid.data.sizes[name] for name in grid.space},
        sorted(str(name) for name in grid.data.data_vars),
        int(grid.days.min()),
        int(grid.days.max()),
        grid.days.size,
        job.layout.periods,
        job.layout.warmings,
        repr(job.layout.ask),
        hashlib.sha256(np.ascontiguousarray(grid.data["latitude_of_place"].values).tobytes()).hexdigest(),
    ]
    return hashlib.sha256(json.dumps(said, sort_keys=True, default=str).encode()).hexdigest()


def is_made(path: Path, grid: Grid, job: Job) -> bool:
    """Whether a whole map is there already that was made from the same data and options."""
    if not path.exists():
        return False
    try:
        with open_map(path) as data:
            return data.attrs.get(MADE_FROM) == fingerprint(grid, job)
    except (OSError, ValueError, KeyError):
        return False


def open_map(path: Path) -> xr.Dataset:
    """A map, its periods and species found by their names, not yet loaded."""
    return labelled(xr.open_zarr(path) if path.suffix == ".zarr" else xr.open_dataset(path, engine="netcdf4"))


class MapStore:
    """A map on disk that grows region by region.

    Parameters
    ----------
    path : pathlib.Path
        Ends in ``.nc`` or ``.zarr``.
    grid : Grid
    job : Job
    blocks : sequence of Block
    overwrite : bool
        Replace what is there.
    history : str
        When and how it was asked for.

    Raises
    ------
    InputError
        If the name has another ending, its folder is missing, the map is there already, or half of another map is.
    """

    def __init__(
        self, path: Path, grid: Grid, job: Job, blocks: Sequence[Block], overwrite: bool = False, history: str = ""
    ) -> None:
        if path.suffix not in {".nc", ".zarr"}:
            raise InputError(f"map {quoted(path)} has the ending {quoted(path.suffix)}: use .nc (NetCDF) or .zarr")
        if not path.parent.is_dir():
            raise InputError(f"the folder of map {quoted(path)} does not exist: make it first")
        self.path, self.grid, self.job, self.history = path, grid, job, history
        self.partial, self.record = path.with_name(f"{path.name}.partial"), path.with_name(f"{path.name}.partial.done")
        cuts = [(name, part.start, part.stop) for block in blocks for name, part in block.where.items()]
        self.mark = [fingerprint(grid, job), hashlib.sha256(repr(cuts).encode()).hexdigest()]
        if path.exists() and not overwrite:
            raise InputError(
                f"map {quoted(path)} is there already, from other data or options: pass --overwrite to make it anew, "
                "or name another"
            )
        known, found = self._begun()
        if self.partial.exists() and not known and not overwrite:
            raise InputError(
                f"{quoted(self.partial)} is half of a map made from other data or options, or not ours: repeat them "
                "to go on, pass --overwrite, or delete it"
            )
        self.done = self._begin(blocks) if found is None else found

    def _begun(self) -> tuple[bool, set[int] | None]:
        """Whether this very map was begun, and the regions done; None where its store is not laid out yet."""
        try:
            lines = [_line(text) for text in self.record.read_text(encoding="utf-8").splitlines()]
        except (OSError, UnicodeDecodeError):
            return False, None
        if not lines or lines[0].get(MADE_FROM) != self.mark:
            return False, None
        laid_out = {"begun": True} in lines and self.partial.exists()
        return True, {int(line["done"]) for line in lines if "done" in line} if laid_out else None

    def _begin(self, blocks: Sequence[Block]) -> set[int]:
        _remove(self.record)
        _remove(self.partial)
        self._note({MADE_FROM: self.mark})
        self._template(blocks).to_zarr(self.partial, compute=False, consolidated=False, zarr_format=2)
        self._note({"begun": True})
        return set()

    def _template(self, blocks: Sequence[Block]) -> xr.Dataset:
        import dask.array

        layout, space = self.job.layout, self.grid.space
        sizes = {**layout.sizes, **{name: self.grid.data.sizes[name] for name in space}}
        step = {name: part.stop - part.start for name, part in blocks[0].where.items()}
        variables = {}
        for name, number in NUMBERS.items():
            dims = ("period", "warming", *number.dims, *space)
            shape = tuple(sizes[dim] for dim in dims)
            chunks = tuple(step.get(dim, sizes[dim]) for dim in dims)
            kind, empty = (WHOLE[name], -1) if name in WHOLE else ("float32", np.nan)
            variables[name] = xr.Variable(
                dims,
                dask.array.full(shape, empty, dtype=kind, chunks=chunks),  # type: ignore[no-untyped-call]
                layout.attributes(name),
                {"_FillValue": np.array(empty, dtype=kind)[()], "chunks": chunks},
            )
        if self.grid.projection is not None:
            name = str(self.grid.projection.name)
            for variable in variables.values():
                variable.attrs["grid_mapping"] = name
            variables[name] = _plain(self.grid.projection)
        title = layout.title(self.grid.source, self.grid.notes)
        said = {"history": self.history} if self.history else {}
        coordinates = {**layout.coordinates(), **self._place_coordinates()}
        for variable in coordinates.values():
            variable.encoding["_FillValue"] = None
        return xr.Dataset(variables, coordinates, {**title, **said, MADE_FROM: self.mark[0]})

    def _place_coordinates(self) -> dict[str, xr.Variable]:
        space = set(self.grid.space)
        return {str(name): _plain(array) for name, array in self.grid.data.coords.items() if set(array.dims) <= space}

    def write(self, block: Block, numbers: NDArray[np.float32]) -> None:
        """Write one region and note that it is done."""
        space = self.grid.space
        parts = self.job.layout.unpack(numbers)
        data = xr.Dataset({name: xr.Variable((*dims, *space), values) for name, (dims, values) in parts.items()})
        data.to_zarr(self.partial, region=dict(block.where), consolidated=False)
        self._note({"done": block.number})
        self.done.add(block.number)

    def finish(self) -> Path:
        """Give the whole map its final name."""
        if self.path.suffix == ".zarr":
            import zarr

            zarr.consolidate_metadata(str(self.partial))
            _remove(self.path)
            self.partial.replace(self.path)
            _remove(self.record)
            return self.path
        whole = self.path.with_name(f"{self.path.name}.writing")
        with xr.open_zarr(self.partial, consolidated=False, decode_cf=False) as data:
            for name, variable in data.variables.items():
                variable.encoding = {"zlib": True, "complevel": 1} if name in NUMBERS else {"_FillValue": None}
            data["verdict"].attrs["flag_values"] = np.asarray(data["verdict"].attrs["flag_values"], np.int8)
            data.to_netcdf(whole, engine="netcdf4")
        whole.replace(self.path)
        _remove(self.partial)
        _remove(self.record)
        return self.path

    def _note(self, line: dict[str, object]) -> None:
        with self.record.open("a", encoding="utf-8") as file:
            file.write(json.dumps(line) + "\n")
            file.flush()
            os.fsync(file.fileno())


def _line(text: str) -> dict[str, Any]:
    """A line of the record; nothing where a run was cut off while writing it."""
    try:
        said = json.loads(text)
    except ValueError:
        return {}
    return said if isinstance(said, dict) else {}


def _plain(array: xr.DataArray) -> xr.Variable:
    """Values and attributes, without those that name a variable the map has not."""
    return xr.Variable(array.dims, array.values, {key: value for key, value in array.attrs.items() if key != "bounds"})


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
