"""Invented weather for tests, and the observed records where they are at hand."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

REASON = "observed records are not at hand: set CHILLPLAN_OBSERVATIONS to their folder"


def observations() -> Path:
    """Folder of observed records; the test is skipped, saying so, where it is not set."""
    folder = os.environ.get("CHILLPLAN_OBSERVATIONS")
    if not folder or not Path(folder).is_dir():
        pytest.skip(REASON)
    return Path(folder)


def wave_weather(
    mean: float = 9.0,
    swing: float = 12.0,
    noise: float = 3.0,
    first: str = "1999-01-01",
    last: str = "2012-12-31",
    southern: bool = False,
    seed: int = 7,
) -> pd.DataFrame:
    """A yearly wave with noise; index of dates, columns tmin and tmax. [°C]"""
    dates = pd.date_range(first, last, freq="D")
    angle = 2.0 * np.pi * (dates.day_of_year.to_numpy() - (20 + 181 * southern)) / 365.25
    daily = mean - swing * np.cos(angle) + np.random.default_rng(seed).normal(0.0, noise, dates.size)
    return pd.DataFrame({"tmin": daily - 5.0, "tmax": daily + 5.0}, index=dates)
