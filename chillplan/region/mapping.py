"""Makes a map: region after region, on threads of this machine or on a cluster, and goes on after a stop."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import SourceError, quoted
from chillplan.region.blocks import BLOCK_BYTES, Block, blocks_of
from chillplan.region.compute import Job, lazy_numbers
from chillplan.region.read_grid import Grid
from chillplan.region.store import MapStore

__all__ = ["make_map"]

IN_WORK = 2  # regions handed out for each worker, so that none waits
PATIENCE = 30.0  # to reach a cluster [s]

Numbers = NDArray[np.float32]


def make_map(
    grid: Grid,
    job: Job,
    path: Path,
    *,
    scheduler: str | None = None,
    workers: int | None = None,
    overwrite: bool = False,
    history: str = "",
    block_bytes: int = BLOCK_BYTES,
    progress: Callable[[int, int], None] = lambda done, count: None,
) -> Path:
    """Compute and write a map.

    Parameters
    ----------
    grid : Grid
    job : Job
    path : pathlib.Path
        Ends in ``.nc`` or ``.zarr``. A map that was begun under this name with the same data and options is finished.
    scheduler : str, optional
        Address of a dask.distributed scheduler, whose workers must reach the grid's files under the same paths.
    workers : int, optional
        Threads on this machine; one a processor where it is not given.
    overwrite : bool
        Replace what is there.
    history : str
        When and how the map was asked for; kept with it.
    block_bytes : int
        Input of one region, about. [byte]
    progress : callable
        Told the regions that are done, and all.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    InputError
        If the name does not fit, or the map is there already.
    SourceError
        If the scheduler cannot be reached.
    """
    blocks = blocks_of(grid, block_bytes)
    store = MapStore(path, grid, job, blocks, overwrite, history)
    left = [block for block in blocks if block.number not in store.done]
    progress(len(blocks) - len(left), len(blocks))
    with _pool(scheduler, workers) as (submit, hands):
        for block, numbers in _computed(partial(lazy_numbers, grid, job=job), left, submit, IN_WORK * hands):
            store.write(block, numbers)
            progress(len(store.done), len(blocks))
    return store.finish()


def _computed(
    lazy: Callable[[Block], xr.DataArray],
    blocks: Sequence[Block],
    submit: Callable[[xr.DataArray], Future[Numbers]],
    most: int,
) -> Iterator[tuple[Block, Numbers]]:
    """Regions as they are ready, with at most so many in work; those in work are given up when it ends early."""
    waiting = iter(blocks)
    working: dict[Any, Block] = {}
    try:
        while True:
            while len(working) < most and (block := next(waiting, None)) is not None:
                working[submit(lazy(block))] = block
            if not working:
                return
            ready, _ = wait(list(working), timeout=1.0, return_when=FIRST_COMPLETED)
            for future in ready:
                yield working.pop(future), future.result()
    finally:
        for future in working:
            future.cancel()


@contextmanager
def _pool(scheduler: str | None, workers: int | None) -> Iterator[tuple[Callable[[xr.DataArray], Any], int]]:
    """A way to hand out work, and how many hands there are."""
    if scheduler is not None:
        with _cluster(scheduler) as found:
            yield found
        return
    hands = workers or os.cpu_count() or 1
    pool = ThreadPoolExecutor(hands)
    try:
        yield lambda part: pool.submit(_values, part), hands
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _values(part: xr.DataArray) -> Numbers:
    return np.asarray(part.compute(scheduler="synchronous").values)


@contextmanager
def _cluster(address: str) -> Iterator[tuple[Callable[[xr.DataArray], Any], int]]:
    from distributed import Client

    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, TimeoutError, ValueError) as error:
        raise SourceError(
            f"scheduler {quoted(address)} does not answer ({error}): start it with 'dask scheduler' and "
            "check the address"
        ) from error
    with client, ThreadPoolExecutor(max_workers=64) as hands:
        client.wait_for_workers(1, timeout=PATIENCE)
        count = max(len(client.scheduler_info()["workers"]), 1)

        def submit(part: xr.DataArray) -> Future[Numbers]:
            future = client.compute(part.data, retries=3)  # type: ignore[no-untyped-call]
            return hands.submit(lambda: np.asarray(future.result()))

        yield submit, count
