"""What calibration on one year does for the other years: every year of every station takes its turn.

Run (two minutes with the shipped parameters, five with those of the left-out groups):
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/calibrated.py shipped
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/calibrated.py left-out
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/calibrated.py spread

The first two print the scores on the years that were not fitted: without calibration, with it, and fitted to all years
at once, these included (which no logger can do: it shows where the site parameters end); and the error that is left,
between places and between the winters of one. The third prints how far the stations differ in each site parameter,
fitted to all their years with priors three times as wide.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
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
from chillplan.seasons.soilcheck import SoilCheck, compare, winter_spans

YEAR = 365
ENOUGH = 0.9  # share of the fitted year's days with a soil value
WIDE = 3.0  # times the priors, where the spread between stations is measured

Values = dict[str, NDArray[np.floating]]


@dataclass(frozen=True)
class Run:
    """One station with one year set aside, judged on the others."""

    check: SoilCheck
    errors: NDArray[np.floating]  # of the mean of each winter [°C]


def years(records: Records) -> list[int]:
    """First days of the years from September that have a year before them."""
    september = [np.datetime64(f"{year}-09-01") for year in range(2009, 2024)]
    firsts = [int((day - records.dates[0]).astype(int)) for day in september]
    return [first for first in firsts if YEAR <= first <= records.dates.size - YEAR]


class Stations:
    """Some stations with some parameters of the model."""

    def __init__(self, records: Records, parameters: Parameters, stations: NDArray[np.int_]) -> None:
        self.records, self.parameters = records, parameters
        runner = Runner(records, True)
        runner.everywhere(parameters)
        climate = runner.known_climate
        assert climate is not None
        self.site: dict[str, Any] = {
            "latitude": records.latitude[stations],
            "depth_cm": 5.0,
            "mean_annual_temperature": climate.mean_temperature[stations],
            "aridity": climate.aridity[stations],
        }
        self.air = [series[stations].T for series in (records.tmin, records.tmax, records.precipitation)]
        self.soil = records.soil[stations].T

    def usable(self, first: int) -> NDArray[np.int_]:
        """Stations whose soil is known well enough in a year."""
        return np.flatnonzero(np.isfinite(self.soil[first : first + YEAR]).mean(axis=0) >= ENOUGH)

    def fitted(self, days: slice) -> Values:
        """Site parameters of all stations from these days, the year before them as spin-up."""
        window = slice(days.start - YEAR, days.stop)
        low, high, water = (series[window] for series in self.air)
        more = {"day_of_year": self.records.day_of_year[window], "precipitation": water}
        with patch.object(model, "WITH_PRECIPITATION", self.parameters):
            return calibration.calibrate(low, high, self.soil[window], start=YEAR, **more, **self.site)

    def modelled(self, values: Values | None) -> NDArray[np.floating]:
        """Temperature of the ground on all days. [°C]"""
        low, high, water = self.air
        more = {"day_of_year": self.records.day_of_year, "precipitation": water}
        with patch.object(model, "WITH_PRECIPITATION", self.parameters):
            return model.seed_zone(low, high, calibration=values, **more, **self.site).temperature

    def judged(self, values_of: Callable[[int], Values | None]) -> Iterator[Run]:
        """Every year of every station set aside in turn, with the site parameters that go with it."""
        dates = self.records.dates
        for first in years(self.records):
            ground = self.modelled(values_of(first))
            other = self.soil.copy()
            other[first : first + YEAR] = np.nan
            for at in self.usable(first):
                spans = [span for _, span in winter_spans(dates, other[:, at], southern=False)]
                errors = [float(np.nanmean((ground - other)[span, at])) for span in spans]
                yield Run(compare(dates, ground[:, at], other[:, at], southern=False), np.array(errors))

    def spread(self) -> Values:
        """Site parameters of every station from all its years, factors as logarithms; priors hardly hold them."""
        wide = {name: WIDE * value for name, value in calibration.PRIOR.items()}
        with patch.object(calibration, "PRIOR", wide):
            values = self.fitted(slice(YEAR, self.records.dates.size))
        return {name: np.log(value) if model.CALIBRATION[name] else value for name, value in values.items()}


def starts(records: Records, kind: str) -> list[Stations]:
    """All stations with the shipped parameters, or each group with those it was left out of."""
    if kind != "left-out":
        return [Stations(records, WITH_PRECIPITATION, np.arange(len(records.stations)))]
    with FOLDS.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["set"] == "with" and row["group"] != "-1"]
    return [
        Stations(
            records,
            with_values({name: row[name] for name in NAMES}),
            np.flatnonzero(records.group == int(row["group"])),
        )
        for row in rows
    ]


def error_left(runs: list[Run]) -> tuple[float, float]:
    """Standard deviation of the error of a winter's mean: between places, and between the winters of one. [°C]"""
    errors = [run.errors for run in runs if run.errors.size > 1]
    between = float(np.std([each.mean() for each in errors], ddof=1))
    squares = sum(float(((each - each.mean()) ** 2).sum()) for each in errors)
    return between, float(np.sqrt(squares / sum(each.size - 1 for each in errors)))


def main() -> None:
    kind = sys.argv[1] if len(sys.argv) > 1 else "shipped"
    if kind not in {"shipped", "left-out", "spread"}:
        raise SystemExit(f"{kind} is not known: say shipped, left-out or spread")
    records = read_records()
    groups = starts(records, kind)
    if kind == "spread":
        for name, values in groups[0].spread().items():
            print(f"{name}: {float(np.sqrt(np.mean(values**2))):.2f}")
        return
    whole = slice(YEAR, records.dates.size)
    for name in ("before", "calibrated", "fitted to all years"):
        runs: list[Run] = []
        for group in groups:
            every = group.fitted(whole) if name == "fitted to all years" else None
            fit = (
                (lambda first, group=group: group.fitted(slice(first, first + YEAR))) if name == "calibrated" else None
            )
            runs += group.judged(fit or (lambda _, every=every: every))
        print(line(f"{kind}, {name}, {len(runs)} runs", summary_of([run.check for run in runs])), flush=True)
        between, within = error_left(runs)
        print(f"  error left: {between:.2f} °C between places, {within:.2f} °C between winters", flush=True)


if __name__ == "__main__":
    main()
