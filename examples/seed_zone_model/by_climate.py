"""Whether the climate of a place tells how its ground differs from the model: its site parameters foretold from it.

Run (a minute): CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/by_climate.py
Each site parameter is given a slope on a measure of the climate, fitted to the other groups of stations by a ridge,
with the model straightened about its parameters; then the group left out is scored (it had a part in the parameters of
the other groups, which flatters the rows a little). Prints a row a measure, and all together with three ridges. A
parameter that varied with the climate in a way the model lacks would show here.
"""

from __future__ import annotations

import csv

import numpy as np
from numpy.typing import NDArray
from records import Records, read_records
from run_all import NAMES, Runner, with_values
from scores import FOLDS, line, scores

from chillplan.physics.seed_zone import CALIBRATION

STEPS = {"shift": 0.5, "sun": 0.15, "exchange": 0.3, "snow": 0.4, "evaporation": 0.3}
"""Steps of the derivatives, of the logarithm where the parameter is a factor; the waves are their own derivative."""
WAVE = 0.5  # step of the waves [°C]
RIDGE = 3.0

Array = NDArray[np.floating]


def measures(records: Records) -> dict[str, Array]:
    """Measures of the climate, each with mean 0 and standard deviation 1 over the stations."""
    air = (records.tmin + records.tmax) / 2
    month = records.dates.astype("datetime64[M]").astype(int) % 12
    by_month = np.stack([air[:, month == number].mean(axis=1) for number in range(12)], axis=1)
    summer = (month >= 5) & (month <= 7)
    water = records.precipitation
    found = {
        "latitude": records.latitude,
        "mean air": air.mean(axis=1),
        "yearly swing of air": np.ptp(by_month, axis=1),
        "log of precipitation": np.log(water.mean(axis=1)),
        "share of summer in it": water[:, summer].mean(axis=1) / water.mean(axis=1),
        "daily range": (records.tmax - records.tmin).mean(axis=1),
        "daily range in summer": (records.tmax - records.tmin)[:, summer].mean(axis=1),
        "precipitation in frost": np.where(air < 0, water, 0.0).mean(axis=1),
    }
    return {name: (value - value.mean()) / value.std() for name, value in found.items()}


def straightened(records: Records) -> tuple[Array, Array]:
    """Model with parameters fitted without the station, and its slopes by site parameter, steps taken as units."""
    runner = Runner(records, True)
    with FOLDS.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["set"] == "with" and row["group"] != "-1"]
    model = np.empty(records.soil.shape)
    slopes = np.empty((len(STEPS) + 2, *model.shape))
    for row in rows:
        stations = np.flatnonzero(records.group == int(row["group"]))
        parameters = with_values({name: row[name] for name in NAMES})

        def run(calibration: dict[str, float] | None, parameters=parameters, stations=stations) -> Array:
            runner.calibration = calibration
            return runner(parameters, stations)[0].astype(float)

        model[stations] = run(None)
        for at, (name, step) in enumerate(STEPS.items()):
            sides = [float(np.exp(side * step)) if CALIBRATION[name] else side * step for side in (1, -1)]
            up, down = (run({name: side}) for side in sides)
            slopes[at, stations] = (up - down) / 2
    turn = 2 * np.pi / 365.25 * (records.day_of_year - 172)
    slopes[-2], slopes[-1] = WAVE * np.cos(turn), WAVE * np.sin(turn)
    return model, slopes


class Foretold:
    """Site parameters as slopes on measures of the climate, each group by what the others say."""

    def __init__(self, records: Records) -> None:
        self.records = records
        self.model, self.slopes = straightened(records)
        known = np.isfinite(records.soil)
        self.normal, self.pull = [], []
        for at, use in enumerate(known):
            by_day, error = self.slopes[:, at, use], (records.soil - self.model)[at, use]
            self.normal.append(by_day @ by_day.T / use.sum())
            self.pull.append(by_day @ error / use.sum())

    def scored(self, columns: list[Array], ridge: float) -> dict[str, object]:
        """Scores with the site parameters that the measures foretell."""
        climate = np.stack(columns, axis=1)
        count, size = climate.shape[1], len(self.slopes)
        model, group = self.model.copy(), self.records.group
        for left in np.unique(group):
            normal, pull = ridge * np.eye(count * size), np.zeros(count * size)
            for at in np.flatnonzero(group != left):
                normal += np.kron(np.outer(climate[at], climate[at]), self.normal[at])
                pull += np.kron(climate[at], self.pull[at])
            found = np.linalg.solve(normal, pull).reshape(count, size)
            for at in np.flatnonzero(group == left):
                model[at] += (climate[at] @ found) @ self.slopes[:, at]
        return scores(self.records, model, self.records.soil)


def main() -> None:
    records = read_records()
    foretold, known = Foretold(records), measures(records)
    print(line("nothing", scores(records, foretold.model, records.soil)))
    for name, column in known.items():
        print(line(name, foretold.scored([column], RIDGE)), flush=True)
    for ridge in (RIDGE, 10.0, 30.0):
        print(line(f"all, ridge {ridge:g}", foretold.scored(list(known.values()), ridge)), flush=True)


if __name__ == "__main__":
    main()
