"""Runs the model for many stations with any parameters, compiled; the functions are those of the package."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray
from records import Records

from chillplan.physics.climate import Climate, climate_of, guessed_precipitation
from chillplan.physics.coefficients import Coefficients, cast, coefficients_of
from chillplan.physics.compiled import compiled_day_step
from chillplan.physics.day import Place, State, Weather
from chillplan.physics.daylight import extraterrestrial_radiation
from chillplan.physics.parameters import WITH_PRECIPITATION, Parameters
from chillplan.physics.seed_zone import place_of, starting_state

NAMES = [field.name for field in fields(Parameters)]
KIND = np.float32
LANES = 40
"""Stations side by side; a constant length lets the compiler take several at a time."""

_step = compiled_day_step()
_L = LANES


@njit(error_model="numpy")
def _day(s, w, p, c, soil, moisture):  # type: ignore[no-untyped-def]
    """One day of one block of stations; states, weather and places lie in rows of `LANES`."""
    for i in range(_L):
        after, seen = _step(
            State(
                s[i],
                s[_L + i],
                s[2 * _L + i],
                s[3 * _L + i],
                s[4 * _L + i],
                s[5 * _L + i],
                s[6 * _L + i],
                s[7 * _L + i],
            ),
            Weather(w[i], w[_L + i], w[2 * _L + i], w[3 * _L + i], w[3 * _L + i]),
            Place(
                p[i],
                p[_L + i],
                p[2 * _L + i],
                p[3 * _L + i],
                p[4 * _L + i],
                p[5 * _L + i],
                p[6 * _L + i],
                p[7 * _L + i],
                p[8 * _L + i],
                p[9 * _L + i],
                p[10 * _L + i],
            ),
            c,
        )
        s[i] = after.upper
        s[_L + i] = after.middle
        s[2 * _L + i] = after.lower
        s[3 * _L + i] = after.deep
        s[4 * _L + i] = after.snow_water
        s[5 * _L + i] = after.snow_depth
        s[6 * _L + i] = after.seed_water
        s[7 * _L + i] = after.root_water
        soil[i] = seen.temperature
        moisture[i] = seen.moisture


@njit(error_model="numpy")
def _walk(state, weather, place, c, soil, moisture):  # type: ignore[no-untyped-def]
    for block in range(weather.shape[0]):
        for day in range(weather.shape[1]):
            _day(state[block], weather[block, day], place[block], c, soil[block, day], moisture[block, day])


def _blocks(rows: list[NDArray[np.floating]], count: int) -> NDArray[np.float32]:
    """Rows of shape (..., station) as an array of shape (block, ..., row times `LANES`); the last is filled up."""
    whole = np.stack([np.broadcast_to(row, (*rows[0].shape[:-1], count)) for row in rows], axis=-2)
    lanes = np.minimum(np.arange(-(-count // LANES) * LANES), count - 1)
    blocks = np.stack(np.split(whole[..., lanes], lanes.size // LANES, axis=-1))
    return np.ascontiguousarray(blocks.reshape(*blocks.shape[:-2], -1), dtype=KIND)


class Runner:
    """Holds the weather of the stations and runs them with any parameters."""

    def __init__(
        self, records: Records, with_precipitation: bool, depth_cm: float = 5.0, cover: str = "short grass"
    ) -> None:
        self.records, self.wet, self.depth_cm, self.cover = records, with_precipitation, depth_cm, cover
        self.low, self.high, self.water = (
            np.ascontiguousarray(x.T) for x in (records.tmin, records.tmax, records.precipitation)
        )
        self.sky = extraterrestrial_radiation(records.latitude[None, :], records.day_of_year[:, None])
        self.count = len(records.stations)
        self.weather = _blocks([self.low, self.high, self.water, self.sky], self.count)
        self.known_climate: Climate | None = None
        self.calibration: dict[str, float] | None = None

    def everywhere(self, p: Parameters) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        """Soil temperature [°C] and relative moisture of the seed zone [-], shape (day, station)."""
        c = coefficients_of(p)
        climate = self._climate(p, c)
        state = _blocks(list(starting_state(self.low[:30], self.high[:30], climate, p)), self.count)
        place = _blocks(
            [
                np.atleast_1d(value)
                for value in place_of(p, climate.aridity, self.cover, self.depth_cm, self.calibration)
            ],
            self.count,
        )
        soil = np.empty((*self.weather.shape[:2], LANES), dtype=KIND)
        moisture = np.empty_like(soil)
        _walk(state, self.weather, place, cast(c, KIND), soil, moisture)
        return self._side_by_side(soil), self._side_by_side(moisture)

    def __call__(self, p: Parameters, stations: NDArray[np.int_]) -> tuple[NDArray[Any], NDArray[Any]]:
        """The same for some stations, shape (station, day)."""
        soil, moisture = self.everywhere(p)
        return soil[:, stations].T, moisture[:, stations].T

    def _climate(self, p: Parameters, c: Coefficients) -> Climate:
        """Warmth and aridity; where rain is guessed it is put into the weather, and the aridity follows the guess."""
        if self.wet and self.known_climate is not None:
            return self.known_climate
        water = self.water if self.wet else guessed_precipitation(self.low, self.high, self.records.elevation, p)
        if not self.wet:
            self.weather[:, :, 2 * LANES : 3 * LANES] = _blocks([water], self.count)
        known = None if self.known_climate is None else self.known_climate.mean_temperature
        latitude = self.records.latitude
        self.known_climate = climate_of(self.low, self.high, water, self.sky, latitude, known, None, c)
        return self.known_climate

    def _side_by_side(self, blocks: NDArray[np.float32]) -> NDArray[np.float32]:
        return blocks[0][:, : self.count] if len(blocks) == 1 else np.concatenate(blocks, axis=1)[:, : self.count]


def with_values(values: dict[str, Any]) -> Parameters:
    """The shipped set with some values replaced."""
    return replace(WITH_PRECIPITATION, **{name: float(value) for name, value in values.items()})
