"""Scores of the seed-zone model at stations that its parameters never saw, and whether its chances come true.

Run (under a minute): CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/scores.py
Reads the parameters of each left-out group from ``folds.csv``, which ``fit.py`` makes, or from another file of that
form that is named, and prints the tables of the README.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path
from typing import Any

import numpy as np
from fit import FOLDS, response
from published import kaetterer_andren
from records import Records, read_records
from run_all import NAMES, Runner, with_values

from chillplan.physics.model_error import model_error, perturbations
from chillplan.physics.parameters import WITH_PRECIPITATION
from chillplan.report.soilcheck import summary_of
from chillplan.seasons.soilcheck import compare

BINS = ((0.0, 0.1), (0.1, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.9), (0.9, 1.01))
REQUIREMENTS = range(20, 181, 10)
FEWEST_WINTERS = 5


def left_out(
    records: Records, kind: str, depth_cm: float = 5.0, folds: Path = FOLDS, cover: str = "short grass"
) -> tuple[np.ndarray, np.ndarray]:
    """Model at every station with the parameters of its own left-out group: temperature and moisture."""
    runner = Runner(records, kind == "with", depth_cm, cover)
    with folds.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["set"] == kind and row["group"] != "-1"]
    soil = np.full(records.soil.shape, np.nan)
    moisture = soil.copy()
    for row in rows:
        stations = np.flatnonzero(records.group == int(row["group"]))
        soil[stations], moisture[stations] = runner(with_values({name: row[name] for name in NAMES}), stations)
    return soil, moisture


def scores(records: Records, model: np.ndarray, observed: np.ndarray) -> dict[str, Any]:
    """Figures of the contract over all stations."""
    return summary_of([compare(records.dates, *pair, southern=False) for pair in zip(model, observed, strict=True)])


def chances(records: Records, model: np.ndarray, deviation: float) -> list[tuple[float, float, int, float, float]]:
    """By bin of the stated chance: pairs of requirement and winter, mean chance stated, share that came true."""
    offsets, weights = perturbations(deviation)
    winters: dict[int, list[slice]] = {}
    for station, span in records.winters():
        winters.setdefault(station, []).append(span)
    stated, came = [], []
    for station, spans in winters.items():
        if len(spans) < FEWEST_WINTERS:
            continue
        known = [np.isfinite(records.soil[station, span]) for span in spans]
        said = np.array(
            [
                [response(model[station, span] + offset)[use].sum() for offset in offsets]
                for span, use in zip(spans, known, strict=True)
            ]
        )
        truth = np.array(
            [response(records.soil[station, span])[use].sum() for span, use in zip(spans, known, strict=True)]
        )
        for need in REQUIREMENTS:
            share = float((said >= need).mean(axis=0) @ weights)
            stated += [(share * len(spans) + 0.5) / (len(spans) + 1)] * len(spans)
            came += list(truth >= need)
    chance, true = np.array(stated), np.array(came)
    table = []
    for low, high in BINS:
        here = (chance >= low) & (chance < high)
        table.append((low, high, int(here.sum()), float(chance[here].mean()), float(true[here].mean())))
    return table


def moisture_hits(records: Records, moisture: np.ndarray, moist_from: float) -> dict[str, float]:
    """Moist and dry days told right; observed moist means at least half of the station's 95th percentile."""
    full = np.nanpercentile(records.moisture, 95, axis=1)[:, None]
    usable = np.isfinite(records.moisture) & (records.soil > 1)
    observed, said = records.moisture >= 0.5 * full, moisture >= moist_from
    dry_climate = np.broadcast_to(records.precipitation.mean(axis=1)[:, None] * 365 < 500, usable.shape)
    found = {"all days": float((said == observed)[usable].mean())}
    for name, where in (("dry climates", dry_climate), ("other climates", ~dry_climate)):
        here = usable & where
        found |= {
            f"{name}: right": float((said == observed)[here].mean()),
            f"{name}: share moist, observed": float(observed[here].mean()),
            f"{name}: share moist, model": float(said[here].mean()),
        }
    found["moist days told moist"] = float(said[usable & observed].mean())
    found["dry days told dry"] = float((~said)[usable & ~observed].mean())
    return found


def chill_by_moisture(
    records: Records, model: np.ndarray, moisture: np.ndarray, moist_from: float
) -> list[tuple[str, int, float, float, float]]:
    """Mean effective chill of a winter by climate: every day, thermometer on moist days, model on its moist days."""
    full = np.nanpercentile(records.moisture, 95, axis=1)[:, None]
    known = np.isfinite(records.moisture) & np.isfinite(records.soil)
    # A frozen sensor reads dry: frozen ground counts as it was when it froze, here as moist.
    wet = (records.moisture >= 0.5 * full) | (records.soil <= 1)
    said = (moisture >= moist_from) | (model <= 1)
    dry = records.precipitation.mean(axis=1) * 365 < 500
    table = []
    for name, where in (("dry climates", dry), ("other climates", ~dry)):
        spans = [(at, span) for at, span in records.winters() if where[at]]
        columns = [
            [float((response(series[at, span]) * (use & known)[at, span]).sum()) for at, span in spans]
            for series, use in (
                (np.nan_to_num(records.soil, nan=99.0), known),
                (np.nan_to_num(records.soil, nan=99.0), wet),
                (model, said),
            )
        ]
        table.append((name, len(spans), *(float(np.mean(column)) for column in columns)))
    return table


def line(name: str, found: dict[str, Any]) -> str:
    """A row of the table of scores."""
    digits = {"median_rmse_c": 2, "mean_rmse_c": 2, "p90_rmse_c": 2, "chill_mae_days": 1}
    cells = [f"{found[key]:.{number}f}" for key, number in digits.items()]
    edge = found["cold_edge"]
    cells += [f"{100 * found['agreement']:.1f}", f"{edge['chill_mae_days']:.1f}", f"{100 * edge['agreement']:.1f}"]
    return f"| {name} | {' | '.join(cells)} |"


def main() -> None:
    from chillplan.physics.seed_zone import MOIST_FROM

    folds = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDS
    records = read_records()
    air = (records.tmin + records.tmax) / 2
    print("| model | median | mean | 90th percentile | chill error | agreement | both to -5 °C | |")
    print("|---|---|---|---|---|---|---|---|")
    print(line("air as soil", scores(records, air, records.soil)))
    published = kaetterer_andren(air.T, air.mean(axis=1)).T
    print(line("Kätterer and Andrén 2009, as published", scores(records, published, records.soil)))
    for kind in ("with", "without"):
        model, moisture = left_out(records, kind, folds=folds)
        print(line(f"this model, {kind} precipitation, stations left out", scores(records, model, records.soil)))
        if kind == "with":
            deep = left_out(records, kind, 10.0, folds)[0]
            print(line("the same at 10 cm, a depth never fitted", scores(records, deep, records.soil_10cm)))
            wet = moisture
    own = Runner(records, True)(WITH_PRECIPITATION, np.arange(len(records.stations)))[0]
    print(line("this model, with precipitation, on the stations it was fitted to", scores(records, own, records.soil)))
    for kind in ("with", "without"):
        model = left_out(records, kind, folds=folds)[0]
        for name, deviation in (
            ("luck of winters only", 0.0),
            ("and the model's error", model_error(kind == "with").together),
        ):
            print(f"\nChances, {kind} precipitation, {name} ({deviation:.2f} °C):")
            for low, high, pairs, said, true in chances(records, model, deviation):
                print(f"| {100 * low:.0f} to {min(100 * high, 100):.0f} % | {pairs} | {said:.0%} | {true:.0%} |")
    print("\nMoisture of the seed zone:")
    for name, value in moisture_hits(records, wet, MOIST_FROM).items():
        print(f"| {name} | {value:.0%} |")
    print("\nEffective chill of a winter: every day; thermometer, moist days; model, its moist days:")
    for name, winters, every, observed, said in chill_by_moisture(
        records, left_out(records, "with", folds=folds)[0], wet, MOIST_FROM
    ):
        print(f"| {name} | {winters} | {every:.0f} | {observed:.0f} | {said:.0f} |")


if __name__ == "__main__":
    main()
