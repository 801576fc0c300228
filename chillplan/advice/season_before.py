"""The season before, put ahead of this one and of every past one: seed may have been sown in it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chillplan.errors import DataGapError
from chillplan.seasons.cut import DAYS, Seasons
from chillplan.seasons.summary import Ground
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["after_season", "each_after_its_own"]


def after_season(endings: TwoWinters, past: Seasons, ground: Ground, year: int) -> TwoWinters:
    """This season's endings, each led by the one season that was before.

    Parameters
    ----------
    ground : Ground
        Of the past seasons.
    year : int
        The season before.

    Raises
    ------
    DataGapError
        If it cannot be used.
    """
    where = np.flatnonzero(past.years == year)
    if not where.size:
        raise DataGapError(
            f"seed was sown before this season, and the record's season {year} cannot be used: give a record that "
            "holds it, or leave such sowings out"
        )
    ones = np.repeat(where, endings.temperature.shape[1])
    return _led(endings, ground.temperature[:, ones], ground.moist[:, ones])


def each_after_its_own(usual: TwoWinters, past: Seasons, ground: Ground) -> TwoWinters:
    """Past seasons that a usable one is before, each led by it."""
    place = {int(year): number for number, year in enumerate(past.years)}
    before = np.array([place.get(int(year) - 1, -1) for year in past.years])
    keep = before >= 0
    kept = replace(
        usual,
        temperature=usual.temperature[:, keep],
        moist=usual.moist[:, keep],
        minimum=usual.minimum[:, keep],
        _made={},
    )
    return _led(kept, ground.temperature[:, before[keep]], ground.moist[:, before[keep]])


def _led(winters: TwoWinters, temperature: np.ndarray, moist: np.ndarray) -> TwoWinters:
    return replace(
        winters,
        temperature=np.concatenate([temperature, winters.temperature]),
        moist=np.concatenate([moist, winters.moist]),
        lead=DAYS,
        _made={},
    )
