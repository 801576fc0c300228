"""Runs the model for many stations with any parameters, compiled; the functions are those of the package."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
from numba import njit
from records import Records

from chillplan.physics.climate import climate_of, guessed_precipitation
from chillplan.physics.coefficients import cast, coefficients_of
from chillplan.physics.compiled import compiled_day_step
from chillplan.physics.day import Place, State, Weather
from chillplan.physics.daylight import extraterrestrial_radiation
from chillplan.physics.parameters import WITH_PRECIPITATION, Parameters
from chillplan.physics.seed_zone import place_of, starting_state

NAMES = [field.name for field in fields(Parameters)]
KIND = np.float32
_step = compiled_day_step()


@njit(error_model="numpy")
def _walk(tmin, tmax, water, sky, state, place, c, soil, moisture):  # type: ignore[no-untyped-def]
    for i in range(tmin.shape[0]):
        p = place[i]
        here = Place(p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9], p[10])
        s = state[i]
        now = State(s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7])
        for day in range(tmin.shape[1]):
            today = Weather(tmin[i, day], tmax[i, day], water[i, day], sky[i, day], sky[i, day])
            now, seen = _step(now, today, here, c)
            soil[i, day] = seen.temperature
            moisture[i, day] = seen.moisture


class Runner:
    """Holds the weather of the stations and runs them with any parameters."""

    def __init__(self, records: Records, with_precipitation: bool, depth_cm: float = 5.0) -> None:
        self.records, self.wet, self.depth_cm = records, with_precipitation, depth_cm
        self.sky = extraterrestrial_radiation(records.latitude[:, None], records.day_of_year[None, :])
        self.tmin, self.tmax, self.water = (
            np.ascontiguousarray(x, dtype=KIND) for x in (records.tmin, records.tmax, records.precipitation)
        )
        self.sky32 = np.ascontiguousarray(self.sky, dtype=KIND)

    def __call__(self, p: Parameters, stations: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Soil temperature [°C] and relative moisture of the seed zone [-], shape (station, day)."""
        r, c = self.records, coefficients_of(p)
        low, high = r.tmin[stations].T, r.tmax[stations].T
        if self.wet:
            water, water32 = r.precipitation[stations].T, self.water[stations]
        else:
            water = guessed_precipitation(low, high, r.elevation[stations], p)
            water32 = np.ascontiguousarray(water.T, dtype=KIND)
        climate = climate_of(low, high, water, self.sky[stations].T, r.latitude[stations], None, None, c)
        state = np.stack(starting_state(low[:30], high[:30], climate, p), axis=1).astype(KIND)
        place = np.stack(
            [
                np.broadcast_to(value, state.shape[:1])
                for value in place_of(p, climate.aridity, "short grass", self.depth_cm, None)
            ],
            axis=1,
        ).astype(KIND)
        soil = np.empty((len(stations), r.dates.size), dtype=KIND)
        moisture = np.empty_like(soil)
        _walk(
            self.tmin[stations],
            self.tmax[stations],
            water32,
            self.sky32[stations],
            state,
            place,
            cast(c, KIND),
            soil,
            moisture,
        )
        return soil, moisture


def with_values(values: dict[str, Any]) -> Parameters:
    """The shipped set with some values replaced."""
    return replace(WITH_PRECIPITATION, **{name: float(value) for name, value in values.items()})
