"""Speed and memory of a region: against xclim, against reading the input once, over size, on two cores.

Everything is timed in one run on the same grid: the whole chain (snow, seed zone, moisture, chill, frost, the verdict
of one species), xclim's chill units from the hourly series with its last spring frost from the daily one, and one pass
through the same float32 arrays in memory, all in seconds of the processor. Run alone:
``python tests/benchmarks/region.py``.
"""

from __future__ import annotations

import contextlib
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pandas as pd
import xarray as xr

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

YEARS = ("1991-01-01", "2020-12-31")
WINTERS = 29
REGION = 480
REGIONS = 8
PLACES = REGION * REGIONS
SPECIES = "Asclepias syriaca"


def made_series(places: int, seed: int = 0) -> tuple[pd.DatetimeIndex, np.ndarray, list[np.ndarray]]:
    """Days, latitude and tmin, tmax [°C], precipitation [mm], float32, shape (time, place)."""
    random = np.random.default_rng(seed)
    days = pd.date_range(*YEARS, freq="D")
    # Every region spans all latitudes and regions differ in number only: what a winter costs depends on the climate.
    latitude = np.tile(np.repeat(np.linspace(30.0, 60.0, REGION // 32), 32), places // REGION)
    year = np.cos(2.0 * np.pi * (days.day_of_year.to_numpy()[:, None] - 20) / 365.25)
    noise = random.normal(0.0, 4.0, (days.size, places)).astype(np.float32)
    mean = (24.0 - 0.5 * (latitude - 30.0) - (6.0 + 0.25 * (latitude - 30.0)) * year).astype(np.float32) + noise
    rain = random.exponential(6.0, (days.size, places)).astype(np.float32)
    rain[random.random(rain.shape, np.float32) > 0.3] = 0.0
    return days, latitude, [mean - np.float32(5.0), mean + np.float32(5.0), rain]


def best_of(action: Callable[[], object], times: int = 3, clock: Callable[[], float] = time.process_time) -> float:
    """Shortest time; of the processor, which other work on the machine does not lengthen, unless told otherwise. [s]"""
    shortest = np.inf
    for _ in range(times):
        begun = clock()
        action()
        shortest = min(shortest, clock() - begun)
    return float(shortest)


def chain(days: pd.DatetimeIndex, latitude: np.ndarray, regions: list[list[np.ndarray]], threads: int) -> None:
    """The whole chain over regions as a map reads them, each in arrays of its own, shared out over threads."""
    from chillplan.cli.catalogue_files import built_in_catalogue
    from chillplan.region.decide import answers_of
    from chillplan.region.places import Ask, Places
    from chillplan.seasons.cut import whole_rows
    from chillplan.seeds.catalogue import find_species

    ask = Ask((find_species(built_in_catalogue(), SPECIES),))
    rows = whole_rows(np.array([day.toordinal() for day in days]), southern=False)
    flat = np.zeros(REGION)
    shared = [
        Places(*series, latitude[number * REGION : (number + 1) * REGION], flat, flat, flat + 180.0)
        for number, series in enumerate(regions)
    ]
    share_out = map if threads == 1 else POOL.map
    CHAIN[threads] = lambda: list(share_out(lambda places: answers_of(places, rows, ask), shared))


CHAIN: dict[int, Callable[[], object]] = {}
POOL = ThreadPoolExecutor(2)


def xclim_seconds(days: pd.DatetimeIndex, latitude: np.ndarray, series: list[np.ndarray], places: int = 8) -> float:
    """xclim's hourly series, chill units and last spring frost of a few places and ten years. [s per site-winter]"""
    warnings.simplefilter("ignore")
    from xclim.indices import chill_units, last_spring_frost
    from xclim.indices.helpers import make_hourly_temperature

    some, ten = np.linspace(0, latitude.size - 1, places).astype(int), slice(0, 3652)
    daily = [
        xr.DataArray(
            values[ten][:, some],
            dims=("time", "lat"),
            coords={"time": days[ten], "lat": ("lat", latitude[some], {"units": "degrees_north"})},
            attrs={"units": "degC"},
            name=name,
        )
        for name, values in zip(("tasmin", "tasmax"), series, strict=False)
    ]

    def run() -> None:
        hourly = make_hourly_temperature(*daily).assign_attrs(units="degC")
        chill_units(hourly, freq="YS-JUL").load()
        last_spring_frost(daily[0]).load()

    return best_of(run, 2) / (places * 10)


def flat_memory() -> dict[str, float]:
    """Peak memory of mapping a part of a million places whose weather is made region by region. [MB]"""
    found = {}
    for regions in (4, 12):
        done = subprocess.run(
            [sys.executable, __file__, "--stream", str(regions)],
            capture_output=True,
            text=True,
            check=True,
            env=os.environ,
        )
        found[str(regions)] = float(done.stdout.strip().splitlines()[-1])
    return found


def stream(regions: int) -> None:
    """Map so many regions of a grid of 1,000 by 1,000 places, 30 years, made lazily; print the peak memory."""
    import dask.array

    from chillplan.cli.catalogue_files import built_in_catalogue
    from chillplan.region.blocks import job_of
    from chillplan.region.layout import Layout
    from chillplan.region.mapping import make_map
    from chillplan.region.places import Ask
    from chillplan.seeds.catalogue import find_species
    from chillplan.weather.grid import grid_of

    days = pd.date_range(*YEARS, freq="D")
    shape = (days.size, 1000, 1000)

    def make(add: float, block_info: dict | None = None) -> np.ndarray:
        where = (block_info or {})[None]
        rows = np.arange(*where["array-location"][1])[None, :, None]
        year = np.cos(2.0 * np.pi * (np.arange(days.size)[:, None, None] - 20) / 365.25)
        random = np.random.default_rng(int(rows[0, 0, 0]))
        noise = random.standard_normal(where["chunk-shape"], np.float32)
        return (10.0 - 0.02 * (rows - 500) - 12.0 * year).astype(np.float32) + np.float32(3.0) * noise + np.float32(add)

    def variable(add: float, **attributes: str) -> xr.Variable:
        chunks = ((days.size,), (1,) * 1000, (1000,))
        made = dask.array.map_blocks(make, add, dtype=np.float32, chunks=chunks, meta=np.empty((0, 0, 0), np.float32))
        return xr.Variable(("time", "lat", "lon"), made, attributes)

    assert variable(0.0).shape == shape
    air = {"standard_name": "air_temperature", "units": "degC"}
    data = xr.Dataset(
        {
            "tmin": variable(-5.0, **air, cell_methods="time: minimum"),
            "tmax": variable(5.0, **air, cell_methods="time: maximum"),
        },
        {
            "time": days,
            "lat": ("lat", np.linspace(35.0, 60.0, 1000), {"units": "degrees_north"}),
            "lon": ("lon", np.linspace(0.0, 40.0, 1000), {"units": "degrees_east"}),
        },
    )
    grid = grid_of(data, "made")
    species = find_species(built_in_catalogue(), SPECIES)
    job = job_of(grid, Layout(("all",), (0.0,), Ask((species,))), [None])

    class PartDoneError(Exception):
        pass

    def stop(done: int, count: int) -> None:
        if done >= regions:
            raise PartDoneError

    with tempfile.TemporaryDirectory() as folder, contextlib.suppress(PartDoneError):
        make_map(grid, job, Path(folder) / "map.zarr", progress=stop)
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)


def main() -> None:
    """Measure everything and print it."""
    if sys.argv[1:2] == ["--stream"]:
        stream(int(sys.argv[2]))
        return
    days, latitude, series = made_series(PLACES)
    cuts = [slice(number * REGION, (number + 1) * REGION) for number in range(REGIONS)]
    regions = [[np.ascontiguousarray(values[:, cut]) for values in series] for cut in cuts]
    for threads in (1, 2):
        chain(days, latitude, regions, threads)
        CHAIN[threads]()
    one = best_of(CHAIN[1])
    one_wall, two_wall = (best_of(CHAIN[threads], 5, time.perf_counter) for threads in (1, 2))
    read = best_of(lambda: [float(values.sum()) for region in regions for values in region], 5)
    site_winter = one / (PLACES * WINTERS)
    hourly = xclim_seconds(days, latitude, series)
    load = os.getloadavg()[0]
    print(f"whole chain, one thread: {1e6 * one / PLACES:.0f} us a place, {1e6 * site_winter:.2f} us a site-winter")
    print(f"by the clock: one thread {one_wall:.2f} s, two {two_wall:.2f} s, {one_wall / two_wall:.2f} times as fast")
    print(f"reading the same arrays once: {1e6 * read / PLACES:.1f} us a place")
    print(f"xclim, chill units from hours and last frost: {1e6 * hourly:.0f} us a site-winter")
    print(f"load of the machine meanwhile: {load:.1f} (two threads are only faster where two cores are free)")
    sizes, times = [1, 2, 4, 8], []
    for size in sizes:
        chain(days, latitude, regions[:size], 1)
        times.append(best_of(CHAIN[1]))
    exponent = float(np.polyfit(np.log(sizes), np.log(times), 1)[0])
    print("seconds by regions: " + ", ".join(f"{size}: {each:.3f}" for size, each in zip(sizes, times, strict=True)))
    memory = flat_memory()
    print("peak memory by regions done: " + ", ".join(f"{key}: {mb:.0f} MB" for key, mb in memory.items()))
    print(
        json.dumps(
            {
                "ratio_to_xclim": round(hourly / site_winter, 1),
                "ratio_to_memory_read": round(one / read, 1),
                "exponent": round(exponent, 3),
                "two_core_speedup": round(one_wall / two_wall, 2),
                "peak_mb": round(max(memory.values())),
            }
        )
    )


if __name__ == "__main__":
    main()
