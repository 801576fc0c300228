"""Fits the parameters of the seed-zone model, on all stations and with each group of stations left out.

Run (about 10 minutes a set on one core):
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/fit.py with
    CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/fit.py without

Starts from neutral values and writes the result into ``folds.csv`` beside this file, group -1 being all stations; the
rows of group -1 are those of ``chillplan/physics/parameters.py``. What is minimised: the sum over stations of the error
[°C] plus 1.5 / 9 of the sum over stations of the mean absolute chill error of a winter [day], by reweighted least
squares, plus a ridge that draws every parameter to its neutral value.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
from records import Records, read_records
from run_all import NAMES, Runner, with_values

HERE = Path(__file__).resolve().parent
TABLE = HERE.parents[1] / "data" / "seed_zone_parameters.csv"
FOLDS = HERE / "folds.csv"

ROUNDS = 18
EVERY = 3  # days of which one is used for the error, all for the chill
RIDGE = {True: 0.4, False: 2.0}  # pull towards the neutral value, by "with precipitation"; found at left-out stations
CHILL_WEIGHT = 1.5 / 9.0
LEAST_ERROR, LEAST_CHILL = 0.8, 4.0  # below these a residual counts as squared, above as absolute
STEP = 2e-3
ROOM = 2e-3  # distance kept from the ends of a range


def parameter_table() -> list[dict[str, str]]:
    """Rows of the parameter table."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def response(temperature: np.ndarray) -> np.ndarray:
    """Default share of a day that counts as chill."""
    return np.clip(np.minimum((temperature + 2) / 3, (12 - temperature) / 5), 0, 1)


class Fit:
    """Residuals of a set of stations and the search for the least."""

    def __init__(self, runner: Runner, stations: np.ndarray, wet: bool) -> None:
        records: Records = runner.records
        self.runner, self.stations = runner, stations
        rows = parameter_table()
        column = "fitted_with" if wet else "fitted_without"
        self.free = [row["name"] for row in rows if row[column] == "yes"]
        self.neutral = {row["name"]: float(row["neutral"]) for row in rows}
        self.low = np.array([float(row["low"]) for row in rows if row[column] == "yes"])
        self.range = np.array([float(row["high"]) for row in rows if row[column] == "yes"]) - self.low
        self.centre = (np.array([self.neutral[name] for name in self.free]) - self.low) / self.range
        self.soil = records.soil[stations].astype(np.float32)
        self.known = np.isfinite(self.soil)
        self.days = self.known.sum(axis=1)
        place = {int(station): at for at, station in enumerate(stations)}
        self.winters = [(place[at], span) for at, span in records.winters() if at in place]
        share = np.where(self.known, response(self.soil), 0)
        self.chill = np.array([share[at, span].sum() for at, span in self.winters])
        count = np.bincount([at for at, _ in self.winters], minlength=len(stations))
        self.winters_of_station = count[[at for at, _ in self.winters]]
        self.pull = RIDGE[wet] ** 2 * len(stations)

    def parameters(self, x: np.ndarray):  # type: ignore[no-untyped-def]
        """Parameters at a point of the unit box."""
        return with_values({**self.neutral, **dict(zip(self.free, self.low + self.range * x, strict=True))})

    def errors(self, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Error of every day (0 where unknown) and of the chill of every winter."""
        model = self.runner(self.parameters(x), self.stations)[0]
        share = np.where(self.known, response(model), 0)
        chill = np.array([share[at, span].sum() for at, span in self.winters])
        return np.where(self.known, model - self.soil, 0), chill - self.chill

    def weights(self, error: np.ndarray, chill: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Square roots of the weights that turn squares into absolute values."""
        rmse = np.sqrt((error.astype(float) ** 2).sum(axis=1) / self.days)
        of_day = np.sqrt(EVERY / (self.days * np.maximum(rmse, LEAST_ERROR)))
        of_chill = np.sqrt(CHILL_WEIGHT / self.winters_of_station / np.maximum(np.abs(chill), LEAST_CHILL))
        return of_day.astype(np.float32)[:, None], of_chill

    def search(self) -> np.ndarray:
        """Levenberg and Marquardt's method within the box."""
        x = np.clip(self.centre, ROOM, 1 - ROOM)
        error, chill = self.errors(x)
        damping = 1e-2
        for number in range(ROUNDS):
            if number % 3 == 0:
                weights = self.weights(error, chill)
            here = self.weighted(error, chill, weights)
            slopes = np.stack([self.slope(x, at, here, weights) for at in range(x.size)])
            hessian = (slopes @ slopes.T).astype(float)
            gradient = (slopes @ here).astype(float) + self.pull * (x - self.centre)
            x, error, chill, damping = self.step(x, error, chill, here, hessian, gradient, damping, weights)
        return x

    def weighted(self, error, chill, weights):  # type: ignore[no-untyped-def]
        """All residuals as one vector."""
        days = (error[:, ::EVERY] * weights[0]).ravel()
        return np.concatenate([days, (chill * weights[1]).astype(np.float32)])

    def slope(self, x, at, here, weights):  # type: ignore[no-untyped-def]
        """Numerical derivative of the residuals by one parameter."""
        step = STEP if x[at] < 0.9 else -STEP
        moved = x.copy()
        moved[at] += step
        return (self.weighted(*self.errors(moved), weights) - here) / np.float32(step)

    def cost(self, residuals: np.ndarray, x: np.ndarray) -> float:
        """Half of what is minimised, times two."""
        return float(residuals.astype(float) @ residuals) + self.pull * float(((x - self.centre) ** 2).sum())

    def step(self, x, error, chill, here, hessian, gradient, damping, weights):  # type: ignore[no-untyped-def]
        """The first of five ever shorter steps that lowers the cost, else none."""
        before = self.cost(here, x)
        for _ in range(5):
            matrix = hessian + np.diag(damping * np.diag(hessian) + self.pull + 1e-9)
            move = -np.linalg.solve(matrix, gradient)
            held = (x + move < ROOM) | (x + move > 1 - ROOM)
            if held.any():
                move[held] = np.clip(x + move, ROOM, 1 - ROOM)[held] - x[held]
                right = -gradient[~held] - matrix[np.ix_(~held, held)] @ move[held]
                move[~held] = np.linalg.solve(matrix[np.ix_(~held, ~held)], right)
            tried = np.clip(x + np.clip(move, -0.25, 0.25), ROOM, 1 - ROOM)
            new_error, new_chill = self.errors(tried)
            if self.cost(self.weighted(new_error, new_chill, weights), tried) < before:
                return tried, new_error, new_chill, max(damping / 3, 1e-5)
            damping *= 5
        return x, error, chill, damping


def main() -> None:
    kind = sys.argv[1] if len(sys.argv) > 1 else "with"
    if kind not in {"with", "without"}:
        raise SystemExit(f"{kind} is not known: say with or without")
    records = read_records()
    runner = Runner(records, kind == "with")
    rows = (
        [row for row in csv.reader(FOLDS.open(encoding="utf-8", newline="")) if row[0] != kind]
        if FOLDS.exists()
        else []
    )
    if not rows:
        rows = [["set", "group", *NAMES]]
    for group in (-1, *np.unique(records.group)):
        stations = np.flatnonzero(records.group != group)
        fit = Fit(runner, stations, kind == "with")
        found = fit.parameters(fit.search())
        rows.append([kind, str(group), *(f"{getattr(found, name):.4g}" for name in NAMES)])
        print(f"group {group} left out: {len(stations)} stations fitted", flush=True)
    with FOLDS.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


if __name__ == "__main__":
    main()
