"""Makes an invented grid of daily weather, 12 by 16 places and 12 years, for the commands in README.md beside it."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pandas as pd
import xarray as xr


def invented_grid() -> xr.Dataset:
    """Two ridges and a lake; warmer in the south, colder with height."""
    random = np.random.default_rng(20)
    days = pd.date_range("2008-01-01", "2020-12-31", freq="D")
    latitude, longitude = np.linspace(48.0, 38.0, 12), np.linspace(-80.0, -70.0, 16)
    rows, columns = np.meshgrid(latitude, longitude, indexing="ij")
    height = 900.0 * np.exp(-(((columns + 76.0) / 1.2) ** 2)) + 500.0 * np.exp(-(((columns + 72.0) / 0.8) ** 2))
    mean = 12.5 - 0.95 * (rows - 40.0) - 0.0055 * height
    swing = 10.5 + 0.35 * (rows - 40.0)
    year = np.cos(2.0 * np.pi * (days.day_of_year.to_numpy()[:, None, None] - 20) / 365.25)
    shape = (days.size, *rows.shape)
    common = np.zeros(days.size)
    for day in range(1, days.size):
        common[day] = 0.75 * common[day - 1] + random.normal(0.0, 2.4)
    air = mean - swing * year + common[:, None, None] + random.normal(0.0, 1.0, shape)
    spread = random.gamma(6.0, 0.9, shape)
    wet = (random.random(days.size) < 0.35)[:, None, None] & (random.random(shape) < 0.8)
    rain = np.where(wet, random.exponential(7.0, shape), 0.0)
    lake = ((rows - 43.5) / 1.0) ** 2 + ((columns + 78.5) / 1.0) ** 2 < 1.0
    dims = ("time", "lat", "lon")

    def variable(values: np.ndarray, **attributes: str) -> xr.Variable:
        return xr.Variable(dims, np.where(lake, np.nan, values).astype(np.float32), attributes)

    air_name = {"standard_name": "air_temperature", "units": "degC"}
    return xr.Dataset(
        {
            "tasmin": variable(air - spread, cell_methods="time: minimum", **air_name),
            "tasmax": variable(air + spread, cell_methods="time: maximum", **air_name),
            "pr": variable(rain, standard_name="precipitation_amount", units="mm"),
        },
        {
            "time": days,
            "lat": ("lat", latitude, {"standard_name": "latitude", "units": "degrees_north"}),
            "lon": ("lon", longitude, {"standard_name": "longitude", "units": "degrees_east"}),
        },
        {"title": "Invented weather", "Conventions": "CF-1.11"},
    )


if __name__ == "__main__":
    invented_grid().to_netcdf(Path(sys.argv[1] if len(sys.argv) > 1 else "grid.nc"))
