"""An invented daily series with a known shape."""

from __future__ import annotations

import numpy as np
import pandas as pd


def daily_frame(
    first: str = "2000-01-01", last: str = "2009-12-31", southern: bool = False, seed: int = 20
) -> pd.DataFrame:
    """A seasonal cycle with weather noise, one decimal, as a thermometer gives it."""
    dates = pd.date_range(first, last, freq="D")
    noise = np.random.default_rng(seed).normal(0.0, 3.0, len(dates))
    wave = -np.cos(2 * np.pi * (dates.day_of_year.to_numpy() - 20) / 365.25) * (-1 if southern else 1)
    mean = 9.0 + 12.0 * wave + noise
    spread = np.random.default_rng(seed + 1).uniform(3.0, 7.0, len(dates))
    return pd.DataFrame({"date": dates, "tmin": np.round(mean - spread, 1), "tmax": np.round(mean + spread, 1)})
