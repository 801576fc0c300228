"""Whether a cover that one year of a thermometer suggests serves the other years; every year takes its turn.

Run (a minute): CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/covers.py
All stations are in short grass, each modelled with parameters fitted without it. Prints for several limits of "clearly
better": share of years that suggest another cover, error and chill error of the other years if it is taken, and how
often they came out better.
"""

from __future__ import annotations

import numpy as np
from calibrated import ENOUGH, YEAR, years
from numpy.typing import NDArray
from records import Records, read_records
from scores import left_out

from chillplan.physics.parameters import COVER_TABLE
from chillplan.seasons.soilcheck import compare

LIMITS = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, np.inf)


def runs(records: Records) -> NDArray[np.floating]:
    """A row a station and year: gain of the best cover in it, then of the other years error with grass and with it,
    and chill error with grass and with it. [°C, °C, °C, day, day]"""
    models = [left_out(records, "with", cover=cover.name)[0] for cover in COVER_TABLE]
    grass = [cover.name for cover in COVER_TABLE].index("short grass")
    rows = []
    for first in years(records):
        year = slice(first, first + YEAR)
        for at, soil in enumerate(records.soil):
            if np.isfinite(soil[year]).mean() < ENOUGH:
                continue
            error = [float(np.nanmean((model[at, year] - soil[year]) ** 2)) ** 0.5 for model in models]
            other = soil.copy()
            other[year] = np.nan
            best = int(np.argmin(error))
            before, after = (
                compare(records.dates, models[which][at], other, southern=False) for which in (grass, best)
            )
            rows.append((error[grass] - error[best], before.rmse, after.rmse, before.chill.error, after.chill.error))
    return np.array(rows)


def main() -> None:
    gain, before, after, chill_before, chill_after = runs(read_records()).T
    print("| clearly better by | years | error of other years | chill error | better in error | better in chill |")
    print("|---|---|---|---|---|---|")
    for limit in LIMITS:
        taken = (gain >= limit) & (gain > 0)
        error = np.where(taken, after, before).mean()
        chill = np.nanmean(np.where(taken, chill_after, chill_before))
        share = [
            f"{float((a < b)[taken].mean()):.0%}" if taken.any() else "–"
            for a, b in ((after, before), (chill_after, chill_before))
        ]
        print(f"| {limit:.1f} °C | {taken.mean():.0%} | {error:.2f} | {chill:.1f} | {share[0]} | {share[1]} |")


if __name__ == "__main__":
    main()
