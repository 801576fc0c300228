"""Grids as they come: names, units, calendars, order, masks; and what is refused, with a reason."""

from __future__ import annotations

from pathlib import Path

import cftime
import numpy as np
import pytest
import xarray as xr

from chillplan.errors import DataGapError, InputError, SourceError
from chillplan.region.blocks import chunk_numbers, job_of
from chillplan.region.layout import Layout
from chillplan.region.places import Ask
from chillplan.weather.grid import grid_of, read_grid
from chillplan.weather.grid_files import EPOCH
from chillplan.weather.read import load_history
from chillplan.weather.units import FACTORS, to_celsius, unit_of
from tests.region.made_grid import made_grid


@pytest.fixture(scope="module")
def grid() -> xr.Dataset:
    return made_grid()


def test_names_are_told_by_standard_name_and_cell_methods(grid: xr.Dataset) -> None:
    renamed = grid.rename(tasmin="a", tasmax="b", pr="c")
    found = grid_of(renamed, "grid")
    assert found.data["tmin"].equals(grid_of(grid, "grid").data["tmin"])
    assert found.space == ("lat", "lon")
    assert "tmin is a [degC]" in found.notes


def test_usual_names_serve_without_attributes(grid: xr.Dataset) -> None:
    plain = grid.copy()
    for name, usual in (("tasmin", "tn"), ("tasmax", "tx")):
        plain = plain.rename({name: usual})
        plain[usual].attrs = {"units": "degC"}
    assert "tmin" in grid_of(plain, "grid").data


# Factors and offsets of the SI brochure and NIST SP 811; a kilogram of water on a square metre is 1 mm deep.
@pytest.mark.parametrize(
    ("unit", "value", "celsius"),
    [("K", 273.15, 0.0), ("degC", 4.5, 4.5), ("°C", 4.5, 4.5), ("degrees_Celsius", -3.0, -3.0), ("degF", 41.0, 5.0)],
)
def test_temperature_units(unit: str, value: float, celsius: float) -> None:
    named = unit_of(unit, "temperature")
    assert named is not None
    assert to_celsius(np.array([value]), named) == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("unit", "factor"),
    [("mm", 1.0), ("mm/day", 1.0), ("kg m-2 s-1", 86400.0), ("kg m**-2 s**-1", 86400.0), ("m", 1000.0), ("in", 25.4)],
)
def test_precipitation_units(unit: str, factor: float) -> None:
    assert FACTORS["precipitation"][str(unit_of(unit, "precipitation"))] == factor


def test_kelvin_fahrenheit_and_flux_give_the_same_grid(grid: xr.Dataset) -> None:
    other = grid.copy()
    other["tasmin"] = (grid["tasmin"] + 273.15).assign_attrs(grid["tasmin"].attrs, units="K")
    other["tasmax"] = (grid["tasmax"] * 1.8 + 32.0).assign_attrs(grid["tasmax"].attrs, units="degF")
    other["pr"] = (grid["pr"] / 86400.0).assign_attrs(standard_name="precipitation_flux", units="kg m-2 s-1")
    house, same = grid_of(grid, "grid").data, grid_of(other, "other").data
    for name in ("tmin", "tmax", "precipitation"):
        np.testing.assert_allclose(same[name].values, house[name].values, atol=1e-4)


def test_everything_wrong_is_said_at_once(grid: xr.Dataset) -> None:
    bad = grid.copy()
    bad["tasmin"].attrs["units"] = "furlongs"
    del bad["tasmax"].attrs["units"]
    with pytest.raises(InputError) as caught:
        grid_of(bad, "grid")
    text = str(caught.value)
    assert "'furlongs', which are not known for temperature" in text
    assert "tasmax in 'grid' has no units" in text


def test_kelvin_under_the_name_of_celsius_is_refused(grid: xr.Dataset) -> None:
    bad = grid.copy()
    for name in ("tasmin", "tasmax"):
        bad[name] = (grid[name] + 273.15).assign_attrs(grid[name].attrs)
    with pytest.raises(InputError, match="its units attribute does not fit its values"):
        grid_of(bad, "grid")


def test_exchanged_variables_are_refused(grid: xr.Dataset) -> None:
    bad = grid.rename(tasmin="tasmax", tasmax="tasmin")
    bad["tasmin"].attrs["cell_methods"], bad["tasmax"].attrs["cell_methods"] = "time: minimum", "time: maximum"
    with pytest.raises(InputError, match="are the two exchanged"):
        grid_of(bad, "grid")


@pytest.mark.parametrize("missing", ["tasmin", "tasmax"])
def test_a_missing_variable_is_named_with_what_is_there(grid: xr.Dataset, missing: str) -> None:
    with pytest.raises(InputError, match=r"time: m.*found:"):
        grid_of(grid.drop_vars(missing), "grid")


def test_no_latitude_is_refused(grid: xr.Dataset) -> None:
    with pytest.raises(InputError, match="has no latitude"):
        grid_of(grid.drop_vars("lat").rename(lat="y"), "grid")


def test_latitude_beyond_the_pole_is_refused(grid: xr.Dataset) -> None:
    with pytest.raises(InputError, match="outside -90 to 90"):
        grid_of(grid.assign_coords(lat=grid["lat"] + 60.0), "grid")


def test_a_level_too_many_is_refused(grid: xr.Dataset) -> None:
    with pytest.raises(InputError, match="choose one level or member first"):
        grid_of(grid.expand_dims(member=2), "grid")


def numbers_of(data: xr.Dataset) -> np.ndarray:
    """All numbers of a grid for no species, shape (cell, number)."""
    grid = grid_of(data, "grid")
    job = job_of(grid, Layout(("all",), (0.0,), Ask(())), [None])
    arrays = [grid.data[name].transpose(..., "time").values for name in ("tmin", "tmax", "precipitation")]
    return chunk_numbers(*arrays, grid.data["latitude_of_place"].values, job=job, daily=3, fixed=("latitude",))


def test_order_of_time_and_latitude_does_not_matter(grid: xr.Dataset) -> None:
    expected = numbers_of(grid)
    shuffled = grid.isel(time=np.random.default_rng(1).permutation(grid.sizes["time"]), lat=slice(None, None, -1))
    np.testing.assert_array_equal(numbers_of(shuffled)[::-1], expected)


def test_water_has_no_numbers_and_a_mask_takes_land_away(grid: xr.Dataset) -> None:
    numbers = numbers_of(grid)
    assert np.isnan(numbers[1, 2]).all()
    assert np.isfinite(numbers[0, 0]).any()
    land = xr.DataArray(np.ones((4, 5)), dims=("lat", "lon"), attrs={"standard_name": "land_binary_mask"})
    land[0, 0] = 0.0
    assert not bool(grid_of(grid.assign(mask=land), "grid").data["land"][0, 0])


def test_a_calendar_without_leap_days_is_taken(grid: xr.Dataset) -> None:
    kept = grid.isel(time=~((grid["time.month"] == 2) & (grid["time.day"] == 29)))
    times = [cftime.DatetimeNoLeap(day.year, day.month, day.day) for day in kept["time"].to_index()]
    numbers = numbers_of(kept.assign_coords(time=times))
    whole = numbers_of(grid)
    known = np.isfinite(whole)
    assert (np.isfinite(numbers) == known).all()
    assert np.abs(numbers[known] - whole[known]).max() < 4.0


def test_a_calendar_of_360_days_is_spread_over_the_real_year(grid: xr.Dataset) -> None:
    """As the reference library does it: xarray, convert_calendar, align_on='year'."""
    times = xr.date_range("1998-01-01", periods=2520, calendar="360_day", use_cftime=True)
    spread = grid.isel(time=slice(0, 2520)).assign_coords(time=times)
    reference = spread.convert_calendar("standard", align_on="year")["time"].values.astype("datetime64[D]")
    days = grid_of(spread, "grid").days
    np.testing.assert_array_equal(days - EPOCH, reference.astype(np.int64))


def test_leap_days_that_do_not_exist_are_left_out(grid: xr.Dataset) -> None:
    times = xr.date_range("1998-01-01", periods=1464, calendar="all_leap", use_cftime=True)
    found = grid_of(grid.isel(time=slice(0, 1464)).assign_coords(time=times), "grid")
    assert found.days.size == found.data.sizes["time"] == 1461
    assert (np.diff(found.days) == 1).all()


def test_hours_months_and_doubles_are_refused(grid: xr.Dataset) -> None:
    with pytest.raises(InputError, match="more than once"):
        grid_of(xr.concat([grid, grid.isel(time=slice(0, 1))], "time"), "grid")
    with pytest.raises(InputError, match="daily values are needed"):
        grid_of(grid.isel(time=slice(None, None, 30)), "grid")


def test_too_few_winters(grid: xr.Dataset) -> None:
    short = grid_of(grid.isel(time=slice(0, 500)), "grid")
    with pytest.raises(DataGapError, match="at least 3 are needed"):
        job_of(short, Layout(("all",), (0.0,), Ask(())), [None])


def test_files_that_are_not_there_or_not_grids(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not there"):
        read_grid([tmp_path / "none.nc"])
    (tmp_path / "text.nc").write_text("no grid")
    with pytest.raises(SourceError, match="cannot be read as a NetCDF file"):
        read_grid([tmp_path / "text.nc"])
    (tmp_path / "empty.zarr").mkdir()
    with pytest.raises(SourceError, match="cannot be read as a Zarr store"):
        read_grid([tmp_path / "empty.zarr"])


def test_years_in_several_files_are_joined(grid: xr.Dataset, tmp_path: Path) -> None:
    paths = [tmp_path / "early.nc", tmp_path / "late.nc"]
    grid.isel(time=slice(0, 1200)).to_netcdf(paths[0])
    grid.isel(time=slice(1200, None)).to_netcdf(paths[1])
    assert read_grid(paths).days.size == grid.sizes["time"]


def test_a_file_for_each_variable_with_the_height_of_the_thermometer(grid: xr.Dataset, tmp_path: Path) -> None:
    paths = []
    for name in ("tasmin", "tasmax", "pr"):
        paths.append(tmp_path / f"{name}.nc")
        grid[[name]].assign_coords(height=2.0).to_netcdf(paths[-1])
    found = read_grid(paths)
    assert set(found.data.data_vars) == {"tmin", "tmax", "precipitation", "latitude_of_place"}


def test_heights_and_slopes_on_the_grid_are_taken(grid: xr.Dataset) -> None:
    steep = xr.DataArray(np.full((4, 5), 20.0), dims=("lat", "lon"))
    terrain = {
        "angle": (steep * np.pi / 180.0).assign_attrs(standard_name="ground_slope_angle", units="radian"),
        "aspect": (steep * 9.0).assign_attrs(units="degrees"),
        "orog": (steep * 0.03).assign_attrs(standard_name="surface_altitude", units="km"),
    }
    found = grid_of(grid.assign(terrain), "grid").data
    np.testing.assert_allclose(found["slope"], 20.0)
    np.testing.assert_allclose(found["aspect"], 180.0)
    np.testing.assert_allclose(found["elevation"], 600.0)


def test_terrain_without_a_unit_or_beyond_reason_is_refused(grid: xr.Dataset) -> None:
    steep = xr.DataArray(np.full((4, 5), 120.0), dims=("lat", "lon"))
    bad = {
        "slope": steep.assign_attrs(units="degrees"),
        "aspect": steep.assign_attrs(units="gon"),
        "elevation": steep.copy(),
    }
    with pytest.raises(InputError) as caught:
        grid_of(grid.assign(bad), "grid")
    text = str(caught.value)
    assert "slope of 120 degrees in 'grid' is outside 0 to 90" in text
    assert "aspect in 'grid' has the units 'gon', which are not known for aspect" in text
    assert "elevation in 'grid' has no units: set its attribute units to 'm', 'km' or 'ft'" in text


def test_ground_too_steep_has_no_answer_and_level_ground_faces_nowhere(grid: xr.Dataset) -> None:
    slope = xr.DataArray(np.full((4, 5), 20.0), dims=("lat", "lon"), attrs={"units": "degrees"})
    slope[0, 1] = 75.0
    aspect = xr.DataArray(np.full((4, 5), -1.0), dims=("lat", "lon"), attrs={"units": "degrees"})
    found = grid_of(grid.assign(slope=slope, aspect=aspect), "grid")
    assert not bool(found.data["land"][0, 1])
    assert bool(found.data["land"][0, 0])
    assert np.isnan(found.data["aspect"].values).all()
    assert "1 place is steeper than 60 degrees: no answer there" in found.notes


def test_a_coordinate_named_latitude_serves(grid: xr.Dataset) -> None:
    """As the daily statistics of many reanalyses name it."""
    long = grid.rename(lat="latitude", lon="longitude")
    np.testing.assert_array_equal(numbers_of(long), numbers_of(grid))


def test_coordinates_that_differ_by_rounding_are_the_same(grid: xr.Dataset, tmp_path: Path) -> None:
    grid.to_netcdf(tmp_path / "grid.nc")
    height = xr.Dataset({"orog": (("lat", "lon"), np.full((4, 5), 350.0), {"units": "m"})}, grid.coords)
    height = height.drop_vars("time").assign_coords(lat=grid["lat"].astype("float32"))
    height.assign_coords(lon=grid["lon"] + 1e-6).to_netcdf(tmp_path / "height.nc")
    found = read_grid([tmp_path / "grid.nc", tmp_path / "height.nc"])
    assert found.data["elevation"].sizes == {"lat": 4, "lon": 5}


def test_chunks_that_were_never_written_are_told(grid: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "grid.zarr"
    grid.chunk(time=400).to_zarr(path, zarr_format=2)
    (path / "tasmin" / "2.0.0").unlink()
    found = read_grid([path])
    assert any(note.startswith("1 of 7 chunks of tasmin were never written") for note in found.notes)


def test_a_changed_grid_is_another_grid(grid: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "grid.nc"
    grid.to_netcdf(path)
    before = read_grid([path])
    assert read_grid([path]).stamp == before.stamp
    path.unlink()
    grid.assign(tasmin=(grid["tasmin"] - 1.0).assign_attrs(grid["tasmin"].attrs)).to_netcdf(path)
    assert read_grid([path]).stamp != before.stamp


def test_rain_in_the_wrong_unit_or_unmarked_missing_values_are_refused(grid: xr.Dataset) -> None:
    flux = grid.assign(pr=(grid["pr"] / 86400.0).assign_attrs(grid["pr"].attrs))
    with pytest.raises(InputError, match="less than any climate has"):
        grid_of(flux, "grid")
    with pytest.raises(InputError, match="missing values are not marked as such"):
        grid_of(grid.assign(tasmin=grid["tasmin"].fillna(-999.0)), "grid")


def test_no_longitude_is_refused(grid: xr.Dataset) -> None:
    with pytest.raises(InputError, match="has no longitude: give a coordinate with the units degrees_east"):
        grid_of(grid.drop_vars("lon"), "grid")


def test_rows_and_columns_that_are_not_straight(grid: xr.Dataset) -> None:
    rows, columns = np.meshgrid(grid["lat"], grid["lon"], indexing="ij")
    turned = grid.drop_vars(["lat", "lon"]).rename(lat="y", lon="x")
    turned = turned.assign_coords(
        lat=(("y", "x"), rows, {"units": "degrees_north"}), lon=(("y", "x"), columns, {"units": "degrees_east"})
    )
    assert grid_of(turned, "grid").space == ("y", "x")
    np.testing.assert_array_equal(numbers_of(turned), numbers_of(grid))


def test_files_of_two_grids_are_refused(grid: xr.Dataset, tmp_path: Path) -> None:
    paths = [tmp_path / "tasmin.nc", tmp_path / "tasmax.nc"]
    grid[["tasmin"]].to_netcdf(paths[0])
    grid[["tasmax"]].assign_coords(lat=grid["lat"] + 0.01).to_netcdf(paths[1])
    with pytest.raises(InputError, match="do not fit together"):
        read_grid(paths)


def test_a_file_written_in_part_is_refused(grid: xr.Dataset) -> None:
    """The rest of such a file often reads as 0."""
    rest = grid["time"] > np.datetime64("2001-06-01")
    part = {name: grid[name].where(~rest, 0.0).assign_attrs(grid[name].attrs) for name in ("tasmin", "tasmax")}
    with pytest.raises(InputError, match=r"tmin equals tmax on .* the file was written in part only"):
        grid_of(grid.assign(part), "grid")


def test_a_damaged_chunk_is_told_with_its_place(grid: xr.Dataset, tmp_path: Path) -> None:
    path = tmp_path / "grid.zarr"
    grid.chunk(time=-1, lat=2).to_zarr(path, zarr_format=2)
    (path / "tasmax" / "0.0.0").write_bytes(b"no chunk")
    with pytest.raises(
        SourceError, match=r"'grid\.zarr' cannot be read: .*; is it whole\? Mend it, and give the command again$"
    ):
        read_grid([path])


def test_a_latitude_that_is_missing_is_refused(grid: xr.Dataset) -> None:
    latitude = grid["lat"].values.copy()
    latitude[1] = np.nan
    bad = grid.assign_coords(lat=("lat", latitude, grid["lat"].attrs))
    with pytest.raises(InputError, match=r"latitude nothing \(NaN\) in 'grid' is outside -90 to 90"):
        grid_of(bad, "grid")


@pytest.mark.parametrize("version", [2, 3])
def test_a_chunk_cut_short_is_told(grid: xr.Dataset, tmp_path: Path, version: int) -> None:
    path = tmp_path / "grid.zarr"
    grid.chunk(time=-1).to_zarr(path, zarr_format=version)
    chunk = max((one for one in (path / "tasmin").rglob("*") if one.is_file()), key=lambda one: one.stat().st_size)
    chunk.write_bytes(chunk.read_bytes()[:1000])
    for asked in (lambda: read_grid([path]), lambda: load_history([path], latitude=45.0, longitude=-85.0)):
        with pytest.raises(
            SourceError, match=r"'.*grid\.zarr' cannot be read: .*; is it whole\? Mend it, and give the command again$"
        ):
            asked()


@pytest.mark.parametrize("percent", ["%", "percent"])
def test_a_share_of_land_in_percent_is_no_fraction(grid: xr.Dataset, percent: str) -> None:
    """Both spellings are units of UDUNITS, which the CF conventions take (section 3.1)."""
    share = xr.DataArray(np.full((4, 5), 20.0), dims=("lat", "lon"), attrs={"units": percent})
    share[0, 0] = 80.0
    land = grid_of(grid.assign(sftlf=share), "grid").data["land"]
    assert int(land.sum()) == 1
    assert bool(land[0, 0])
    fraction = (share / 100.0).assign_attrs(units="1")
    assert grid_of(grid.assign(sftlf=fraction), "grid").data["land"].equals(land)


def test_days_of_the_time_axis_are_those_of_the_file(grid: xr.Dataset) -> None:
    """1 January 1998 is day 729390 of the proleptic Gregorian calendar (Python, datetime.date.toordinal)."""
    assert grid_of(grid, "grid").days[0] == 729390
    times = xr.date_range("1998-01-01", periods=grid.sizes["time"], calendar="noleap", use_cftime=True)
    assert grid_of(grid.assign_coords(time=times), "grid").days[[0, 59]].tolist() == [729390, 729449]


def test_a_store_of_five_chunks_answers(grid: xr.Dataset, tmp_path: Path) -> None:
    grid.chunk(time=grid.sizes["time"] // 5 + 1).to_zarr(tmp_path / "grid.zarr", zarr_format=2)
    grid.to_netcdf(tmp_path / "grid.nc")
    low = [load_history([tmp_path / name], latitude=56.0, longitude=-100.0).daily for name in ("grid.zarr", "grid.nc")]
    assert low[0].equals(low[1])
