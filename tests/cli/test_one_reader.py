"""`plan` and `map`, both asked on the command line, read one damaged grid alike and give the same answers."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from chillplan.data_files import data_path
from chillplan.region.store import open_map
from chillplan.verdicts import VERDICTS
from tests.cli.command import chillplan

SPECIES = ("Asclepias syriaca", "Tilia americana")
SIDE = 2
PLACES = [(36.0, -82.0), (36.0, -81.0), (37.0, -82.0), (37.0, -81.0)]


def demo_grid(first: str = "1986-01-01", last: str = "2026-08-01") -> xr.Dataset:
    """The demo's weather on two by two cells, each a little colder than the one before."""
    daily = pd.read_csv(data_path("demo_weather.csv"), parse_dates=["date"], index_col="date").loc[first:last]
    colder = np.array([[0.0, 0.5], [1.0, 1.5]])
    shape = (len(daily), SIDE, SIDE)
    cells = {
        name: (daily[name].to_numpy()[:, None, None] - (0.0 if name == "precipitation" else 1.0) * colder)
        for name in ("tmin", "tmax", "precipitation")
    }
    units = {"tmin": "degC", "tmax": "degC", "precipitation": "mm"}
    return xr.Dataset(
        {
            name: (("time", "lat", "lon"), np.broadcast_to(values, shape).astype(np.float32), {"units": units[name]})
            for name, values in cells.items()
        },
        {
            "time": daily.index.to_numpy(),
            "lat": ("lat", [36.0, 37.0], {"units": "degrees_north"}),
            "lon": ("lon", [-82.0, -81.0], {"units": "degrees_east"}),
        },
    )


def compared(grid: xr.Dataset, folder: Path) -> list[int]:
    """Compare every answer at every cell; the number of winters of each, 0 where neither answers."""
    path, out = folder / "grid.nc", folder / "map.nc"
    grid.to_netcdf(path)
    words = [word for name in SPECIES for word in ("--species", name)]
    said = chillplan("map", "--weather", path, "--out", out, "--overwrite", *words)
    assert said.code in {0, 3}, said.err
    counted = []
    with open_map(out) as data:
        for number, (latitude, longitude) in enumerate(PLACES):
            found = data.isel(period=0, warming=0, lat=number // SIDE, lon=number % SIDE)
            place = ("--weather", path, "--latitude", latitude, "--longitude", longitude)
            answer = chillplan("plan", *place, *words, "--today", "2026-09-01", "--format", "json")
            if answer.code != 0:
                assert answer.code in {2, 3}, answer.err
                assert np.isnan(found["seasons"]).item() or int(found["seasons"]) == 0, answer.err
                counted.append(0)
                continue
            plan = json.loads(answer.out)
            counted.append(int(found["seasons"]))
            assert plan["weather"]["winters"] == counted[-1]
            for name in SPECIES:
                one = next(row for row in plan["species"] if row["name"] == name)
                cell = found.sel(species=name)
                assert VERDICTS[int(cell["verdict"])] == one["verdict"], (name, number)
                assert [int(cell["good"]), int(cell["winters"])] == [one["good_winters"], one["winters"]]
                assert float(cell["chance"]) / 100.0 == pytest.approx(one["chance"], abs=0.0051)
            for key in ("chill_days", "effective_chill"):
                said_of = plan["winter"][key]
                assert found[key].values.tolist() == pytest.approx([said_of[f"p{p}"] for p in (10, 50, 90)], abs=0.051)
    return counted


def changed(grid: xr.Dataset, **names: object) -> xr.Dataset:
    """Other values under the attributes that a variable has."""
    return grid.assign({name: values.assign_attrs(grid[name].attrs) for name, values in names.items()})


def holed(grid: xr.Dataset, gaps: int, length: int, seed: int = 5) -> xr.Dataset:
    first = np.random.default_rng(seed).choice(np.arange(50, grid.sizes["time"] - 50, 3 * length), gaps, replace=False)
    lost = np.isin(np.arange(grid.sizes["time"]), (first[:, None] + np.arange(length)).ravel())
    there = xr.DataArray(~lost, dims="time")
    return changed(grid, tmin=grid["tmin"].where(there), tmax=grid["tmax"].where(there))


def test_gaps_of_four_days_are_bridged_on_a_map_too(tmp_path: Path) -> None:
    assert compared(holed(demo_grid(), 260, 4), tmp_path) == [40] * 4


def test_missing_rain_is_guessed_alike_in_a_season_and_before_it(tmp_path: Path) -> None:
    grid = demo_grid(first="2010-01-01", last="2020-12-31")
    day = pd.DatetimeIndex(grid["time"].to_numpy())
    before_the_first = (day >= "2010-04-15") & (day < "2010-07-01")
    assert (
        compared(
            grid.assign(precipitation=grid["precipitation"].where(~xr.DataArray(before_the_first, dims="time"))),
            tmp_path,
        )
        == [10] * 4
    )
    # Every second winter, at two cells only; a third lacks nearly all its rain in two seasons, a fourth in most.
    rain = grid["precipitation"].load()
    cold = np.isin(day.month, (11, 12, 1, 2, 3)) & (day.year % 2 == 0)
    rain[cold, 0, :] = np.nan
    rain[(day >= "2013-08-01") & (day < "2015-06-01"), 1, 0] = np.nan
    rain[day >= "2013-08-01", 1, 1] = np.nan
    assert compared(grid.assign(precipitation=rain), tmp_path) == [10, 10, 8, 10]


def test_crossed_days_stray_values_and_standing_values_are_removed_alike(tmp_path: Path) -> None:
    grid = demo_grid(first="2010-01-01").load()
    random = np.random.default_rng(6)
    crossed = random.choice(grid.sizes["time"], 60, replace=False)
    low, high = grid["tmin"].values, grid["tmax"].values
    low[crossed, 0, 0], high[crossed, 0, 0] = high[crossed, 0, 0], low[crossed, 0, 0]
    low[random.choice(len(low), 30), 0, 1] = -999.0
    high[3000:3040, 1, 0] = 21.0
    # More than one day in fifty crossed: nothing of this place can be trusted.
    many = random.choice(len(low), len(low) // 20, replace=False)
    low[many, 1, 1], high[many, 1, 1] = high[many, 1, 1] + 1.0, low[many, 1, 1]
    winters = compared(grid, tmp_path)
    assert min(winters[:3]) >= 15
    assert winters[3] == 0


def test_other_names_and_units_are_told_alike(tmp_path: Path) -> None:
    grid = holed(demo_grid(first="2010-01-01"), 40, 3)
    other = xr.Dataset(
        {
            "tmmn": (grid["tmin"] + 273.15).assign_attrs(units="K"),
            "tmmx": (grid["tmax"] * 1.8 + 32.0).assign_attrs(units="degF"),
            "ppt": (grid["precipitation"] / 25.4).assign_attrs(units="inches"),
        }
    )
    assert compared(other, tmp_path) == [16] * 4


@pytest.mark.parametrize("calendar", ["noleap", "all_leap", "360_day"])
def test_other_calendars_are_read_alike(tmp_path: Path, calendar: str) -> None:
    grid = demo_grid(first="2010-01-01")
    times = xr.date_range("2010-01-01", periods=grid.sizes["time"], calendar=calendar, use_cftime=True)
    assert compared(grid.assign_coords(time=times), tmp_path) == [16] * 4


def test_days_out_of_order_and_left_out_are_read_alike(tmp_path: Path) -> None:
    grid = demo_grid(first="2014-01-01")
    kept = np.random.default_rng(7).permutation(np.delete(np.arange(grid.sizes["time"]), slice(100, 1500, 11)))
    assert compared(grid.isel(time=kept), tmp_path) == [12] * 4


def test_extremes_that_cross_once_a_gap_is_bridged_are_read_alike(tmp_path: Path) -> None:
    """A cold highest temperature beside a missing lowest one: the line drawn for the lowest lies above it."""
    grid = demo_grid(first="2012-01-01", last="2020-12-31").load()
    for day in range(30, 3000, 100):
        grid["tmin"].values[day : day + 3] = np.nan
        grid["tmax"].values[day] = -3.0
    assert compared(grid, tmp_path) == [8] * 4


@settings(
    max_examples=3, deadline=None, phases=[Phase.explicit, Phase.generate], suppress_health_check=list(HealthCheck)
)
@given(st.integers(0, 10_000), st.integers(1, 7), st.integers(1, 120))
@example(346, 3, 100)
def test_damage_of_any_kind_is_read_alike(tmp_path: Path, seed: int, length: int, gaps: int) -> None:
    grid = holed(demo_grid(first="2012-01-01", last="2020-12-31"), gaps, length, seed).load()
    random = np.random.default_rng(seed)
    for name in ("tmin", "tmax", "precipitation"):
        values = grid[name].values
        where = tuple(random.integers(0, size, 15) for size in values.shape)
        values[where] = random.choice([np.nan, -999.0, 999.0, 70.0, -3.0, 20.0], 15)
    compared(grid, tmp_path)
