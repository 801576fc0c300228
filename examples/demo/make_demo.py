"""Makes the weather of the embedded demo: 40 invented winters on an invented hillside.

Nothing here was observed. A yearly wave, a daily range that follows the season, spells of warm and cold air that fade
over some days, and showers that come in spells are drawn from a seeded generator, so that the file is the same each
time.

Run from anywhere: ``python examples/demo/make_demo.py`` writes ``data/demo_weather.csv``.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

SEED = 20260801
FIRST, LAST = "1986-01-01", "2026-07-31"
MEAN, SWING, COLDEST_DAY = 13.3, 11.4, 22  # yearly mean and half range of the daily mean [°C], day of the year
WARMING = 0.025  # °C a year
OUT = Path(__file__).resolve().parents[2] / "data" / "demo_weather.csv"


def invented_weather() -> pd.DataFrame:
    """Daily tmin, tmax [°C] and precipitation [mm]."""
    random = np.random.default_rng(SEED)
    dates = pd.date_range(FIRST, LAST, freq="D")
    days = np.arange(dates.size)
    angle = 2.0 * np.pi * (dates.day_of_year.to_numpy() - COLDEST_DAY) / 365.25
    winter = (1.0 + np.cos(angle)) / 2.0
    yearly = np.repeat(random.normal(0.0, 0.8, 42), 366)[: dates.size]
    spells = fading(random.normal(0.0, 1.0, dates.size), 0.78) * (2.4 + 1.9 * winter)
    mean = MEAN - SWING * np.cos(angle) + yearly + spells + WARMING * (days - days.mean()) / 365.25
    wet = showers(random, dates.size)
    spread = 11.5 - 3.2 * winter - 3.5 * wet + random.normal(0.0, 1.8, dates.size)
    spread = np.maximum(spread, 1.5)
    rain = np.where(wet, random.gamma(0.75, 11.0, dates.size), 0.0)
    return pd.DataFrame(
        {
            "date": dates.strftime("%Y-%m-%d"),
            "tmin": (mean - spread / 2.0).round(1),
            "tmax": (mean + spread / 2.0).round(1),
            "precipitation": rain.round(1),
        }
    )


def fading(noise: np.ndarray, memory: float) -> np.ndarray:
    """Noise with a memory from day to day, of unit standard deviation."""
    state, out = 0.0, np.empty_like(noise)
    fresh = np.sqrt(1.0 - memory**2)
    for day, shock in enumerate(noise):
        state = memory * state + fresh * shock
        out[day] = state
    return out


def showers(random: np.random.Generator, count: int) -> np.ndarray:
    """Wet days in spells: a wet day follows a dry one in 24 of 100, a wet one in 46."""
    draws = random.random(count)
    wet, out = False, np.empty(count, dtype=bool)
    for day, draw in enumerate(draws):
        wet = draw < (0.46 if wet else 0.24)
        out[day] = wet
    return out


if __name__ == "__main__":
    invented_weather().to_csv(OUT, index=False, lineterminator="\n")
    print(f"wrote {OUT.name}: invented weather, {FIRST} to {LAST}")
