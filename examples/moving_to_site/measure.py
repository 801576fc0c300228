"""How well one station's record, moved to another station, stands for the other's own thermometer.

    python examples/moving_to_site/measure.py RECORD [RECORD ...]

The records hold several stations with coordinates and heights. Every pair within 400 km is tried both ways: the first
station's record is carried to the second by height alone, and with a tie fitted on 30, 90 or 365 days of the second
station's readings (starting at a random day). Errors are root mean squares of daily tmin and tmax on all days that the
tie did not use. Nothing is fitted to these errors.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import numpy as np
import pandas as pd

from chillplan.errors import DataGapError
from chillplan.site import Site
from chillplan.weather.history import History
from chillplan.weather.move import move_to_site
from chillplan.weather.nearness import distance_km
from chillplan.weather.read import read_weather
from chillplan.weather.tie import fit_tie

WITHIN_KM, TIE_DAYS = 400.0, (30, 90, 365)


def error(history: History, target: History, days: pd.DatetimeIndex, name: str) -> float:
    gap = history.daily[name].reindex(days) - target.daily[name].reindex(days)
    return float(np.sqrt(np.nanmean(gap.to_numpy(dtype=float) ** 2)))


def measure(source: History, target: History, random: np.random.Generator) -> list[dict[str, object]]:
    place, origin = target.provenance, source.provenance
    site = Site(latitude=place.latitude, longitude=place.longitude, elevation=place.elevation)
    moved = move_to_site(source, site)
    shared = source.daily.dropna(subset=["tmin", "tmax"]).index.intersection(
        target.daily.dropna(subset=["tmin", "tmax"]).index
    )
    if len(shared) < 5 * 365:
        return []
    rows = []
    climb = abs(place.elevation - origin.elevation)
    for length in TIE_DAYS:
        start = shared[int(random.integers(0, len(shared) - length - 1))]
        part = replace(target, daily=target.daily.loc[start : start + pd.Timedelta(days=length - 1)])
        unused = shared[(shared < start) | (shared > start + pd.Timedelta(days=length + 30))]
        try:
            tied = move_to_site(source, replace(site, tie=fit_tie(moved, part).coefficients))
        except DataGapError:
            continue
        for name in ("tmin", "tmax"):
            rows.append(
                {
                    "variable": name,
                    "tie_days": length,
                    "climb": climb,
                    "as it is": error(source, target, unused, name),
                    "moved": error(moved, target, unused, name),
                    "tied": error(tied, target, unused, name),
                }
            )
    return rows


def main(paths: list[Path]) -> None:
    stations = read_weather(paths)
    random = np.random.default_rng(2026)
    rows: list[dict[str, object]] = []
    pairs = 0
    for source, target in permutations(stations, 2):
        first, second = source.provenance, target.provenance
        if distance_km(first.latitude, first.longitude, second.latitude, second.longitude) <= WITHIN_KM:
            found = measure(source, target, random)
            pairs += bool(found)
            rows += found
    table = pd.DataFrame(rows)
    print(f"{pairs} ordered pairs of stations within {WITHIN_KM:.0f} km; medians of the pairs' errors [°C]")
    print(table.groupby(["variable", "tie_days"])[["as it is", "moved", "tied"]].median().round(2).to_string())
    steep = table[(table["climb"] >= 300.0) & (table["tie_days"] == TIE_DAYS[0])]
    print(f"\nThe {len(steep) // 2} pairs that differ by 300 m or more in height")
    print(steep.groupby("variable")[["as it is", "moved"]].median().round(2).to_string())
    better = table.assign(better=table["tied"] < table["moved"]).groupby(["variable", "tie_days"])["better"].mean()
    print("\nShare of pairs in which the tie is better than height alone")
    print(better.round(2).to_string())


if __name__ == "__main__":
    main([Path(name) for name in sys.argv[1:]])
