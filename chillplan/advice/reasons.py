"""One sentence, with its numbers, for why a verdict is what it is."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from chillplan import verdicts
from chillplan.advice.finish import Finish, owed_range
from chillplan.advice.outlook import percentiles_of
from chillplan.advice.rules import waits_for_cool_ground
from chillplan.advice.verdict import Case, Decision, Judge
from chillplan.advice.wording import number_range, winters_words
from chillplan.seeds.passage import NEVER
from chillplan.seeds.simulate import FATES, simulate

__all__ = ["reason_of"]

LOSSES = {
    "killed by frost": "most of the loss is seed that comes up before the last killing frost",
    "up too late": "most of the loss is seed that comes up too late to establish",
    "still dormant": "most of the loss is seed still dormant when the season ends",
    "sprouted in autumn": "most of the loss is seed that sprouts in autumn and freezes",
}

TOO_COOL = "most of the loss is seed that the season is too cool to bring up, chilled as it is"


def reason_of(judge: Judge, decision: Decision, dates: dict[str, date]) -> str:
    """Say why.

    Parameters
    ----------
    dates : dict of str to datetime.date
        ``sow_from``, ``sow_to``, ``best``, ``plant_out``, and ``lift`` where seed is lifted.

    Returns
    -------
    str
        One sentence.
    """
    case = decision.case
    count = winters_words(decision.good, decision.winters)
    need = _need(decision)
    if decision.verdict in {verdicts.AUTUMN, verdicts.EITHER}:
        window = _window(dates["sow_from"], dates["sow_to"])
        fridge = "; a refrigerator does it as well" if decision.verdict == verdicts.EITHER else ""
        return f"{need}, and sown {window} at least half the seed is up in {count} ({_chill(decision)}){fridge}."
    if decision.verdict == verdicts.SPRING:
        return f"{need}: sown in spring, at least half the seed is up in {count}."
    if case.finish is not None and decision.verdict == verdicts.BEGUN:
        return f"{need}; {_helped(judge, case, case.finish, dates)}: {count}."
    winters = case.fates.share_up.shape[1]
    outdoors = f"only {winters_words(case.autumn.good, winters)}" if case.autumn.good else f"none of {winters} winters"
    waited = waits_for_cool_ground(case.species, case.recipe) and judge.is_cool(case.day(case.autumn.best))
    ground = " in ground cool enough" if waited else ""
    lost = _loss(judge, decision, dates["best"])
    failing = f"{need}; the best autumn sowing{ground} ({_day(dates['best'])}) is good in {outdoors}, {lost}"
    if decision.verdict == verdicts.REFRIGERATOR:
        return f"{failing} ({_chill(decision)}); chilled indoors and planted out {_day(dates['plant_out'])}: {count}."
    if decision.verdict == verdicts.TWO_WINTERS:
        window = _window(dates["sow_from"], dates["sow_to"])
        return f"{failing}; sown {window} and left in place, it is up by the second spring in {count}."
    return (
        f"{failing}; treated indoors the best planting out is good in {_indoors(decision)}, too few for the risk taken."
    )


def _loss(judge: Judge, decision: Decision, sown: date) -> str:
    """What becomes of most of the seed that does not come up in time; seed that had its cold lacked warmth."""
    case = decision.case
    fate = FATES[1 + int(np.argmax(case.fates.shares[1:, case.autumn.best].mean(axis=1)))]
    phases = case.recipe.phases
    only_cold = len(phases) == 1 and phases[0].kind == "cold"
    chilled = not phases or (only_cold and percentiles_of(case.chill)[1] >= phases[0].days[1])
    opened = not case.species.hard_coat or case.recipe.opens_coat
    if fate == "killed by frost":
        return LOSSES[fate] + _too_early(judge, case, sown)
    return TOO_COOL if fate == "still dormant" and chilled and opened else LOSSES[fate]


def _too_early(judge: Judge, case: Case, sown: date) -> str:
    """When seed sown on the best date is up, and how late the frost comes that kills it."""
    at, limit = case.day(case.autumn.best), case.species.seedling_limit
    lot = simulate(judge.winters, case.recipe.phases, case.species.germination, np.array([at], dtype=np.int32))
    last = percentiles_of(judge.winters.last_killing_frost(limit)[0])

    def day(index: float) -> str:
        return _day(sown + timedelta(days=round(float(index)) - at))

    up = lot.emergence[lot.emergence < NEVER]
    return (
        f": half of it is up by {day(np.median(up))}, and {limit:g} °C at the seedling comes until {day(last[1])} in a "
        f"median winter, until {day(last[2])} in one of ten"
    )


def _helped(judge: Judge, case: Case, finish: Finish, dates: dict[str, date]) -> str:
    """What the winter does, what it owes, and what beginning outdoors spares."""
    shares = case.fates.share_up[int(np.searchsorted(case.starts, finish.begun.sown))]
    left = winters_words(int((shares >= judge.target).sum()), shares.size)
    low, middle, high = owed_range(finish)
    whole = case.recipe.total_days[1]
    return (
        f"sown {_window(dates['sow_from'], dates['sow_to'])} and left in place it is good in only {left}, "
        f"{LOSSES['still dormant']}; lifted by {_day(dates['lift'])}, {middle:.0f} days of cold (in a poor winter "
        f"{high:.0f}, in a good one {low:.0f}) are still owed, to be finished in the refrigerator instead of "
        f"{whole:.0f} days indoors, and planted out {_day(dates['plant_out'])}"
    )


def _need(decision: Decision) -> str:
    recipe = decision.case.recipe
    if not recipe.phases or recipe.total_days[1] == 0:
        opens = any(step.opens_coat for step in recipe.coat)
        return "No chill is needed once the coat is opened" if opens else "No chill is needed"
    parts = " then ".join(f"{number_range(*phase.days, 'days')} {phase.kind}" for phase in recipe.phases)
    return f"Needs {parts}"


def _chill(decision: Decision) -> str:
    low, middle, high = percentiles_of(decision.case.chill)
    return f"effective chill after that sowing {low:.0f} to {high:.0f} days, median {middle:.0f}"


def _window(first: date, last: date) -> str:
    return f"on {_day(first)}" if first == last else f"between {_day(first)} and {_day(last)}"


def _day(day: date) -> str:
    return f"{day.day} {day.strftime('%B')}"


def _indoors(decision: Decision) -> str:
    return winters_words(decision.case.indoors.good, decision.case.fates.share_up.shape[1])
