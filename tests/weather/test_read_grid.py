"""A point of a gridded file becomes a history: names, units, calendars, longitudes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import xarray

from chillplan.errors import InputError, SourceError
from chillplan.weather.file_bytes import is_grid
from chillplan.weather.history import History
from chillplan.weather.read import load_history


def read_grid_point(path: Path, latitude: float, longitude: float, method: str = "nearest") -> History:
    return load_history([path], latitude=latitude, longitude=longitude, between_cells=method == "bilinear")


LATITUDES = np.array([50.0, 45.0, 40.0])
LONGITUDES = np.array([280.0, 285.0, 290.0])


def dataset(times: object = None, units: str = "K", **names: str) -> xarray.Dataset:
    days = pd.date_range("2000-01-01", "2001-12-31") if times is None else times
    shape = (len(days), 3, 3)  # type: ignore[arg-type]
    ramp = np.broadcast_to(LATITUDES[:, None] / 10.0 + LONGITUDES[None, :] / 100.0, shape)
    wave = np.sin(np.arange(shape[0]))[:, None, None]
    zero = 273.15 if units == "K" else 0.0
    axes = ("time", "lat", "lon")
    return xarray.Dataset(
        {
            names.get("tmin", "tasmin"): (axes, ramp + wave + zero, {"units": units}),
            names.get("tmax", "tasmax"): (axes, ramp + wave + 8.0 + zero, {"units": units}),
            "pr": (axes, np.full(shape, 2.0 / 86400.0), {"units": "kg m-2 s-1"}),
        },
        coords={"time": days, "lat": LATITUDES, "lon": LONGITUDES},
        attrs={"license": "CC BY 4.0"},
    )


@pytest.mark.parametrize("form", ["nc", "zarr"])
def test_the_nearest_cell_in_house_units(tmp_path: Path, form: str) -> None:
    path = tmp_path / f"grid.{form}"
    dataset().to_netcdf(path) if form == "nc" else dataset().to_zarr(path)
    assert is_grid(path)
    history = read_grid_point(path, 44.0, -74.0)
    np.testing.assert_allclose(history.daily["tmin"], 4.5 + 2.85 + np.sin(np.arange(731)), atol=5e-5)
    np.testing.assert_allclose(history.daily["precipitation"], 2.0, atol=1e-6)
    assert (history.provenance.latitude, history.provenance.longitude) == (45.0, -75.0)
    assert history.provenance.licence == "CC BY 4.0"
    assert "grid cell" in history.provenance.notes[0]


def test_between_four_cells_a_ramp_is_exact(tmp_path: Path) -> None:
    dataset(units="degC").to_netcdf(tmp_path / "grid.nc")
    history = read_grid_point(tmp_path / "grid.nc", 43.0, -73.0, method="bilinear")
    np.testing.assert_allclose(history.daily["tmin"], 4.3 + 2.87 + np.sin(np.arange(731)), atol=5e-5)


def test_cell_methods_tell_minimum_from_maximum(tmp_path: Path) -> None:
    grid = dataset(tmin="one", tmax="two")
    for name, method in (("one", "minimum"), ("two", "maximum")):
        grid[name].attrs |= {"standard_name": "air_temperature", "cell_methods": f"time: {method}"}
    grid.to_netcdf(tmp_path / "grid.nc")
    daily = read_grid_point(tmp_path / "grid.nc", 45.0, -75.0).daily
    np.testing.assert_allclose(daily["tmax"] - daily["tmin"], 8.0, atol=5e-5)


def test_calendars_without_leap_days_and_of_360_days(tmp_path: Path) -> None:
    for calendar, missing in (("noleap", 0), ("360_day", 0)):
        times = xarray.date_range("2000-01-01", periods=720, freq="D", calendar=calendar, use_cftime=True)
        path = tmp_path / f"{calendar}.nc"
        dataset(times).to_netcdf(path)
        history = read_grid_point(path, 45.0, -75.0)
        assert history.daily["tmin"].isna().sum() == missing
        assert (history.daily["tmin_flag"] == "interpolated").sum() >= 1
        assert history.daily.index[0] == pd.Timestamp("2000-01-01")


def test_what_cannot_be_read_is_said(tmp_path: Path) -> None:
    path = tmp_path / "grid.nc"
    dataset().to_netcdf(path)
    with pytest.raises(InputError, match=r"lat 10 is outside the grid of .* 40 to 50"):
        read_grid_point(path, 10.0, -75.0)
    dataset(tmin="snow").to_netcdf(tmp_path / "no_minimum.nc")
    with pytest.raises(
        InputError, match=r"no daily minimum air temperature: name a variable tmin.*found: snow, tasmax, pr"
    ):
        read_grid_point(tmp_path / "no_minimum.nc", 45.0, -75.0)
    dataset(units="").to_netcdf(tmp_path / "no_unit.nc")
    with pytest.raises(InputError, match=r"tasmin in .* has the units '', which are not known for temperature"):
        read_grid_point(tmp_path / "no_unit.nc", 45.0, -75.0)
    dataset().rename(lat="row", lon="column").to_netcdf(tmp_path / "projected.nc")
    with pytest.raises(InputError, match="has no latitude: give a coordinate with the units degrees_north"):
        read_grid_point(tmp_path / "projected.nc", 45.0, -75.0)
    (tmp_path / "broken.nc").write_bytes(b"\x89HDF\r\n\x1a\nbroken")
    with pytest.raises(SourceError, match="cannot be read"):
        read_grid_point(tmp_path / "broken.nc", 45.0, -75.0)
