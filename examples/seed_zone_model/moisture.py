"""Where the moisture of the seed zone is right and where not, against the 5 cm sensors of the stations.

Run (half a minute): CHILLPLAN_OBSERVATIONS=... python examples/seed_zone_model/moisture.py
All with parameters fitted without the station. Prints warm humid stations with precipitation and without; the share of
moist days by the temperature of the ground; what a seed zone that never dries in the cold would do to chill; and the
winters of Northgate, North Dakota, where the moisture rule was doubted.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from fit import response
from numpy.typing import NDArray
from records import Records, read_records
from scores import left_out

from chillplan.physics.seed_zone import MOIST_FROM
from chillplan.seasons.soilcheck import compare

WARM, HUMID, DRY = 16.0, 1000.0, 500.0  # mean air [°C]; precipitation of a year [mm]
EDGES = (0.0, 0.5, 2.0, 5.0, 10.0, 20.0, 50.0)  # of the ground [°C]
FROZEN = 1.0  # ground at or below reads dry in a sensor: it counts as moist, for the model too [°C]
NEVER_DRY = 5.0  # the rule tried: ground at or below stays moist [°C]
NORTHGATE = "ND_Northgate_5_ESE"
CHILLED_TO = -2.0

Array = NDArray[np.floating]


class Ground:
    """Model and sensors side by side; arrays have the shape (station, day)."""

    def __init__(self, records: Records) -> None:
        self.records = records
        self.model, moisture = left_out(records, "with")
        self.guessed = left_out(records, "without")[0]
        full = np.nanpercentile(records.moisture, 95, axis=1)[:, None]
        self.known = np.isfinite(records.moisture) & np.isfinite(records.soil)
        self.wet, self.said = records.moisture >= 0.5 * full, moisture >= MOIST_FROM
        self.rain = records.precipitation.mean(axis=1) * 365.25
        self.air = (records.tmin + records.tmax).mean(axis=1) / 2

    def print_warm_humid(self) -> None:
        print("| station | error with rain | without | bias with | without | moist, sensor | model |")
        for at in np.flatnonzero((self.air >= WARM) & (self.rain >= HUMID)):
            dates, soil, use = self.records.dates, self.records.soil[at], self.known[at]
            wet, dry = (compare(dates, model[at], soil, southern=False) for model in (self.model, self.guessed))
            moist = f"{self.wet[at][use].mean():.0%} | {self.said[at][use].mean():.0%}"
            errors = f"{wet.rmse:.2f} | {dry.rmse:.2f} | {wet.bias:+.2f} | {dry.bias:+.2f}"
            print(f"| {self.records.stations[at]} | {errors} | {moist} |")

    def print_by_temperature(self) -> None:
        print("\n| ground | dry climates: days | sensor | model | others: days | sensor | model |")
        dry = (self.rain < DRY)[:, None]
        for low, high in pairwise(EDGES):
            cells = []
            for climate in (dry, ~dry):
                here = self.known & climate & (self.records.soil > low) & (self.records.soil <= high)
                cells.append(f"{here.sum()} | {self.wet[here].mean():.0%} | {self.said[here].mean():.0%}")
            print(f"| {low:g} to {high:g} °C | {' | '.join(cells)} |")

    def never_dry(self) -> dict[str, Array]:
        """Chill of each winter on days that a rule calls moist, less that on moist days by the sensor. [day]"""
        rules = {
            "as it is": self.said | (self.model <= FROZEN),
            f"never dry at or below {NEVER_DRY:g} °C": self.said | (self.model <= NEVER_DRY),
            "never dry": np.ones_like(self.said),
        }
        truth = self._chill(self.records.soil, self.wet | (self.records.soil <= FROZEN))
        return {name: self._chill(self.model, moist) - truth for name, moist in rules.items()}

    def print_never_dry(self) -> None:
        climates = np.array([self.rain[at] < DRY for at, _ in self.records.winters()])
        print("\n| moisture rule | chill error, dry climates | others | bias, dry climates | others |")
        for name, off in self.never_dry().items():
            cells = [f"{np.abs(off[w]).mean():.1f}" for w in (climates, ~climates)]
            cells += [f"{off[w].mean():+.1f}" for w in (climates, ~climates)]
            print(f"| {name} | {' | '.join(cells)} |")

    def print_northgate(self) -> None:
        at = self.records.stations.index(NORTHGATE)
        spans = [span for station, span in self.records.winters() if station == at]
        soil, model = self.records.soil[at], self.model[at]
        rows = {
            "thermometer, every day": response(soil),
            "model, every day": response(model),
            "model, its moist days": response(model) * (self.said[at] | (model <= FROZEN)),
            f"thermometer, days below {CHILLED_TO:g} °C": soil < CHILLED_TO,
            f"model, days below {CHILLED_TO:g} °C": model < CHILLED_TO,
        }
        print(f"\n{NORTHGATE}, mean of {len(spans)} winters:")
        for name, daily in rows.items():
            total = [np.where(np.isfinite(soil[span]), daily[span], 0.0).sum() for span in spans]
            print(f"| {name} | {np.mean(total):.0f} |")

    def _chill(self, temperature: Array, moist: NDArray[np.bool_]) -> Array:
        share = response(np.nan_to_num(temperature, nan=99.0)) * (moist & self.known)
        return np.array([float(share[at, span].sum()) for at, span in self.records.winters()])


def main() -> None:
    ground = Ground(read_records())
    ground.print_warm_humid()
    ground.print_by_temperature()
    ground.print_never_dry()
    ground.print_northgate()


if __name__ == "__main__":
    main()
