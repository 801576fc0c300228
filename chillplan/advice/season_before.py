"""The seasons before, put ahead of this one and of every past one: seed may have been sown in them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chillplan.errors import DataGapError
from chillplan.seasons.cut import DAYS, Seasons
from chillplan.seasons.summary import Ground
from chillplan.seeds.two_winters import TwoWinters

__all__ = ["after_seasons", "each_after_its_own"]


def after_seasons(endings: TwoWinters, past: Seasons, ground: Ground, year: int, count: int) -> TwoWinters:
    """This season's endings, led by the seasons that were before.

    Parameters
    ----------
    ground : Ground
        Of the past seasons.
    year : int
        This season.
    count : int
        How many seasons before it are wanted.

    Raises
    ------
    DataGapError
        If one of them cannot be used.
    """
    for before in range(year - 1, year - 1 - count, -1):
        where = np.flatnonzero(past.years == before)
        if not where.size:
            raise DataGapError(
                f"seed was sown before this season, and the record's season {before} cannot be used: give a record "
                "that holds it, or leave such sowings out"
            )
        ones = np.repeat(where, endings.temperature.shape[1])
        endings = _led(endings, ground.temperature[:, ones], ground.moist[:, ones])
    return endings


def each_after_its_own(usual: TwoWinters, past: Seasons, ground: Ground, count: int) -> TwoWinters:
    """Past seasons that usable ones are before, each led by those."""
    place = {int(year): number for number, year in enumerate(past.years)}
    before = [np.array([place.get(int(year) - back, -1) for year in past.years]) for back in range(1, count + 1)]
    keep = np.all([one >= 0 for one in before], axis=0)
    kept = replace(
        usual,
        temperature=usual.temperature[:, keep],
        moist=usual.moist[:, keep],
        minimum=usual.minimum[:, keep],
        _made={},
    )
    for one in before:
        kept = _led(kept, ground.temperature[:, one[keep]], ground.moist[:, one[keep]])
    return kept


def _led(winters: TwoWinters, temperature: np.ndarray, moist: np.ndarray) -> TwoWinters:
    return replace(
        winters,
        temperature=np.concatenate([temperature, winters.temperature]),
        moist=np.concatenate([moist, winters.moist]),
        lead=winters.lead + DAYS,
        _made={},
    )
