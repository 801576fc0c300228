"""The same map from a cluster: a real one on this machine, and one whose worker dies in the middle."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import Future
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from chillplan.errors import SourceError
from chillplan.region import mapping
from chillplan.region.blocks import blocks_of
from chillplan.region.mapping import Hands, make_map
from chillplan.weather.grid import Grid, read_grid
from tests.region.made_grid import made_grid
from tests.region.test_map_store import SMALL, some_job

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def grid(tmp_path_factory: pytest.TempPathFactory) -> Grid:
    path = tmp_path_factory.mktemp("grid") / "grid.nc"
    made_grid(rows=26, columns=12).to_netcdf(path)
    return read_grid([path])


@pytest.fixture(scope="module")
def here(grid: Grid, tmp_path_factory: pytest.TempPathFactory) -> xr.Dataset:
    path = make_map(grid, some_job(grid), tmp_path_factory.mktemp("here") / "map.nc", block_bytes=SMALL)
    return xr.open_dataset(path).load()


def test_processes_give_the_same_map(grid: Grid, here: xr.Dataset, tmp_path: Path) -> None:
    path = make_map(grid, some_job(grid), tmp_path / "map.nc", hands=Hands(processes=1), block_bytes=SMALL)
    xr.testing.assert_identical(xr.open_dataset(path).load(), here)


@pytest.fixture
def scheduler(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A scheduler and two workers, each a process of its own on loopback."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": Path(__file__).parents[2]}
    begin = [sys.executable, "-m", "dask"]
    started = [
        subprocess.Popen([*begin, "scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard"], **quiet)
    ]
    worker = ["worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard", "--local-directory", str(tmp_path)]
    started += [subprocess.Popen([*begin, *worker], **quiet) for _ in range(2)]
    try:
        yield address, started
    finally:
        for process in reversed(started):
            process.terminate()
        for process in started:
            try:
                process.wait(timeout=20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


def test_a_worker_killed_in_the_middle_does_not_change_the_map(
    grid: Grid, here: xr.Dataset, tmp_path: Path, scheduler: tuple[str, list[subprocess.Popen[bytes]]]
) -> None:
    address, started = scheduler
    with distributed.Client(address, timeout=90) as client:
        client.wait_for_workers(2, timeout=120)
    killed: list[int] = []

    def kill_one(done: int, count: int) -> None:
        if done == 1 and not killed:
            killed.append(started[1].pid)
            os.kill(started[1].pid, signal.SIGKILL)
            time.sleep(0.5)

    path = make_map(
        grid, some_job(grid), tmp_path / "map.nc", hands=Hands(scheduler=address), block_bytes=SMALL, progress=kill_one
    )
    assert killed
    assert started[1].wait(timeout=60) == -signal.SIGKILL
    xr.testing.assert_identical(xr.open_dataset(path).load(), here)


class IdleClient:
    """Stands in for a client whose cluster has nobody left."""

    status = "running"

    def __init__(self, workers: dict[str, int]) -> None:
        self.workers = workers

    def nthreads(self) -> dict[str, int]:
        return self.workers

    def wait_for_workers(self, count: int, timeout: float) -> None:
        if not self.workers:
            raise TimeoutError


def test_a_cluster_without_workers_is_not_waited_for_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mapping, "PATIENCE", 0.05)
    with pytest.raises(SourceError, match="has no workers: start some with 'dask worker tcp://x'"):
        mapping._Watch(IdleClient({}), "tcp://x").hands()
    client = IdleClient({"one": 3, "two": 1})
    watch = mapping._Watch(client, "tcp://x")
    assert watch.hands() == 4
    watch()
    client.workers = {}
    time.sleep(0.1)
    with pytest.raises(SourceError, match="has lost all its workers: the regions done are kept"):
        watch()


def test_while_nothing_is_ready_the_crew_is_looked_at_and_its_work_given_up(
    grid: Grid, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mapping, "LOOK", 0.02)
    handed: list[Future] = []
    looks: list[int] = []

    def submit(_: object) -> Future:
        handed.append(Future())
        return handed[-1]

    def watch() -> None:
        looks.append(len(handed))
        if len(looks) == 3:
            raise SourceError("nobody is left")

    blocks = blocks_of(grid, 100_000)
    late = threading.Timer(5.0, lambda: [one.set_exception(TimeoutError()) for one in handed if not one.done()])
    late.start()  # so that a fault ends, too
    with pytest.raises(SourceError, match="nobody is left"):
        list(mapping._computed(lambda block: block, blocks, mapping._Crew(submit, 1, watch)))
    late.cancel()
    assert len(looks) == 3 and handed and all(future.cancelled() for future in handed)
    looks.clear()
    done: Future = Future()
    done.set_result(np.zeros(1))
    found = list(mapping._computed(lambda block: block, blocks[:1], mapping._Crew(lambda _: done, 1, watch)))
    assert [block for block, _ in found] == blocks[:1]
    assert not looks, "nobody is looked at while work is ready"


class DyingClient(IdleClient):
    """A cluster whose workers are killed by every region."""

    def __init__(self, *_: object, **__: object) -> None:
        super().__init__({"one": 1})

    def __enter__(self) -> DyingClient:
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def compute(self, *_: object, **__: object) -> Future:
        future: Future = Future()
        future.set_exception(distributed.scheduler.KilledWorker("region", None, 3))
        return future

    def cancel(self, *_: object, **__: object) -> None:
        pass


def test_a_region_that_ends_its_workers_is_told(grid: Grid, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("distributed.Client", DyingClient)
    with pytest.raises(SourceError, match="a region ended its workers again and again, mostly for want of memory"):
        make_map(grid, some_job(grid), tmp_path / "map.nc", hands=Hands(scheduler="tcp://x"))
