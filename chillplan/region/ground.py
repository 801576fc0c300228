"""Runs the ground kernel over groups of places, and sums up what it counted by winter."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.rules import COOL_GROUND, LAST_AUTUMN_START, STARTS, WORKABLE_SNOW, WORKABLE_TEMPERATURE
from chillplan.physics.climate import Climate, climate_of, cloudiest_rain
from chillplan.physics.coefficients import coefficients_of, record
from chillplan.physics.daylight import extraterrestrial_radiation, slope_radiation_ratio
from chillplan.physics.lanes import LANES, aligned
from chillplan.physics.parameters import WITH_PRECIPITATION, WITHOUT_PRECIPITATION
from chillplan.physics.seed_zone import FIRST_DAYS, place_of, starting_state
from chillplan.region.ground_kernel import COUNTS, NO_DAY, RUN, WORK, Found, Marks, ground_block
from chillplan.region.places import Ask, Places, response_row
from chillplan.region.sums_kernel import Given, cool_block, sorting_pairs, sums_block
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seasons.cut import DAYS, SeasonRows, daily_means
from chillplan.seasons.summary import TEMPERATURE_GRAIN
from chillplan.seeds.recipe import COLD_RESPONSE
from chillplan.seeds.two_winters import KILLING_FROST

__all__ = ["FROSTS", "WARM", "GroundCounts", "Sums", "ground_counts", "sums_of"]

FloatArray = NDArray[np.floating]

FROSTS = (0.0, -2.0)
"""Minima of the air whose first and last dates are mapped. [°C]"""

WARM = (5.0, 10.0)
"""Temperatures of the seed zone whose spring dates the rules ask for. [°C]"""

STEP = int(STARTS[1] - STARTS[0])


@dataclass(frozen=True)
class Sums:
    """What the climate and the starting state of each place follow from."""

    # of mean temperature, evaporation demand, precipitation, and days with precipitation; the first is NaN where a
    # temperature is missing; shape (season, 4, place)
    totals: FloatArray
    firsts: NDArray[np.float32]  # mean tmin and tmax of the first days [°C]; shape (season, 2, place)


@dataclass(frozen=True)
class GroundCounts:
    """The ground of a group of places; the last axis is the place."""

    code: NDArray[np.int16]  # temperature in 1/128 °C doubled, plus 1 where moist; shape (block, season, day, lane)
    # [day]; shape (season, place)
    chill_days: FloatArray
    cold_days: FloatArray
    effective_chill: FloatArray
    # in the air; ``inf`` and ``-inf`` where there is none [day]; shape (threshold, season, place)
    first_frost: FloatArray
    last_frost: FloatArray
    soil_warm: FloatArray  # [day]; shape (threshold, season, place)
    # first killing frost at the seedling, ``inf`` where there is none [day]; shape (season, place)
    first_killing: FloatArray
    # last minimum at or below each seedling limit, -1 where there is none [day]; shape (limit, season, place)
    last_killing: NDArray[np.int32]
    # shape (start, place)
    workable: NDArray[np.bool_]
    cool: NDArray[np.bool_]


@dataclass(frozen=True)
class Inputs:
    """Arrays of a group as the kernels take them, in `Given`, of all its blocks."""

    whole: Given
    count: int

    def block(self, number: int, warming: float) -> Given:
        """What one block is worked out from."""
        whole, lanes = self.whole, slice(number * LANES, (number + 1) * LANES)
        fill = (whole.fill_low, whole.fill_high)
        return whole._replace(
            first=whole.first + number * LANES,
            level=aligned(whole.level[:, lanes]),
            facing=aligned(whole.facing[:, lanes]),
            warming=np.float32(warming),
            fill_low=np.ascontiguousarray(fill[0][:, lanes]) if whole.has_gaps else fill[0],
            fill_high=np.ascontiguousarray(fill[1][:, lanes]) if whole.has_gaps else fill[1],
            cloudiest=whole.cloudiest[lanes],
        )


def inputs_of(places: Places, rows: SeasonRows, gaps: bool) -> Inputs:
    """Prepare a group whose number of places is a multiple of `LANES`."""
    parameters = WITHOUT_PRECIPITATION if places.precipitation is None else WITH_PRECIPITATION
    level, facing = _radiation(places)
    none = np.empty((1, LANES), np.float32)
    tmin, tmax = places.own(places.tmin), places.own(places.tmax)
    fill = (_fill(tmin, rows), _fill(tmax, rows)) if gaps else (none, none)
    c = record(coefficients_of(parameters), np.float32)
    water = places.tmin if places.precipitation is None else places.precipitation  # not looked at where there is none
    whole = Given(
        places.tmin,
        places.tmax,
        water,
        places.first,
        rows.row,
        rows.day_of_year,
        level,
        facing,
        c,
        np.float32(0.0),
        *fill,
        gaps,
        places.precipitation is None,
        aligned(cloudiest_rain(places.elevation, parameters, np.float32)),
    )
    return Inputs(whole, len(places))


def sums_of(inputs: Inputs, warming: float) -> Sums:
    """Sum up each season of a group."""
    seasons, count = len(inputs.whole.row), inputs.count
    totals, firsts = np.empty((seasons, 4, count)), np.empty((seasons, 2, count), np.float32)
    for block in range(count // LANES):
        lanes = slice(block * LANES, (block + 1) * LANES)
        total, first = np.empty((seasons, 4 * LANES)), np.empty((seasons, 2 * LANES), np.float32)
        sums_block(inputs.block(block, warming), FIRST_DAYS, total, first)
        totals[:, :, lanes] = total.reshape(seasons, 4, LANES)
        firsts[:, :, lanes] = first.reshape(seasons, 2, LANES)
    return Sums(totals, firsts)


def ground_counts(inputs: Inputs, sums: Sums, ask: Ask, limits: tuple[float, ...]) -> GroundCounts:
    """Walk all seasons of a group, and sum up.

    Parameters
    ----------
    inputs : Inputs
    sums : Sums
    ask : Ask
    limits : tuple of float
        Seedling limits. [°C]
    """
    seasons, count = len(inputs.whole.row), inputs.count
    parameters = WITHOUT_PRECIPITATION if inputs.whole.dry else WITH_PRECIPITATION
    climate = _climate(sums, seasons)
    place = place_of(parameters, climate.aridity, ask.cover, ask.depth_cm, ask.calibration, np.float32)
    state = starting_state(sums.firsts[None, :, 0], sums.firsts[None, :, 1], climate, parameters, np.float32)
    constants = np.stack([np.broadcast_to(value, count) for value in place])
    start = np.stack([np.broadcast_to(value, (seasons, count)) for value in state], axis=1)
    # The kernel counts one limit at least; without a species none is ever met.
    counted_limits = np.array(limits or (-np.inf,), np.float32)
    width = COUNTS.limits + counted_limits.size
    blocks = count // LANES
    code = aligned(np.empty((blocks, seasons, DAYS, LANES), np.int16))
    counts = aligned(np.empty((blocks, seasons, width * LANES), np.int32))
    opened = aligned(np.zeros((blocks, STARTS.size, LANES), np.int32))
    work = aligned(np.empty(WORK, np.float32))
    cool_from = np.full((blocks, LANES), -1, np.int32)
    pairs = sorting_pairs(seasons)
    counted = record(_marks(ask.warming, inputs.whole.dry, counted_limits[0]), np.float32)
    for block in range(blocks):
        lanes = slice(block * LANES, (block + 1) * LANES)
        ground_block(
            inputs.block(block, ask.warming),
            aligned(constants[:, lanes]).reshape(-1),
            aligned(start[:, :, lanes]).reshape(seasons, -1),
            counted,
            counted_limits,
            STEP,
            work,
            Found(code[block], counts[block], opened[block]),
        )
        cool_block(
            code[block], pairs, STEP, LAST_AUTUMN_START, round(COOL_GROUND * TEMPERATURE_GRAIN), cool_from[block]
        )
    return _summed(code, counts, opened, cool_from)


def _marks(warming: float, dry: bool, limit: float) -> Marks:
    zero_low, per_low, zero_high, per_high = response_row(COLD_RESPONSE)[:4]
    return Marks(
        zero_low=zero_low,
        per_low=per_low,
        zero_high=zero_high,
        per_high=per_high,
        grain=DAY_GRAIN,
        killing=KILLING_FROST,
        frost=FROSTS[0],
        hard_frost=FROSTS[1],
        workable=WORKABLE_TEMPERATURE,
        workable_snow=WORKABLE_SNOW,
        warm=RUN * round(WARM[0] * TEMPERATURE_GRAIN),
        warmer=RUN * round(WARM[1] * TEMPERATURE_GRAIN),
        warming=warming,
        dry=float(dry),
        limit=limit,
    )


def _summed(
    code: NDArray[np.int16],
    counts: NDArray[np.int32],
    opened: NDArray[np.int32],
    cool_from: NDArray[np.int32],
) -> GroundCounts:
    blocks, seasons = code.shape[:2]
    table = counts.reshape(blocks, seasons, -1, LANES).transpose(2, 1, 0, 3).reshape(-1, seasons, blocks * LANES)
    warm = np.where(table[COUNTS.warm : COUNTS.warmer + 1] == NO_DAY, np.inf, table[COUNTS.warm : COUNTS.warmer + 1])
    never_below = table[COUNTS.coldest] >= np.array([RUN * round(x * TEMPERATURE_GRAIN) for x in WARM])[:, None, None]
    first = table[COUNTS.first_frost : COUNTS.first_hard_frost + 1]
    last = table[COUNTS.last_frost : COUNTS.last_hard_frost + 1]
    position = np.arange(STARTS.size)[:, None]
    start = cool_from.reshape(-1)
    return GroundCounts(
        code=code,
        chill_days=table[COUNTS.chill_days].astype(float),
        cold_days=table[COUNTS.cold_days].astype(float),
        effective_chill=table[COUNTS.chill] / DAY_GRAIN,
        first_frost=np.where(first == NO_DAY, np.inf, first),
        last_frost=np.where(last < 0, -np.inf, last),
        soil_warm=np.where(never_below, -np.inf, warm),
        first_killing=np.where(table[COUNTS.first_killing] == NO_DAY, np.inf, table[COUNTS.first_killing]),
        last_killing=table[COUNTS.limits :],
        workable=opened.transpose(1, 0, 2).reshape(STARTS.size, -1) / seasons >= 0.5,
        cool=(position >= start) & (start >= 0),
    )


def _climate(sums: Sums, seasons: int) -> Climate:
    mean, demand, water, _ = sums.totals.sum(axis=0)
    none = np.zeros((1, 1), np.float32)
    aridity = water / np.maximum(demand, 1.0)
    return climate_of(none, none, none, none, 0.0, mean / (seasons * DAYS), aridity, None)  # type: ignore[arg-type]


def _radiation(places: Places) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Radiation above the atmosphere on level ground and on the slope, shape (366, place), once for equal places."""
    lies = np.stack([places.latitude, places.slope, places.aspect], axis=1)
    kinds, which = np.unique(np.ascontiguousarray(lies).view("V24").reshape(-1), return_inverse=True)
    level, facing = _radiation_of(kinds.tobytes())
    return level[:, which], facing[:, which]


@lru_cache(maxsize=64)
def _radiation_of(kinds: bytes) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """For places given by latitude, slope and aspect, one after the other."""
    latitude, slope, aspect = np.frombuffer(kinds).reshape(-1, 3).T
    days = np.arange(1, 367)[:, None]
    level = extraterrestrial_radiation(latitude, days)
    facing = level * slope_radiation_ratio(latitude, days, slope, aspect, shade=0.0)
    return level.astype(np.float32), facing.astype(np.float32)


def _fill(values: NDArray[np.float32], rows: SeasonRows) -> NDArray[np.float32]:
    """What missing days of a season take, shape (spin-up day + day, place)."""
    absent = rows.row < 0
    stacked = values[rows.row.T].astype(float)
    stacked[absent.T] = np.nan
    return daily_means(stacked).astype(np.float32)
