"""What calibration on one year does for the other years: every year of every station takes its turn.

Run (two minutes with the shipped parameters, ten with those of the left-out groups):
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/calibrated.py shipped
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/calibrated.py left-out

Prints the scores on the years that were not fitted: without calibration, with every day alike, and as it is done.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from records import Records, read_records
from run_all import NAMES, Runner, with_values
from scores import FOLDS, line

from chillplan.physics import seed_zone as model
from chillplan.physics.parameters import WITH_PRECIPITATION, Parameters
from chillplan.report.soilcheck import summary_of
from chillplan.seasons import calibrate as calibration
from chillplan.seasons.soilcheck import SoilCheck, compare

YEAR = 365
ENOUGH = 0.9  # share of the fitted year's days with a soil value
AS_IT_IS: dict[str, Any] = {}
ALIKE = {"FROZEN_WEIGHT": 1.0, "DAYS_AS_ONE": 30.0, "PRIOR": {**calibration.PRIOR, "snow": 0.7}}


@contextmanager
def starting_from(parameters: Parameters, settings: dict[str, Any]) -> Iterator[None]:
    """The package with other parameters and other settings of the calibration."""
    with ExitStack() as changes:
        changes.enter_context(patch.object(model, "WITH_PRECIPITATION", parameters))
        for name, value in settings.items():
            changes.enter_context(patch.object(calibration, name, value))
        yield


def years(records: Records) -> list[int]:
    """First days of the years from September that have a year before them."""
    september = [np.datetime64(f"{year}-09-01") for year in range(2009, 2024)]
    firsts = [int((day - records.dates[0]).astype(int)) for day in september]
    return [first for first in firsts if YEAR <= first <= records.dates.size - YEAR]


def judged(
    records: Records, parameters: Parameters, stations: NDArray[np.int_], settings: dict[str, Any] | None
) -> list[SoilCheck]:
    """Stations by years: the other years, after calibration with some settings, or None for without."""
    runner = Runner(records, True)
    runner.everywhere(parameters)
    climate = runner.known_climate
    assert climate is not None
    site: dict[str, Any] = {
        "latitude": records.latitude[stations],
        "depth_cm": 5.0,
        "mean_annual_temperature": climate.mean_temperature[stations],
        "aridity": climate.aridity[stations],
    }
    air = [series[stations].T for series in (records.tmin, records.tmax, records.precipitation)]
    soil, found = records.soil[stations].T, []
    with starting_from(parameters, settings or {}):
        for first in years(records):
            fitted = slice(first, first + YEAR)
            usable = np.isfinite(soil[fitted]).mean(axis=0) >= ENOUGH
            if not usable.any():
                continue
            window = slice(first - YEAR, first + YEAR)
            low, high, water = (series[window] for series in air)
            days = {"day_of_year": records.day_of_year[window], "precipitation": water}
            values = (
                None if settings is None else calibration.calibrate(low, high, soil[window], start=YEAR, **days, **site)
            )
            zone = model.seed_zone(
                air[0],
                air[1],
                day_of_year=records.day_of_year,
                precipitation=air[2],
                calibration=values,
                **site,
            )
            other = soil.copy()
            other[fitted] = np.nan
            found += [
                compare(records.dates, zone.temperature[:, at], other[:, at], southern=False)
                for at in np.flatnonzero(usable)
            ]
    return found


def main() -> None:
    kind = sys.argv[1] if len(sys.argv) > 1 else "shipped"
    if kind not in {"shipped", "left-out"}:
        raise SystemExit(f"{kind} is not known: say shipped or left-out")
    records = read_records()
    starts = [(WITH_PRECIPITATION, np.arange(len(records.stations)))]
    if kind == "left-out":
        with FOLDS.open(encoding="utf-8", newline="") as file:
            rows = [row for row in csv.DictReader(file) if row["set"] == "with" and row["group"] != "-1"]
        starts = [
            (with_values({name: row[name] for name in NAMES}), np.flatnonzero(records.group == int(row["group"])))
            for row in rows
        ]
    for name, settings in (("before", None), ("every day alike", ALIKE), ("as it is done", AS_IT_IS)):
        checks = [one for start, stations in starts for one in judged(records, start, stations, settings)]
        print(line(f"{kind}, {name}, {len(checks)} runs", summary_of(checks)), flush=True)


if __name__ == "__main__":
    main()
