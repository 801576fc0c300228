"""The development stations as arrays for fitting and scoring; found through CHILLPLAN_OBSERVATIONS."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from chillplan.seasons.soil_faults import followed_through
from chillplan.seasons.soilcheck import winter_spans

FILES = ("uscrn_soil_development.parquet", "uscrn_soil_development_2.parquet")
GROUPS = 8


@dataclass(frozen=True)
class Records:
    """All stations on one calendar; arrays have the shape (station, day), NaN where missing except in air and water."""

    stations: list[str]
    dates: np.ndarray
    day_of_year: np.ndarray
    latitude: np.ndarray
    elevation: np.ndarray
    tmin: np.ndarray
    tmax: np.ndarray
    precipitation: np.ndarray
    soil: np.ndarray
    soil_10cm: np.ndarray
    moisture: np.ndarray

    @property
    def group(self) -> np.ndarray:
        """Group of each station, in which it is left out together with others spread over the alphabet."""
        return np.arange(len(self.stations)) * 5 % GROUPS

    def winters(self) -> list[tuple[int, slice]]:
        """Station and days of every usable winter."""
        return [
            (station, span)
            for station in range(len(self.stations))
            for _, span in winter_spans(self.dates, self.soil[station], southern=False)
        ]


def read_records() -> Records:
    """Read the development files; air gaps are followed_through, missing precipitation counts as none."""
    folder = os.environ.get("CHILLPLAN_OBSERVATIONS")
    if not folder:
        raise SystemExit("set CHILLPLAN_OBSERVATIONS to the folder of observed records")
    table = pd.concat([pd.read_parquet(Path(folder) / name).astype({"station": str}) for name in FILES])
    calendar = pd.date_range(table["date"].min(), table["date"].max(), freq="D")
    names = sorted(map(str, table["station"].unique()))

    def wide(column: str) -> np.ndarray:
        values = table.pivot(index="date", columns="station", values=column).reindex(calendar)
        return values[names].to_numpy(dtype=float).T

    day_of_year = np.asarray(calendar.day_of_year)
    low, high = (
        np.stack([followed_through(row, day_of_year) for row in wide(column)]) for column in ("tmin_c", "tmax_c")
    )
    place = table.groupby("station")[["latitude", "elevation_m"]].first().loc[names]
    return Records(
        names,
        calendar.to_numpy(dtype="datetime64[D]"),
        day_of_year,
        place["latitude"].to_numpy(dtype=float),
        np.nan_to_num(place["elevation_m"].to_numpy(dtype=float)),
        np.minimum(low, high),
        np.maximum(low, high),
        np.nan_to_num(wide("precip_mm")),
        wide("soil_temp_5cm_c"),
        wide("soil_temp_10cm_c"),
        wide("soil_moisture_5cm"),
    )
