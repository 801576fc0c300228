"""Whether an observed snow depth can be right: what new snow adds to it must fit the water that fell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

__all__ = ["FreshSnow", "fresh_snow", "snow_fault"]

FREEZING = 0.0  # tmax up to which what falls is taken as snow that does not melt [°C]
LEAST_WATER = 2.0  # water of a snowfall worth measuring [mm]
FEWEST_FALLS = 10  # snowfalls that a judgement needs; our choice
USUAL_BULK = 10.0
"""Depth of new snow over its water. [-]

New snow of four winters at six places had 72 to 103 kg m-3 on average, single falls 10 to 257 (Judson and Doesken 2000,
Bull. Amer. Meteor. Soc. 81:1577-1587, abstract read): 10 to 14 mm a mm of water, less when read later.
"""
LEAST_BULK, MOST_BULK = 2.0, 40.0
"""Mean depth over water, beyond which a record is not believed: more than twice what the densest, and less than half of
what the lightest of those places allows for wind, settling and a gauge that catches too little (our choice). [-]"""
BARE_SHARE = 0.25  # share of heavy snowfalls after which no snow lies that is not believed; our choice [-]
HEAVY = 5.0  # water of a snowfall that cannot go unseen [mm]
UNITS = (10.0, 25.4)  # tenths for whole units, inches for millimetres [-]


@dataclass(frozen=True)
class FreshSnow:
    """Snowfalls of a record on freezing days.

    Attributes
    ----------
    falls, heavy : int
        All of at least 2 mm of water, and those of at least 5.
    bulk : float
        Depth gained over water, all falls together; NaN without a fall. [-]
    bare : int
        Heavy falls after which the depth is 0 on that day and the next.
    """

    falls: int
    heavy: int
    bulk: float
    bare: int


def fresh_snow(daily: pd.DataFrame) -> FreshSnow:
    """Depth of snow gained on freezing days, beside the water that fell.

    Parameters
    ----------
    daily : pandas.DataFrame
        Consecutive dates; ``tmax`` [°C], ``precipitation`` and ``snow_depth`` [mm].

    Returns
    -------
    FreshSnow
    """
    depth = daily["snow_depth"].to_numpy(dtype=float)
    water = daily["precipitation"].to_numpy(dtype=float)
    before, after = np.full(depth.size, np.nan), np.full(depth.size, np.nan)
    before[1:], after[:-1] = depth[:-1], depth[1:]
    # Read in the morning, the depth shows most of a day's snow on the next.
    then = np.maximum(depth, after)
    frozen = daily["tmax"].to_numpy(dtype=float) <= FREEZING
    fell = frozen & (water >= LEAST_WATER) & np.isfinite(then - before)
    heavy = fell & (water >= HEAVY)
    gained = np.maximum(then - before, 0.0)[fell].sum()
    bulk = float(gained / water[fell].sum()) if fell.any() else float("nan")
    return FreshSnow(int(fell.sum()), int(heavy.sum()), bulk, int((then[heavy] == 0.0).sum()))


def snow_fault(daily: pd.DataFrame) -> str | None:
    """What is wrong with an observed snow depth, in a sentence; None where it may be right or nothing can be said.

    Parameters
    ----------
    daily : pandas.DataFrame
        As for `fresh_snow`; a record without depth or precipitation cannot be judged.
    """
    if not {"snow_depth", "precipitation"} <= set(daily):
        return None
    found = fresh_snow(daily)
    if found.falls < FEWEST_FALLS:
        return None
    if not LEAST_BULK <= found.bulk <= MOST_BULK:
        return f"{_misfit(found.bulk)}, so it is not used (name the column with its unit, such as snow_depth_cm)."
    if found.heavy >= FEWEST_FALLS and found.bare > BARE_SHARE * found.heavy:
        return (
            f"Observed snow depth is 0 after {found.bare} of {found.heavy} heavy snowfalls in frost: missing values "
            "seem to stand as 0, so it is not used (leave them blank)."
        )
    return None


def _misfit(bulk: float) -> str:
    words = f"Observed snow depth gains {bulk:.1f} mm a mm of water in frost where about {USUAL_BULK:.0f} are usual"
    if not bulk:
        return f"{words}: it does not follow the snowfall"
    off = max(bulk / USUAL_BULK, USUAL_BULK / bulk)
    factor = min(UNITS, key=lambda unit: abs(np.log(off / unit)))
    return f"{words}: it looks {factor:g} times too {'small' if bulk < USUAL_BULK else 'large'}"
