"""What is read of a grid that cannot be used, or of how it was taken: every sentence whole."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import cftime
import numpy as np
import pytest
import xarray as xr

from chillplan.errors import InputError
from chillplan.weather.grid import grid_of, read_grid
from tests.region.made_grid import made_grid


@pytest.fixture(scope="module")
def grid() -> xr.Dataset:
    return made_grid(2, 3, "2001-01-01", "2002-12-31").fillna(1.0)


def numbers(grid: xr.Dataset, name: str, change: Callable[[xr.DataArray], xr.DataArray]) -> xr.Dataset:
    """The grid with other numbers in a variable, its attributes kept."""
    return grid.assign({name: change(grid[name]).assign_attrs(grid[name].attrs)})


def unit(grid: xr.Dataset, name: str, said: str | None) -> xr.Dataset:
    other = {key: value for key, value in grid[name].attrs.items() if key != "units"}
    changed = grid[name].copy()
    changed.attrs = other if said is None else {**other, "units": said}
    return grid.assign({name: changed})


def ground(grid: xr.Dataset, name: str, value: float, said: str | None) -> xr.Dataset:
    over = grid["tasmin"].isel(time=0, drop=True) * 0.0 + value
    over.attrs = {} if said is None else {"units": said}
    return grid.assign({name: over})


def timed(grid: xr.Dataset, times: object) -> xr.Dataset:
    return grid.assign_coords(time=times)


TEMPERATURE = "set its attribute units to 'K', 'degC' or 'degF'"
LEVEL = "beside time: one (places) or two (rows and columns) are needed; choose one level or member first"
CORRECT = "correct its values, its units or its missing-value attribute"

REFUSED: dict[str, tuple[Callable[[xr.Dataset], xr.Dataset], tuple[str, ...]]] = {
    "nothing": (
        lambda grid: grid[["lat", "lon"]],
        (
            "'here.nc' has no daily minimum air temperature: name a variable tmin, or give it the standard name "
            "air_temperature and the cell methods 'time: minimum' (found: nothing)",
            "'here.nc' has no daily maximum air temperature: name a variable tmax, or give it the standard name "
            "air_temperature and the cell methods 'time: maximum' (found: nothing)",
        ),
    ),
    "no maximum": (
        lambda grid: grid.drop_vars("tasmax"),
        (
            "'here.nc' has no daily maximum air temperature: name a variable tmax, or give it the standard name "
            "air_temperature and the cell methods 'time: maximum' (found: tasmin, pr)",
        ),
    ),
    "no place": (
        lambda grid: grid.drop_vars(["lat", "lon"]).rename(lat="y", lon="x"),
        (
            "'here.nc' has no latitude: give a coordinate with the units degrees_north",
            "'here.nc' has no longitude: give a coordinate with the units degrees_east",
        ),
    ),
    "units that are not known": (
        lambda grid: unit(unit(unit(grid, "tasmin", "furlongs"), "tasmax", None), "pr", "buckets"),
        (
            f"tasmin in 'here.nc' has the units 'furlongs', which are not known for temperature: {TEMPERATURE}",
            f"tasmax in 'here.nc' has no units: {TEMPERATURE}",
            "pr in 'here.nc' has the units 'buckets', which are not known for precipitation: set its attribute units "
            "to 'mm', 'mm/day' or 'kg m-2 s-1'",
        ),
    ),
    "units of the ground": (
        lambda grid: ground(ground(ground(grid, "elevation", 1.0, None), "slope", 1.0, "steps"), "aspect", 1.0, None),
        (
            "elevation in 'here.nc' has no units: set its attribute units to 'm', 'km' or 'ft'",
            "slope in 'here.nc' has the units 'steps', which are not known for slope: set its attribute units to "
            "'degree' or 'radian'",
            "aspect in 'here.nc' has no units: set its attribute units to 'degree' or 'radian', clockwise from north",
        ),
    ),
    "heights and slopes that are on no land": (
        lambda grid: ground(ground(grid, "elevation", 8851.0, "m"), "slope", 91.0, "degree"),
        (
            f"elevation of 8851 m in 'here.nc' is outside -450 to 8850: {CORRECT}",
            f"slope of 91 degrees in 'here.nc' is outside 0 to 90: {CORRECT}",
        ),
    ),
    "no time": (
        lambda grid: grid.isel(time=0, drop=True),
        ("'here.nc': tasmin has no time axis; give daily values with a decoded time",),
    ),
    "a member too many": (
        lambda grid: grid.expand_dims(member=2),
        (f"'here.nc' has the dimensions member, lat, lon {LEVEL}",),
    ),
    "one place without an axis": (
        lambda grid: grid.isel(lat=0, lon=0),
        (f"'here.nc' has the dimensions time only {LEVEL}",),
    ),
    "rain on another grid": (
        lambda grid: grid.assign(pr=grid["pr"].isel(lon=0, drop=True)),
        (
            "precipitation in 'here.nc' has the dimensions time, lat, not time, lat, lon: give all variables on one "
            "grid",
        ),
    ),
    "a latitude for every day": (
        lambda grid: grid.drop_vars("lat").assign_coords(
            north=("time", np.full(grid.sizes["time"], 44.0), {"standard_name": "latitude"})
        ),
        ("latitude in 'here.nc' has the dimensions time: it must lie on lat, lon",),
    ),
    "degrees off the globe": (
        lambda grid: grid.assign_coords(
            lat=grid["lat"].copy(data=[56.0, 90.1]), lon=grid["lon"].copy(data=[-361.0, 0.0, 1.0])
        ),
        (
            "latitude 90.1 in 'here.nc' is outside -90 to 90: check the coordinate",
            "longitude -361 in 'here.nc' is outside -360 to 360: check the coordinate",
        ),
    ),
    "degrees that are missing": (
        lambda grid: grid.assign_coords(lat=grid["lat"].copy(data=[56.0, np.nan])),
        ("latitude nothing (NaN) in 'here.nc' is outside -90 to 90: check the coordinate",),
    ),
    "numbers for days": (
        lambda grid: timed(grid, np.arange(grid.sizes["time"])),
        ("the time axis of 'here.nc' holds no dates: give it units such as 'days since 1990-01-01' and a calendar",),
    ),
    "a day twice": (
        lambda grid: timed(grid, grid["time"].to_numpy()[[0, *range(grid.sizes["time"] - 1)]]),
        (
            "2001-01-01 comes more than once on the time axis of 'here.nc': give one value a day (daily minimum and "
            "maximum, not hours), and no overlapping files",
        ),
    ),
    "every other day": (
        lambda grid: grid.isel(time=slice(None, None, 2)),
        ("the time axis of 'here.nc' has a step of 2 days: daily values are needed",),
    ),
    "a calendar of old": (
        lambda grid: timed(grid.isel(time=slice(28)), [cftime.DatetimeJulian(2001, 1, day) for day in range(1, 29)]),
        (
            "calendar 'julian' of 'here.nc' has days that do not exist: convert it to real dates first, with xarray: "
            "data.convert_calendar('standard', align_on='year')",
        ),
    ),
    "kelvin under the name of °C": (
        lambda grid: numbers(grid, "tasmax", lambda values: values * 0.0 + 290.0),
        (
            "tmax of 290.0 °C in 'here.nc' is outside -89.4 to 57.7 °C: its units attribute does not fit its values, "
            "or missing values are not marked as such; correct it",
        ),
    ),
    "rain in metres under the name of mm": (
        lambda grid: numbers(grid, "pr", lambda values: values * 0.0 + 0.009),
        (
            "precipitation of at most 0.009 mm a day in 'here.nc' is less than any climate has: its units attribute "
            "does not fit its values; correct it",
        ),
    ),
    "one written over the other": (
        lambda grid: numbers(grid, "tasmax", lambda _: grid["tasmin"]),
        (
            "tmin equals tmax on 100 % of the days in 'here.nc': the file was written in part only, or one is a copy "
            "of the other",
        ),
    ),
    "exchanged": (
        lambda grid: numbers(grid, "tasmax", lambda _: grid["tasmin"] - 1.0),
        ("tmin is above tmax on 100 % of the days in 'here.nc': are the two exchanged?",),
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_grid_that_cannot_be_used_is_told_in_one_sentence_each(grid: xr.Dataset, case: str) -> None:
    change, words = REFUSED[case]
    with pytest.raises(InputError) as refused:
        grid_of(change(grid), "here.nc")
    assert refused.value.problems == words


def test_how_a_grid_was_taken_is_told(grid: xr.Dataset) -> None:
    named = ("tmin is tasmin [degC]", "tmax is tasmax [degC]")
    assert grid_of(grid, "here.nc").notes == (*named, "precipitation is pr [mm]")
    steep = ground(grid.drop_vars("pr"), "slope", 60.0, "degree")
    dry = "no precipitation: the seed zone is taken to be moist all winter"
    south = "slope without aspect: every slope is taken to face south"
    slope = "slope is slope [degree]"
    assert grid_of(steep, "here.nc").notes == (*named, slope, dry, south)
    for places, words in ((1, "1 place is"), (2, "2 places are")):
        steep["slope"][0, :places] = 60.1
        answer = f"{words} steeper than 60 degrees: no answer there"
        assert grid_of(steep, "here.nc").notes == (*named, slope, dry, answer, south)
    faced = ground(steep, "aspect", 180.0, "degree")
    assert south not in grid_of(faced, "here.nc").notes


def test_chunks_that_were_never_written_are_told_and_a_whole_store_is_not(
    grid: xr.Dataset, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    store = Path("here.zarr")
    grid.chunk(time=400).to_zarr(store, zarr_format=2)
    told = read_grid([store]).notes
    assert told == grid_of(grid, "here.zarr").notes
    (store / "tasmax" / "0.0.0").unlink()
    assert read_grid([store]).notes == (
        *told,
        "1 of 2 chunks of tasmax were never written to 'here.zarr' and count as missing: well if they are water, else "
        "write the store whole first",
    )
