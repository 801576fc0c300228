"""Makes a map: region after region, on threads of this machine or on a cluster, and goes on after a stop."""

from __future__ import annotations

import logging
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, CancelledError, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import SourceError, quoted
from chillplan.region.blocks import BLOCK_BYTES, Block, Job, blocks_of, lazy_numbers
from chillplan.region.store import MapStore
from chillplan.weather.grid import Grid
from chillplan.weather.grid_files import reading

__all__ = ["Hands", "make_map"]

IN_WORK = 2  # regions handed out for each worker, so that none waits
PATIENCE = 30.0  # to reach a cluster [s]
AGAIN = "the regions done are kept; start them again and give the same command"
LOOK = 1.0  # between looks at who works [s]
MOST_WAITING = 64  # regions in work on a cluster

Numbers = NDArray[np.float32]


class Hands(NamedTuple):
    """Who does the work: threads on this machine, one a processor, unless something else is asked for."""

    # address of a dask.distributed scheduler, whose workers must reach the grid's files under the same paths
    scheduler: str | None = None
    workers: int | None = None  # threads on this machine
    # processes on this machine instead of threads: for grids whose reading, not whose reckoning, takes the time
    processes: int | None = None


HERE = Hands()


def make_map(
    grid: Grid,
    job: Job,
    path: Path,
    *,
    hands: Hands = HERE,
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
    hands : Hands
        Who does the work.
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
    with _pool(hands) as crew:
        for block, numbers in _computed(partial(lazy_numbers, grid, job=job), left, crew):
            store.write(block, numbers)
            progress(len(store.done), len(blocks))
    return store.finish()


class _Crew(NamedTuple):
    """Those who do the work."""

    submit: Callable[[xr.DataArray], Future[Numbers]]  # hands out a region
    hands: int  # how many work at once
    watch: Callable[[], None] = lambda: None  # called while nothing is ready; raises where nothing ever will be


def _computed(
    lazy: Callable[[Block], xr.DataArray],
    blocks: Sequence[Block],
    crew: _Crew,
) -> Iterator[tuple[Block, Numbers]]:
    """Regions as they are ready, with at most so many in work; those in work are given up when it ends early."""
    waiting = iter(blocks)
    working: dict[Any, Block] = {}
    try:
        while True:
            while len(working) < IN_WORK * crew.hands and (block := next(waiting, None)) is not None:
                working[crew.submit(lazy(block))] = block
            if not working:
                return
            ready, _ = wait(list(working), timeout=LOOK, return_when=FIRST_COMPLETED)
            if not ready:
                crew.watch()
            for future in ready:
                block = working.pop(future)
                with reading(f"the grid at {_where(block)}"):
                    numbers = future.result()
                yield block, numbers
    finally:
        for future in working:
            future.cancel()


def _where(block: Block) -> str:
    return ", ".join(f"{name} {part.start} to {part.stop - 1}" for name, part in block.where.items())


@contextmanager
def _pool(hands: Hands) -> Iterator[_Crew]:
    """Threads, processes, or a cluster."""
    if hands.scheduler is not None:
        with _cluster(hands.scheduler) as found:
            yield found
        return
    if hands.processes is not None:
        with _own_cluster(hands.processes) as address, _cluster(address) as found:
            yield found
        return
    threads = hands.workers or os.cpu_count() or 1
    pool = ThreadPoolExecutor(threads)
    try:
        yield _Crew(lambda part: pool.submit(_values, part), threads)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _values(part: xr.DataArray) -> Numbers:
    return np.asarray(part.compute(scheduler="synchronous").values)


@contextmanager
def _own_cluster(processes: int) -> Iterator[str]:
    """Processes of this machine, by the address of their scheduler; one that dies is started again."""
    from distributed import LocalCluster

    with _unstoppable():
        cluster = LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=processes, threads_per_worker=1, dashboard_address=None, silence_logs=logging.CRITICAL
        )
    with cluster:
        yield str(cluster.scheduler_address)


@contextmanager
def _unstoppable() -> Iterator[None]:
    """Processes that begin meanwhile do not hear Ctrl-C, which is for the one that began them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _cluster(address: str) -> Iterator[_Crew]:
    from distributed import Client
    from distributed.comm.core import CommClosedError
    from distributed.scheduler import KilledWorker

    logging.getLogger("distributed.client").setLevel(logging.CRITICAL)  # what it says is said below
    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, TimeoutError, ValueError) as error:
        raise SourceError(
            f"scheduler {quoted(address)} does not answer ({error}): start it with 'dask scheduler' and "
            "check the address"
        ) from error
    waited: set[Any] = set()
    with client, ThreadPoolExecutor(max_workers=MOST_WAITING) as hands:

        def result_of(future: Any) -> Numbers:
            try:
                return np.asarray(future.result())
            except (CancelledError, CommClosedError) as error:
                raise SourceError(f"scheduler {quoted(address)} is gone: {AGAIN}") from error
            except KilledWorker as error:
                raise SourceError(
                    f"a region ended its workers again and again, mostly for want of memory: give them more; {AGAIN}"
                ) from error
            finally:
                waited.discard(future)

        def submit(part: xr.DataArray) -> Future[Numbers]:
            future = client.compute(part.data, retries=3)  # type: ignore[no-untyped-call]
            waited.add(future)
            return hands.submit(result_of, future)

        try:
            watch = _Watch(client, address)
            yield _Crew(submit, watch.hands(), watch)
        finally:
            # Stopped in the middle, nobody waits for what the workers still do.
            with suppress(CancelledError, CommClosedError, TimeoutError):
                client.cancel(list(waited), force=True)  # type: ignore[no-untyped-call]


class _Watch:
    """Looks whether a cluster has anybody who works."""

    def __init__(self, client: Any, address: str) -> None:
        self.client, self.address, self.seen = client, address, time.monotonic()

    def hands(self) -> int:
        """Threads of all workers.

        Raises
        ------
        SourceError
            If there is no worker in time.
        """
        try:
            self.client.wait_for_workers(1, timeout=PATIENCE)
        except TimeoutError as error:
            raise SourceError(
                f"scheduler {quoted(self.address)} has no workers: start some with 'dask worker {self.address}'"
            ) from error
        return max(sum(map(int, self.client.nthreads().values())), 1)

    def __call__(self) -> None:
        if self.client.status == "running" and self.client.nthreads():
            self.seen = time.monotonic()
        elif time.monotonic() - self.seen > PATIENCE:
            raise SourceError(f"scheduler {quoted(self.address)} has lost all its workers: {AGAIN}")
