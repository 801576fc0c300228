"""How many site-winters a second one core takes from daily weather to effective chill.

The whole chain (radiation from the daily range, snow, moisture, heat and ice in three layers, effective chill) runs in
single precision over 365 days with precipitation, places side by side, in blocks, so that memory does not grow with the
number of places. Beside it, on the same temperatures and core: the chill units of xclim, from hourly temperatures that
xclim makes of the daily extremes.

Run: python tests/benchmarks/kernel.py
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS"):
    os.environ[_name] = "1"
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np  # noqa: E402
from numba import njit  # noqa: E402

from chillplan.physics.climate import Climate  # noqa: E402
from chillplan.physics.coefficients import cast, coefficients_of  # noqa: E402
from chillplan.physics.compiled import compiled_day_step  # noqa: E402
from chillplan.physics.day import Place, State, Weather  # noqa: E402
from chillplan.physics.daylight import extraterrestrial_radiation  # noqa: E402
from chillplan.physics.parameters import WITH_PRECIPITATION  # noqa: E402
from chillplan.physics.seed_zone import place_of, starting_state  # noqa: E402

DAYS = 365
BLOCK = 1024
LANES = 64
BLOCKS = 24
XCLIM_PLACES = 60
KIND = np.float32


def made_weather(places: int, seed: int = 1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Invented daily minimum, maximum and precipitation, shape (day, place). [°C, °C, mm]"""
    random = np.random.default_rng(seed)
    season = 12 * np.cos(2 * np.pi * (np.arange(DAYS)[:, None] + 20) / 365)
    mean = 8 + random.normal(0, 5, places) + season + random.normal(0, 4, (DAYS, places))
    half = random.uniform(2, 9, (DAYS, places))
    water = np.where(random.random((DAYS, places)) < 0.3, random.gamma(1.0, 6.0, (DAYS, places)), 0.0)
    return (mean - half).astype(KIND), (mean + half).astype(KIND), water.astype(KIND)


def chain() -> Callable[..., Any]:
    """The compiled loop: blocks of places, then days, then the places of a block side by side."""
    step = compiled_day_step()

    @njit(error_model="numpy", nogil=True)
    def walk(state, tmin, tmax, water, sky, place, c, corners, moist_from, chill):  # type: ignore[no-untyped-def]
        for i in range(LANES):
            now = State(
                state[i],
                state[LANES + i],
                state[2 * LANES + i],
                state[3 * LANES + i],
                state[4 * LANES + i],
                state[5 * LANES + i],
                state[6 * LANES + i],
                state[7 * LANES + i],
            )
            after, seen = step(now, Weather(tmin[i], tmax[i], water[i], sky[i], sky[i]), place, c)
            state[i] = after.upper
            state[LANES + i] = after.middle
            state[2 * LANES + i] = after.lower
            state[3 * LANES + i] = after.deep
            state[4 * LANES + i] = after.snow_water
            state[5 * LANES + i] = after.snow_depth
            state[6 * LANES + i] = after.seed_water
            state[7 * LANES + i] = after.root_water
            share = min(
                (seen.temperature - corners[0]) * corners[1], (corners[2] - seen.temperature) * corners[3], c.one
            )
            share = share if share > c.zero else c.zero
            chill[i] += share if seen.moisture >= moist_from else c.zero

    @njit(error_model="numpy", nogil=True)
    def run(tmin, tmax, water, sky, start, place, c, corners, moist_from, chill):  # type: ignore[no-untyped-def]
        state = np.empty(8 * LANES, dtype=np.float32)
        for first in range(0, tmin.shape[1], LANES):
            for row in range(8):
                for i in range(LANES):
                    state[row * LANES + i] = start[row, first + i]
            for day in range(tmin.shape[0]):
                here = slice(first, first + LANES)
                walk(
                    state,
                    tmin[day, here],
                    tmax[day, here],
                    water[day, here],
                    sky[day, here],
                    place,
                    c,
                    corners,
                    moist_from,
                    chill[here],
                )

    return run


def site_winters_per_second(runs: int = 5) -> float:
    """Median over runs of the places passed a second of processor time; compiling is not counted."""
    run = chain()
    tmin, tmax, water = made_weather(BLOCK)
    latitude = np.linspace(35, 55, BLOCK)
    sky = extraterrestrial_radiation(latitude, np.arange(1, DAYS + 1)[:, None]).astype(KIND)
    c = coefficients_of(WITH_PRECIPITATION)
    climate = Climate(np.full(BLOCK, 8.0), np.full(BLOCK, 0.8))
    begin = np.stack(starting_state(tmin[:30], tmax[:30], climate, WITH_PRECIPITATION, KIND))
    place = Place(*(KIND(value) for value in place_of(WITH_PRECIPITATION, 0.8, "short grass", 2.0, None, KIND)))
    corners = np.array([-2, 1 / 3, 12, 1 / 5], dtype=KIND)
    rest = (place, cast(c, KIND), corners, KIND(0.1))
    chill = np.zeros(BLOCK, dtype=KIND)
    run(tmin, tmax, water, sky, begin, *rest, chill)
    assert chill.max() > 10
    rates = []
    for _ in range(runs):
        start = time.process_time()
        for _ in range(BLOCKS):
            run(tmin, tmax, water, sky, begin, *rest, np.zeros(BLOCK, dtype=KIND))
        rates.append(BLOCK * BLOCKS / (time.process_time() - start))
    return statistics.median(rates)


def xclim_site_winters_per_second() -> float | None:
    """The same for xclim's chill units on hourly temperatures; None where xclim is not installed."""
    try:
        import xarray as xr
        from xclim.indices import chill_units
        from xclim.indices.helpers import make_hourly_temperature
    except ImportError:
        return None
    tmin, tmax, _ = made_weather(XCLIM_PLACES)
    times = xr.date_range("2021-01-01", periods=DAYS, freq="D")
    coords = {"time": times, "place": np.arange(XCLIM_PLACES), "lat": ("place", np.linspace(35, 55, XCLIM_PLACES))}
    low, high = (
        xr.DataArray(values.astype(float), dims=("time", "place"), coords=coords, attrs={"units": "degC"}, name=name)
        for name, values in (("tasmin", tmin), ("tasmax", tmax))
    )
    low.lat.attrs["units"] = "degrees_north"
    start = time.process_time()
    hourly = make_hourly_temperature(low, high)
    hourly.attrs["units"] = "degC"
    chill_units(hourly, freq="YS").load()
    return XCLIM_PLACES / (time.process_time() - start)


def main() -> None:
    rate = site_winters_per_second()
    print(f"Daily weather to effective chill, float32, {DAYS} days, one core: {rate:,.0f} site-winters a second")
    print(f"  {1e9 / rate / DAYS:.1f} ns a site and day; memory is that of one block of {BLOCK} places")
    other = xclim_site_winters_per_second()
    if other is None:
        print("xclim is not installed: pip install 'chillplan[test]' to run it beside")
    else:
        print(f"xclim, chill units from hourly temperatures, same run: {other:,.0f} site-winters a second")
        print(f"  {rate / other:,.0f} times")
    print(json.dumps({"site_winters_per_s": round(rate), "simulation_s": simulation()}))


def simulation() -> float:
    """Time of the season simulation of the neighbouring benchmark. [s]"""
    from tests.benchmarks.simulation import simulation_seconds

    return round(simulation_seconds(), 3)


if __name__ == "__main__":
    main()
