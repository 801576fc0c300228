"""This season so far with every ending, and the seed zone run through all of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.outlook import Ease, ease_of
from chillplan.advice.plan import error_of
from chillplan.advice.rules import Member, Possible, members_of, possibilities
from chillplan.advice.top_up import lift_day
from chillplan.errors import DataGapError, counted
from chillplan.seasons.cut import DAYS, Seasons, season_start
from chillplan.seasons.forecast import SeasonSoFar, spliced, without
from chillplan.seasons.summary import Ground, ground_of, winters_of
from chillplan.seeds.two_winters import TwoWinters, two_winters
from chillplan.site import Site

__all__ = ["SeasonEnsemble", "ensemble_of"]

FEWEST_ENDINGS = 5
SPRINGS = 3
"""Springs that seed sown now is followed through."""


@dataclass(frozen=True)
class SeasonEnsemble:
    """This season so far with every ending, beside the past seasons as they were.

    Attributes
    ----------
    members : sequence of Member
        Endings in each case of the error of the seed zone and of the lot; weights sum to 1.
    years : numpy.ndarray of int, shape (ending,)
        Season each ending is lent by.
    lift : mapping of float to int
        Day index by which seed is lifted, by the seed-zone temperature that wakes it. [day]
    ground : Ground
        Of the endings.
    """

    so_far: SeasonSoFar
    today: date
    endings: TwoWinters
    past: TwoWinters
    members: Sequence[Member]
    years: NDArray[np.int_]
    ease: Ease
    lift: Mapping[float, int]
    ground: Ground

    @property
    def now(self) -> int:
        """Today as a day index. [day]"""
        return (self.today - season_start(self.so_far.year, self.so_far.southern)).days

    def day(self, index: float) -> date:
        """Date of a day index of this season."""
        return date_of(int(index), self.so_far.year, self.so_far.southern)


def ensemble_of(
    seasons: Seasons,
    so_far: SeasonSoFar,
    site: Site,
    cases: Sequence[Possible] | None = None,
    today: date | None = None,
    before: int = 0,
) -> SeasonEnsemble:
    """Continue this season by every other and run the seed zone through.

    Parameters
    ----------
    cases : sequence of Possible, optional
        Errors to count over; None takes those measured.
    today : datetime.date, optional
        From when something can be done; None is the day after the last one known.
    before : int
        How many seasons before this one seed was sown in; they then lead this one.

    Raises
    ------
    DataGapError
        If fewer than 5 other seasons are usable, or a season before is not where it is asked for.
    """
    past = without(seasons, so_far.year)
    if past.years.size < FEWEST_ENDINGS:
        raise DataGapError(
            f"{counted(past.years.size, 'other usable winter')} in the record, at least {FEWEST_ENDINGS} are needed to "
            "say how this one may end: give a longer record"
        )
    joined = spliced(past, so_far)
    ground, past_ground = ground_of(joined, site), ground_of(past, site)
    warm = winters_of(joined, ground).soil_warm
    usual = two_winters(past, past_ground, springs=SPRINGS)
    endings = replace(two_winters(joined, ground, springs=SPRINGS), deadline=usual.deadline)
    if before:
        endings = after_seasons(endings, past, past_ground, so_far.year, before)
        usual = each_after_its_own(usual, past, past_ground, before)
    now = today or so_far.last_day + timedelta(days=1)
    return SeasonEnsemble(
        so_far=so_far,
        today=now,
        endings=endings,
        past=usual,
        members=members_of(endings, possibilities(error_of(seasons, site).together) if cases is None else cases),
        years=past.years,
        ease=ease_of(ground, warm),
        lift={limit: int(lift_day(days)) for limit, days in warm.items()},
        ground=ground,
    )


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
