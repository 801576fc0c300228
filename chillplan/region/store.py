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

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import InputError, quoted
from chillplan.region.blocks import Block
from chillplan.region.compute import Job
from chillplan.region.layout import NUMBERS, WHOLE
from chillplan.region.read_grid import Grid

__all__ = ["MapStore", "fingerprint"]


def fingerprint(grid: Grid, job: Job, blocks: Sequence[Block]) -> str:
    """Names what a map is made from and how, so that halves of two different maps are never joined."""
    sizes = {name: grid.data.sizes[name] for name in grid.space}
    said = [
        grid.source,
        sizes,
        int(grid.days.min()),
        int(grid.days.max()),
        grid.days.size,
        job.layout.periods,
        job.layout.warmings,
        repr(job.layout.ask),
        [(name, part.start, part.stop) for block in blocks for name, part in block.where.items()],
        hashlib.sha256(np.ascontiguousarray(grid.data["latitude"].values).tobytes()).hexdigest(),
    ]
    return hashlib.sha256(json.dumps(said, sort_keys=True, default=str).encode()).hexdigest()


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

    Raises
    ------
    InputError
        If the name has another ending, its folder is missing, the map is there already, or half of another map is.
    """

    def __init__(self, path: Path, grid: Grid, job: Job, blocks: Sequence[Block], overwrite: bool = False) -> None:
        if path.suffix not in {".nc", ".zarr"}:
            raise InputError(f"map {quoted(path)} has the ending {quoted(path.suffix)}: use .nc (NetCDF) or .zarr")
        if not path.parent.is_dir():
            raise InputError(f"the folder of map {quoted(path)} does not exist: make it first")
        self.path, self.grid, self.job = path, grid, job
        self.partial, self.record = path.with_name(f"{path.name}.partial"), path.with_name(f"{path.name}.partial.done")
        self.mark = fingerprint(grid, job, blocks)
        if overwrite:
            _remove(path)
            _remove(self.partial)
            _remove(self.record)
        if path.exists():
            raise InputError(f"map {quoted(path)} is there already: pass --overwrite to make it anew, or name another")
        self.done = self._resume() if self.partial.exists() else self._begin(blocks)

    def _resume(self) -> set[int]:
        try:
            lines = self.record.read_text(encoding="utf-8").splitlines()
            begun = json.loads(lines[0])["made_from"]
        except (OSError, IndexError, ValueError, KeyError):
            raise InputError(
                f"{quoted(self.partial)} is a map that was hardly begun, or not ours: delete it or pass --overwrite"
            ) from None
        if begun != self.mark:
            raise InputError(
                f"{quoted(self.partial)} is half of a map made from other data or options: "
                "repeat them to go on, or pass --overwrite"
            )
        done = set()
        for line in lines[1:]:
            try:
                done.add(int(json.loads(line)["done"]))
            except (ValueError, KeyError):
                continue  # the last line of a run that was cut off while writing it
        return done

    def _begin(self, blocks: Sequence[Block]) -> set[int]:
        _remove(self.record)
        template = self._template(blocks)
        template.to_zarr(self.partial, compute=False, consolidated=False, zarr_format=2)
        self._note({"made_from": self.mark})
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
        places = {str(name): _plain(array) for name, array in self._place_coordinates().items()}
        return xr.Dataset(
            variables, {**layout.coordinates(), **places}, layout.title(self.grid.source, self.grid.notes)
        )

    def _place_coordinates(self) -> dict[str, xr.DataArray]:
        data = self.grid.data
        found = {str(name): array for name, array in data.coords.items() if set(array.dims) <= set(self.grid.space)}
        if not any(array.attrs.get("standard_name") == "latitude" for array in found.values()):
            own = [name for name in self.grid.space if name.lower().startswith("lat")]
            if own and own[0] in found:
                found[own[0]] = found[own[0]].assign_attrs(standard_name="latitude", units="degrees_north")
        return found

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
            self.partial.replace(self.path)
            _remove(self.record)
            return self.path
        whole = self.path.with_name(f"{self.path.name}.writing")
        with xr.open_zarr(self.partial, consolidated=False, decode_cf=False) as data:
            for variable in data.variables.values():
                variable.encoding.clear()
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


def _plain(array: xr.DataArray) -> xr.Variable:
    return xr.Variable(array.dims, array.values, array.attrs)


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
