"""Fits the parameters of the seed-zone model, on all stations and with each group of stations left out.

Run (five minutes each on one core; progress is shown, and a run that was stopped goes on where it was):
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/fit.py with
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/fit.py without

Starts from neutral values and writes the result into ``folds.csv`` beside this file, group -1 being all stations: the
shipped sets are exactly these. Nothing is random; where numpy or the compiler sum in another order, the search may end
elsewhere in the long flat valley of the least, with scores that differ by a few hundredths of a degree and 0.2 days.

What is minimised is a sum of three parts:

* over stations, the error [°C], days with a thermometer between -4 and 14 °C (where chill, frost and soil warming are
  decided) counting double;
* over stations, the mean absolute chill error of a winter [day] times a chill weight;
* a ridge: the squares of every parameter's distance from its neutral value, in shares of its range, times `RIDGE`
  squared and the number of stations.

Small errors count by their squares, larger ones in proportion and twice (Huber 1964), so that no odd station bends the
model for all. What a day of chill is worth against a degree, and which error is small, is a matter of taste: each set
is the mean of two fits, one for each of `VIEWS`, and so depends less on either and on where a search ends.

The search is that of Levenberg and Marquardt with numerical slopes; each round sets the weights that make squares stand
for that sum, so that it falls from round to round. It ends when two rounds running lower it by less than `TOLERANCE` of
itself: beyond, the sum falls little and the chill error at left-out stations rises.
"""

from __future__ import annotations

import csv
import os
import sys
import time
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

# The products here are small: threads would cost more than they bring, and one thread always sums in the same order.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from numba import njit
from numpy.typing import NDArray
from records import Records, read_records
from run_all import NAMES, Runner, with_values

from chillplan.physics.parameters import Parameters

HERE = Path(__file__).resolve().parent
TABLE = HERE.parents[1] / "data" / "seed_zone_parameters.csv"
FOLDS = HERE / "folds.csv"

RIDGE = {True: 0.4, False: 2.0}  # pull towards the neutral value, by "with precipitation"; found at left-out stations
VIEWS = ((1.5 / 9.0, 0.8), (0.75 / 9.0, 1.5))  # weight of chill, error up to which squares count [°C day-1, °C]
LEAST_CHILL = 4.0  # chill error up to which squares count [day]
COLD_FROM, COLD_TO, COLD_EXTRA = -4.0, 14.0, 1.0  # [°C, °C, -]
RANGES = ("name", "neutral", "low", "high", "fitted_with", "fitted_without")
ROUNDS = 60
TOLERANCE = 3e-3
STEP = 2e-3
ROOM = 2e-3  # distance kept from the ends of a range
FARTHEST = 0.25  # of a range, in one round
TRIES = 9

FloatArray = NDArray[np.floating]


def parameter_table() -> list[dict[str, str]]:
    """Rows of the parameter table."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def response(temperature: np.ndarray) -> np.ndarray:
    """Default share of a day that counts as chill."""
    return np.clip(np.minimum((temperature + 2) / 3, (12 - temperature) / 5), 0, 1)


@njit(error_model="numpy")
def _errors(model, soil, day, station, error):  # type: ignore[no-untyped-def]
    for k in range(day.size):
        error[k] = model[day[k], station[k]] - soil[day[k], station[k]]


@njit(error_model="numpy")
def _chill(model, soil, station, first, end, chill):  # type: ignore[no-untyped-def]
    """Effective chill of every winter over the days with a thermometer; the response is that of :func:`response`."""
    for k in range(station.size):
        total = 0.0
        for day in range(first[k], end[k]):
            if soil[day, station[k]] == soil[day, station[k]]:
                t = model[day, station[k]]
                total += min(max(min((t + 2) / 3, (12 - t) / 5), 0.0), 1.0)
        chill[k] = total


def bent(error: FloatArray, least: float) -> FloatArray:
    """Huber's loss: squares up to `least`, then a straight line that goes on as steeply."""
    return np.where(error > least, 2 * error - least, error * error / least)


@dataclass
class Point:
    """A place in the unit box of the free parameters and what the model says there.

    Attributes
    ----------
    x : numpy.ndarray, shape (parameter,)
        In shares of the ranges. [-]
    error : numpy.ndarray, shape (known day,)
        Of every station's known days in one row. [°C]
    chill : numpy.ndarray, shape (winter,)
        Chill error. [day]
    rmse : numpy.ndarray, shape (station,)
        [°C]
    total : float
        What is minimised.
    """

    x: FloatArray
    error: FloatArray
    chill: FloatArray
    rmse: FloatArray
    total: float


class Fit:
    """What is minimised for a set of stations, and the search for the least."""

    def __init__(
        self, runner: Runner, stations: NDArray[np.int_], wet: bool, chill_weight: float, least_error: float
    ) -> None:
        records = runner.records
        self.runner, self.least_error = runner, least_error
        column = "fitted_with" if wet else "fitted_without"
        rows = parameter_table()
        free = [row for row in rows if row[column] == "yes"]
        self.neutral = {row["name"]: float(row["neutral"]) for row in rows}
        self.free = [row["name"] for row in free]
        self.low = np.array([float(row["low"]) for row in free])
        self.range = np.array([float(row["high"]) for row in free]) - self.low
        self.centre = (np.array([self.neutral[name] for name in self.free]) - self.low) / self.range
        self.pull = RIDGE[wet] ** 2 * stations.size
        self._take_days(records, stations)
        self._take_winters(records, chill_weight)

    def _take_days(self, records: Records, stations: NDArray[np.int_]) -> None:
        """Known days of the stations, each with its share in the station's mean square."""
        self.soil = np.ascontiguousarray(records.soil.T, dtype=np.float32)
        used = np.zeros(len(records.stations), dtype=bool)
        used[stations] = True
        self.used = used
        self.day, self.station = np.nonzero(np.isfinite(self.soil) & used)
        known = self.soil[self.day, self.station]
        importance = 1 + COLD_EXTRA * ((known > COLD_FROM) & (known < COLD_TO))
        self.share = importance / np.bincount(self.station, importance, used.size)[self.station]

    def _take_winters(self, records: Records, chill_weight: float) -> None:
        """Winters of the stations, each with its share in the station's mean, times the weight of chill."""
        winters = [(station, span) for station, span in records.winters() if self.used[station]]
        self.winter = np.array([station for station, _ in winters])
        self.first = np.array([span.start for _, span in winters])
        self.end = np.array([span.stop for _, span in winters])
        self.share_of_winter = chill_weight / np.bincount(self.winter, minlength=self.used.size)[self.winter]
        self.observed = self._chill_of(self.soil)

    def _chill_of(self, temperature: FloatArray) -> FloatArray:
        chill = np.empty(self.winter.size)
        _chill(temperature, self.soil, self.winter, self.first, self.end, chill)
        return chill

    def parameters(self, x: FloatArray) -> Parameters:
        """Parameters at a point of the unit box."""
        values = self.low + self.range * x
        return with_values({**self.neutral, **dict(zip(self.free, values, strict=True))})

    def at(self, x: FloatArray) -> Point:
        """Run the model there and work out what is minimised."""
        model = self.runner.everywhere(self.parameters(x))[0]
        error = np.empty(self.day.size, dtype=np.float32)
        _errors(model, self.soil, self.day, self.station, error)
        chill = self._chill_of(model) - self.observed
        rmse = np.sqrt(np.bincount(self.station, error.astype(float) ** 2 * self.share, self.used.size))
        total = bent(rmse, self.least_error).sum() + (self.share_of_winter * bent(np.abs(chill), LEAST_CHILL)).sum()
        return Point(x, error, chill, rmse, float(total + self.pull * ((x - self.centre) ** 2).sum()))

    def search(self) -> Iterator[Point]:
        """The start, then every better point."""
        here = self.at(np.clip(self.centre, ROOM, 1 - ROOM))
        yield here
        damping, idle = 1e-2, 0
        for _ in range(ROUNDS):
            hessian, gradient = self.squares(here)
            for _ in range(TRIES):
                there = self.at(self.moved(here.x, hessian, gradient, damping))
                if there.total < here.total:
                    break
                damping *= 5
            else:
                return
            idle = idle + 1 if here.total - there.total < TOLERANCE * here.total else 0
            here, damping = there, max(damping / 3, 1e-5)
            yield here
            if idle == 2:
                return

    def squares(self, here: Point) -> tuple[FloatArray, FloatArray]:
        """Half the second and first derivatives of the squares that stand for what is minimised."""
        of_day = np.sqrt(self.share / np.maximum(here.rmse, self.least_error)[self.station]).astype(np.float32)
        of_winter = np.sqrt(self.share_of_winter / np.maximum(np.abs(here.chill), LEAST_CHILL)).astype(np.float32)

        def residuals(point: Point) -> FloatArray:
            return np.concatenate([point.error * of_day, point.chill.astype(np.float32) * of_winter])

        now = residuals(here)
        slopes = np.empty((here.x.size, now.size), dtype=np.float32)
        for which in range(here.x.size):
            step = STEP if here.x[which] < 0.9 else -STEP
            aside = here.x.copy()
            aside[which] += step
            slopes[which] = (residuals(self.at(aside)) - now) / np.float32(step)
        hessian = (slopes @ slopes.T).astype(float)
        return hessian, (slopes @ now).astype(float) + self.pull * (here.x - self.centre)

    def moved(self, x: FloatArray, hessian: FloatArray, gradient: FloatArray, damping: float) -> FloatArray:
        """The point of the box that the squares call best, the nearer the stronger the damping."""
        matrix = hessian + np.diag(damping * np.diag(hessian) + self.pull + 1e-9)
        move = -np.linalg.solve(matrix, gradient)
        held = (x + move < ROOM) | (x + move > 1 - ROOM)
        if held.any():
            move[held] = np.clip(x + move, ROOM, 1 - ROOM)[held] - x[held]
            right = -gradient[~held] - matrix[np.ix_(~held, held)] @ move[held]
            move[~held] = np.linalg.solve(matrix[np.ix_(~held, ~held)], right)
        return np.clip(x + np.clip(move, -FARTHEST, FARTHEST), ROOM, 1 - ROOM)


class Progress:
    """Rows found so far, kept in a file of their own until the set is whole, so that a stopped run goes on."""

    def __init__(self, kind: str, records: Records) -> None:
        self.kind = kind
        self.file = HERE / f"folds-{kind}-unfinished.csv"
        # What a row rests on: the records, the ranges, this file. After a change of any the run begins anew.
        ranges = [[row[name] for name in RANGES] for row in parameter_table()]
        mark = zlib.crc32(repr(ranges).encode() + Path(__file__).read_bytes())
        for part in (records.tmin, records.tmax, records.precipitation, records.soil):
            mark = zlib.crc32(np.ascontiguousarray(part).tobytes(), mark)
        self.mark = f"{mark:08x}"
        self.rows: dict[int, list[str]] = {}
        if self.file.exists():
            with self.file.open(encoding="utf-8", newline="") as file:
                self.rows = {int(row[1]): row[2:] for row in csv.reader(file) if row[0] == self.mark}

    def add(self, group: int, values: list[str]) -> None:
        """Keep one row."""
        self.rows[group] = values
        with self.file.open("a", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerow([self.mark, group, *values])

    def finish(self) -> None:
        """Put the set in its place in ``folds.csv``; the other set stays as it is."""
        others: list[list[str]] = []
        if FOLDS.exists():
            with FOLDS.open(encoding="utf-8", newline="") as file:
                others = [row for row in list(csv.reader(file))[1:] if row[0] != self.kind]
        own = [[self.kind, str(group), *self.rows[group]] for group in sorted(self.rows)]
        rows = own + others if self.kind == "with" else others + own
        beside = FOLDS.with_suffix(".new")
        with beside.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows([["set", "group", *NAMES], *rows])
        beside.replace(FOLDS)
        self.file.unlink()


def fitted(runner: Runner, group: int, wet: bool) -> list[str]:
    """Parameters found without one group of stations, -1 for none; tells how the search goes."""
    stations = np.flatnonzero(runner.records.group != group)
    name = "all stations" if group < 0 else f"group {group} left out"
    ends = []
    for chill_weight, least_error in VIEWS:
        fit = Fit(runner, stations, wet, chill_weight, least_error)
        started = time.monotonic()
        for number, point in enumerate(fit.search()):
            print(f"\r{name}: round {number}, {point.total:.3f}   ", end="", file=sys.stderr, flush=True)
        print(file=sys.stderr)
        took = time.monotonic() - started
        print(
            f"{name}: {stations.size} stations, chill weight {chill_weight:.3f}, {number} rounds, "
            f"least {point.total:.3f}, {took:.0f} s",
            flush=True,
        )
        ends.append(point.x)
    found = fit.parameters(np.mean(ends, axis=0))
    return [f"{getattr(found, name):.4g}" for name in NAMES]


def main() -> None:
    kind = sys.argv[1] if len(sys.argv) > 1 else "with"
    if kind not in {"with", "without"}:
        raise SystemExit(f"{kind} is not known: say with or without")
    records = read_records()
    runner = Runner(records, kind == "with")
    progress = Progress(kind, records)
    for group in (-1, *map(int, np.unique(records.group))):
        if group in progress.rows:
            print(f"group {group}: found before")
            continue
        progress.add(group, fitted(runner, group, kind == "with"))
    progress.finish()


if __name__ == "__main__":
    main()
