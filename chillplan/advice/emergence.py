"""When seedlings are to be expected from an outdoor sowing."""

from __future__ import annotations

from datetime import date

import numpy as np

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.result import Plan, SpeciesAdvice
from chillplan.seasons.cut import DAYS, season_of, season_start
from chillplan.seeds.passage import NEVER
from chillplan.seeds.simulate import simulate
from chillplan.seeds.two_winters import TwoWinters, two_winters

__all__ = ["expected_emergence"]

FEWEST = 0.1  # a smaller share that comes up at all is not announced [-]


def expected_emergence(plan: Plan) -> dict[str, tuple[date, date]]:
    """Dates between which eight seedlings in ten come up, by species sown outdoors.

    Returns
    -------
    dict of str to tuple of datetime.date
        By scientific name; a species of which hardly a seed comes up in these seasons has none.
    """
    springs = max((advice.outdoors.spring for advice in plan.species if advice.outdoors is not None), default=1)
    pair = two_winters(plan.seasons, plan.ground, springs=max(springs, 2))
    found = {}
    for advice in plan.species:
        if "outdoors" in advice.ways:
            window = _window(plan, pair, advice)
            if window is not None:
                found[advice.species.name] = window
    return found


def _window(plan: Plan, pair: TwoWinters, advice: SpeciesAdvice) -> tuple[date, date] | None:
    southern = plan.seasons.southern
    best = advice.outdoors.best if advice.outdoors else plan.today
    season = season_of(best, southern)
    start = np.array([min((best - season_start(season, southern)).days, DAYS - 1)], dtype=np.int32)
    emergence = simulate(pair, advice.recipe.phases, advice.species.germination, start).emergence
    up = emergence[emergence < NEVER]
    if up.size < FEWEST * emergence.size:
        return None
    first, last = np.quantile(up, (0.1, 0.9))
    return date_of(int(first), season, southern), date_of(int(last), season, southern)
