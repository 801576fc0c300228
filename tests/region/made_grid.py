"""Invented grids of daily weather, small enough for tests."""

from __future__ import annotations

import numpy as np
import pandas as pd
import xarray as xr

__all__ = ["made_grid", "made_series"]


def made_series(
    latitude: np.ndarray, first: str, last: str, seed: int = 0
) -> tuple[pd.DatetimeIndex, np.ndarray, np.ndarray, np.ndarray]:
    """Days, tmin, tmax [°C] and precipitation [mm] of places of given latitudes, float32, shape (time, place)."""
    random = np.random.default_rng(seed)
    days = pd.date_range(first, last, freq="D")
    shape = (days.size, latitude.size)
    away = np.abs(latitude)
    mean = 27.0 - 0.52 * (away - 18.0) + random.normal(0.0, 3.0, latitude.size)
    swing = 3.0 + 0.24 * (away - 18.0) + random.normal(0.0, 1.0, latitude.size)
    phase = np.where(latitude < 0.0, 182.6, 0.0)
    year = np.cos(2.0 * np.pi * (days.day_of_year.to_numpy()[:, None] - 20 - phase) / 365.25)
    weather = np.zeros(shape)
    shocks = random.normal(0.0, 2.5, shape)
    for day in range(1, days.size):
        weather[day] = 0.7 * weather[day - 1] + shocks[day]
    middle, spread = mean - swing * year + weather, random.gamma(4.0, 2.5, shape)
    wet = random.random(shape) < random.uniform(0.08, 0.4, latitude.size)
    rain = np.where(wet, random.exponential(6.0, shape), 0.0)
    return (
        days,
        (middle - spread / 2.0).astype(np.float32),
        (middle + spread / 2.0).astype(np.float32),
        rain.astype(np.float32),
    )


def made_grid(
    rows: int = 4, columns: int = 5, first: str = "1998-01-01", last: str = "2004-12-31", seed: int = 0
) -> xr.Dataset:
    """A grid of the northern middle latitudes with CF names; the second row's third cell is water."""
    latitude, longitude = np.linspace(56.0, 32.0, rows), np.linspace(-100.0, -70.0, columns)
    days, low, high, rain = made_series(np.repeat(latitude, columns), first, last, seed)
    shape = (days.size, rows, columns)
    low, high, rain = low.reshape(shape), high.reshape(shape), rain.reshape(shape)
    for values in (low, high, rain):
        values[:, 1, 2] = np.nan
    dims = ("time", "lat", "lon")
    air = {"standard_name": "air_temperature", "units": "degC"}
    return xr.Dataset(
        {
            "tasmin": (dims, low, {**air, "cell_methods": "time: minimum"}),
            "tasmax": (dims, high, {**air, "cell_methods": "time: maximum"}),
            "pr": (dims, rain, {"standard_name": "precipitation_amount", "units": "mm"}),
        },
        {
            "time": days,
            "lat": ("lat", latitude, {"units": "degrees_north", "standard_name": "latitude"}),
            "lon": ("lon", longitude, {"units": "degrees_east", "standard_name": "longitude"}),
        },
    )
