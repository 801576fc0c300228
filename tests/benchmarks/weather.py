"""How fast a long record is read and checked, and the nearest of many stations found.

    python tests/benchmarks/weather.py

Prints what was measured and, last, one line of JSON: ``read_s`` (80 years read, first checks, short gaps),
``check_s`` (the eleven quality checks on top), ``nearest_ms`` (best 10 of 20,000 stations).
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from chillplan.weather.nearness import nearest_stations
from chillplan.weather.quality import quality_findings
from chillplan.weather.read import read_weather

YEARS, STATIONS, ROUNDS = 80, 20_000, 5


def record(folder: Path) -> Path:
    """80 years of invented weather as a GHCN-Daily table in °F."""
    dates = pd.date_range("1940-01-01", periods=int(YEARS * 365.25), freq="D")
    random = np.random.default_rng(1)
    mean = (
        9.0 - 12.0 * np.cos(2 * np.pi * (dates.day_of_year.to_numpy() - 20) / 365.25) + random.normal(0, 4, len(dates))
    )
    spread = random.uniform(2, 9, len(dates))
    table = pd.DataFrame(
        {"STATION": "MADE", "DATE": dates.strftime("%Y-%m-%d"), "PRCP": random.gamma(0.3, 0.3, len(dates))}
    )
    table["TMAX"], table["TMIN"] = np.round((mean + spread) * 1.8 + 32), np.round((mean - spread) * 1.8 + 32)
    table.loc[random.random(len(dates)) < 0.01, ["TMAX", "TMIN"]] = np.nan
    path = folder / "record.csv"
    table.to_csv(path, index=False)
    return path


def best(action, rounds: int = ROUNDS) -> float:
    """Shortest of a few rounds. [s]"""
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        action()
        times.append(time.perf_counter() - began)
    return min(times)


def stations() -> pd.DataFrame:
    random = np.random.default_rng(2)
    return pd.DataFrame(
        {
            "station": [f"{number:05d}" for number in range(STATIONS)],
            "name": "Somewhere",
            "country": "US",
            "latitude": np.degrees(np.arcsin(random.uniform(-1, 1, STATIONS))),
            "longitude": random.uniform(-180, 180, STATIONS),
            "elevation": random.uniform(0, 2500, STATIONS),
            "first": random.integers(1900, 2010, STATIONS).astype(float),
            "last": 2026.0,
            "coverage": random.uniform(0.5, 1.0, STATIONS),
        }
    )


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = record(Path(folder))
        read_s = best(lambda: read_weather([path]))
        daily = read_weather([path], repair=False)[0].daily
        check_s = best(lambda: quality_findings(daily))
    table = stations()
    nearest_ms = 1000.0 * best(lambda: nearest_stations(table, 44.0, -72.0, 300.0, within_km=2000.0), 20)
    print(f"{YEARS} years read with first checks in {read_s:.3f} s, quality checks {check_s:.3f} s more")
    print(f"nearest of {STATIONS} stations in {nearest_ms:.1f} ms")
    print(json.dumps({"read_s": round(read_s, 4), "check_s": round(check_s, 4), "nearest_ms": round(nearest_ms, 2)}))


if __name__ == "__main__":
    main()
