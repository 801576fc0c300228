"""Why a verdict is as it is, and what would change it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from chillplan import verdicts
from chillplan.advice.outlook import percentiles_of
from chillplan.advice.rules import waits_for_cool_ground
from chillplan.advice.top_up import Finish, owed_range
from chillplan.advice.verdict import Case, Decision, Judge, decide
from chillplan.advice.wording import number_range, verdict_words, winters_words
from chillplan.errors import counted
from chillplan.seasons.cut import DAYS
from chillplan.seeds.passage import NEVER
from chillplan.seeds.recipe import Species
from chillplan.seeds.requirement import lot_needing
from chillplan.seeds.simulate import FATES, simulate
from chillplan.site import Site

__all__ = ["Elsewhere", "changes_of", "reason_of", "try_scenarios", "wants_changes"]

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
        f"{LOSSES['still dormant']}; lifted by {_day(dates['lift'])}, {counted(middle, 'day')} of cold (in a poor "
        f"winter {high:.0f}, in a good one {low:.0f}) are still owed, to be finished in the refrigerator instead of "
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


NEAR_THE_LINE = 0.15  # verdicts whose share of good winters is this near to the accepted one are looked into [-]
NO_MORE = 1e-9  # 13 of 20 winters are as near to 0.8 as 19 of 20, whatever a computer makes of the difference [-]
SHIFT = 15  # two weeks in steps of the candidate dates [day]
SLOPE = 15.0  # steepness of the slopes that are tried where the site is flatter [degrees]
MULCHES = ("leaf mulch", "straw mulch")


@dataclass(frozen=True)
class Elsewhere:
    """What the decision would be with one thing changed.

    Attributes
    ----------
    words : str
        What is changed, as the end of a sentence.
    """

    words: str
    decision: Decision


def wants_changes(judge: Judge, decision: Decision) -> bool:
    """Whether a verdict is near enough to the line that small changes are worth telling."""
    if decision.winters == 0:
        return False
    good = decision.good / decision.winters
    doubtful = (decision.chance >= judge.accept) != (good >= judge.accept)
    return decision.borderline or doubtful or abs(good - judge.accept) <= NEAR_THE_LINE + NO_MORE


def try_scenarios(
    decisions: Sequence[Decision],
    site: Site,
    warming: float,
    judge_at: Callable[[Site, float], Judge],
    progress: Callable[[str], None] = lambda _: None,
) -> dict[str, list[Elsewhere]]:
    """Decide again with one thing changed at the site, one change after the other for all species.

    Parameters
    ----------
    decisions : sequence of Decision
        Those near the line; where there are none, nothing is run.
    warming : float
        That the plan is made for already. [°C]
    judge_at : callable
        Makes the judge of a site and a warming.
    progress : callable
        Told what is tried, in words.

    Returns
    -------
    dict of str to list of Elsewhere
        By species name.
    """
    found: dict[str, list[Elsewhere]] = {decision.case.species.name: [] for decision in decisions}
    for words, place, degrees in _changed_sites(site) if decisions else ():
        progress(f"trying {words}")
        judge = judge_at(place, warming + degrees).lean
        for decision in decisions:
            species = decision.case.species
            found[species.name].append(Elsewhere(words, decide(judge, species)))
    return found


def _changed_sites(site: Site) -> tuple[tuple[str, Site, float], ...]:
    """What is changed in words, the changed site, and the warming. [°C]"""
    steep = max(site.slope, SLOPE)
    mulched = site.cover in MULCHES
    other_cover = "bare" if mulched else "straw mulch"
    return (
        ("1 °C warmer", site, 1.0),
        ("2 °C warmer", site, 2.0),
        ("without mulch" if mulched else "under straw mulch", replace(site, cover=other_cover), 0.0),
        (f"on a north slope of {steep:.0f} degrees", replace(site, slope=steep, aspect=0.0), 0.0),
        (f"on a south slope of {steep:.0f} degrees", replace(site, slope=steep, aspect=180.0), 0.0),
    )


def changes_of(judge: Judge, decision: Decision, elsewhere: Sequence[Elsewhere]) -> tuple[str, ...]:
    """Sentences on what would change one verdict.

    Parameters
    ----------
    elsewhere : sequence of Elsewhere
        Empty where nothing was tried.
    """
    said = [_chill_short(judge, decision), _other_dates(judge, decision), *_elsewhere(decision, elsewhere)]
    if elsewhere:
        said += [_other_lots(judge, decision), _warm_spells(judge, decision), base_temperature_changes(judge, decision)]
    return tuple(sentence for sentence in said if sentence)


def base_temperature_changes(judge: Judge, decision: Decision) -> str:
    """Whether the verdict holds over the plausible range of an assumed base temperature; empty where published."""
    species = decision.case.species
    if not species.germination.assumed:
        return ""
    low, high = species.germination.base_range
    found = {base: decide(judge.lean, _with_base(species, base)) for base in (low, high)}
    others = {base: each.verdict for base, each in found.items() if each.verdict != decision.verdict}
    turned = [f"{verdict_words(verdict)} at {base:g} °C" for base, verdict in others.items()]
    span = f"base temperature of germination, assumed, {low:g} to {high:g} °C"
    if turned:
        return f"Over the plausible range ({span}) it would turn to {', '.join(turned)}."
    return f"It holds over the plausible range ({span})."


def _other_lots(judge: Judge, decision: Decision) -> str:
    """What a lot would turn the verdict to that needs a standard deviation more or less cold than a usual one."""
    species = decision.case.species
    needs = [phase for phase in decision.case.recipe.phases if phase.variation]
    if not needs:
        return ""
    turned, held = [], []
    for lot in (-1.0, 1.0):
        recipes = tuple(lot_needing(recipe, lot) for recipe in species.recipes)
        found = decide(judge.lean, replace(species, recipes=recipes))
        change = lot_needing(decision.case.recipe, lot).phases[decision.case.recipe.phases.index(needs[0])].factor - 1.0
        words = f"{abs(change):.0%} {'more' if change > 0 else 'less'} cold than usual"
        count = f"({winters_words(found.good, found.winters)})"
        if found.verdict == decision.verdict:
            held.append(f"{words} {count}")
        else:
            turned.append(f"to {verdict_words(found.verdict)} with seed that needs {words} {count}")
    if turned:
        return f"Lots of one species differ: it would turn {', '.join(turned)}."
    return f"It holds for lots that need {' or '.join(held)}."


def _warm_spells(judge: Judge, decision: Decision) -> str:
    """What the decision would be if warm spells undid nothing; empty where it would be the same."""
    species = decision.case.species
    recipes = tuple(
        replace(recipe, phases=tuple(replace(phase, reversal=math.inf) for phase in recipe.phases))
        for recipe in species.recipes
    )
    found = decide(judge.lean, replace(species, recipes=recipes))
    if (found.verdict, found.good) == (decision.verdict, decision.good):
        return ""
    said = "stay" if found.verdict == decision.verdict else "turn to"
    count = winters_words(found.good, found.winters)
    return f"If warm spells undid no chill it would {said} {verdict_words(found.verdict)} ({count})."


def _with_base(species: Species, base: float) -> Species:
    return replace(species, germination=replace(species.germination, base_temperature=base))


def _chill_short(judge: Judge, decision: Decision) -> str:
    """Days of the last cold phase that the winter lacks, or has to spare, after the best autumn sowing."""
    case = decision.case
    cold = [phase for phase in case.recipe.phases if phase.kind == "cold"]
    if len(cold) != 1 or case.recipe.phases[0].kind == "warm":
        return ""
    start, lead = case.day(case.autumn.best), judge.winters.lead
    chill = judge.winters.gain(cold[0].response)[start + lead : DAYS + lead].sum(axis=0)
    poor, median, _ = percentiles_of(chill)
    need = cold[0].days[1]
    if poor >= need:
        spare = counted(poor - need, "day")
        return f"Even a poor winter (one in ten) has {spare} of chill to spare for nine seeds in ten."
    if median >= need:
        return (
            f"For nine seeds in ten a median winter has {counted(median - need, 'day')} of chill to spare, a poor one "
            f"(one in ten) is {counted(need - poor, 'day')} short."
        )
    return (
        f"For nine seeds in ten a median winter is {counted(need - median, 'day')} of chill short, a poor one (one in "
        f"ten) {counted(need - poor, 'day')}."
    )


def _other_dates(judge: Judge, decision: Decision) -> str:
    """Good winters of sowing two weeks earlier or later than the best autumn date, where they are not the same."""
    case = decision.case
    good = (case.fates.share_up >= judge.target).sum(axis=1)
    winters = case.fates.share_up.shape[1]
    best = case.day(case.autumn.best)
    waits = waits_for_cool_ground(case.species, case.recipe)
    parts = []
    for words, day in (("earlier", best - SHIFT), ("later", best + SHIFT)):
        if max(int(case.starts[0]), judge.seed(case.species).ready) <= day <= case.starts[-1]:
            place = int(np.searchsorted(case.starts, day))
            count = int(good[place])
            if count != case.autumn.good:
                warm = ", in ground still warm," if waits and not judge.is_cool(day) else ""
                parts.append(f"two weeks {words}{warm} {winters_words(count, winters)}")
    if not parts:
        return ""
    return f"Sown outdoors at the best date {winters_words(case.autumn.good, winters)} are good; {', '.join(parts)}."


def _elsewhere(decision: Decision, elsewhere: Sequence[Elsewhere]) -> list[str]:
    found: dict[str, list[str]] = {}
    for change in elsewhere:
        count = winters_words(change.decision.good, change.decision.winters)
        found.setdefault(change.decision.verdict, []).append(f"{change.words} ({count})")
    same = found.pop(decision.verdict, [])
    sentences = [f"It would turn to {verdict_words(verdict)} {', '.join(parts)}." for verdict, parts in found.items()]
    if same:
        sentences.append(f"It stays {verdict_words(decision.verdict)} {', '.join(same)}.")
    return sentences
