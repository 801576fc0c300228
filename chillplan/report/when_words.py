"""Verdicts, dates and ways in words."""

from __future__ import annotations

from datetime import timedelta

from chillplan import verdicts
from chillplan.advice.result import Fridge, Plan, SpeciesAdvice, Task
from chillplan.advice.wording import verdict_words
from chillplan.errors import counted
from chillplan.report.reader import Reader
from chillplan.seasons.cut import season_start

__all__ = [
    "TWO_WAYS",
    "advice_line",
    "counted_verdict",
    "freeze_words",
    "full_verdict",
    "shown_verdict",
    "way_words",
    "when_words",
]

SATURDAY = 5
FRIDGE = "refrigerator"
SUMMER = timedelta(days=31)
"""Seed sown before the end of the first month of a season (August, February) is sown in summer. [day]"""


def advice_line(plan: Plan, advice: SpeciesAdvice, reader: Reader) -> str:
    """The advice first: ``sow on the weekend of 24 Oct (18 Oct to 16 Jan works)``, by the dates of the tasks."""
    if advice.killed:
        return freeze_words(plan, advice)
    own = [task for task in plan.tasks if task.species == advice.species.name]
    parts = []
    sow = next((task for task in own if task.key.split("/")[1] == "sow"), None)
    if sow is not None:
        best = sow.date_to if advice.outdoors is None else min(max(advice.outdoors.best, sow.date_from), sow.date_to)
        weekend = best + timedelta(days=(SATURDAY - best.weekday()) % 7)
        if weekend > sow.date_to:
            weekend -= timedelta(days=7)
        when = f"the weekend of {reader.day(weekend)}" if weekend >= sow.date_from else reader.day(best)
        parts.append(f"sow on {when} ({reader.span(sow.date_from, sow.date_to)} works)")
        if advice.outdoors is not None and advice.outdoors.autumn is not None:
            parts.append(f"in autumn ({reader.span(*advice.outdoors.autumn)} works as well)")
        if "outdoors" in advice.ways and advice.outdoors is not None and advice.outdoors.left_words:
            parts[-1] += f", {advice.outdoors.left_words}"
    first = next((task for task in own if task.key.startswith(("fridge/coat", "fridge/warm", "fridge/cold"))), None)
    out = next((task for task in own if task.key.startswith(("fridge/plant out", "top-up/plant out"))), None)
    if first is not None:
        parts.append(f"begin indoors on {reader.day(first.date_from)}")
    line = " or ".join(parts) or "nothing is left to do in this season"
    line += f", plant out {reader.day(out.date_from)}" if out is not None else ""
    frozen = counted(advice.frozen, "winter")
    return f"{line}; the plant would freeze here in {frozen}" if advice.frozen else line


def freeze_words(plan: Plan, advice: SpeciesAdvice) -> str:
    """Why nothing is planned for a plant that the winters kill."""
    return f"not planned: the plant would freeze here in {advice.frozen} of {plan.seasons.years.size} winters"


def serving(advice: SpeciesAdvice) -> tuple[str, ...]:
    """The times and places that meet the accepted risk where spring sowing does: autumn, refrigerator, spring."""
    if advice.verdict != verdicts.SPRING or advice.outdoors is None:
        return ()
    ways = {"autumn": advice.outdoors.autumn is not None, FRIDGE: advice.fridge is not None, "spring": True}
    return tuple(way for way, serves in ways.items() if serves)


def shown_verdict(plan: Plan, advice: SpeciesAdvice) -> str:
    """The verdict in words, with every way that serves: ``autumn, refrigerator or spring: all serve``."""
    if advice.killed:
        return "too cold for the plant"
    ways = serving(advice)
    if len(ways) > 1:
        return f"{', '.join(ways[:-1])} or {ways[-1]}: {'all' if len(ways) > 2 else 'both'} serve"
    summer = season_start(plan.season, plan.seasons.southern) + SUMMER
    sown = advice.outdoors.sow_from if advice.outdoors is not None else summer
    if advice.verdict in {verdicts.AUTUMN, verdicts.EITHER} and advice.moist and sown < summer:
        return "sow when ripe" + (", or fridge" if advice.verdict == verdicts.EITHER else "")
    return verdict_words(advice.verdict)


def full_verdict(plan: Plan, advice: SpeciesAdvice) -> str:
    """The same where there is room, as on the page."""
    said = shown_verdict(plan, advice)
    return verdicts.VERDICT_TABLE[advice.verdict].words if said == verdict_words(advice.verdict) else said


def counted_verdict(plan: Plan, advice: SpeciesAdvice) -> str:
    """The same after a number of species: ``for which autumn, refrigerator or spring all serve``."""
    said = shown_verdict(plan, advice)
    if advice.killed:
        return f"not planned, {said}"
    if said == verdict_words(advice.verdict):
        return verdicts.VERDICT_TABLE[advice.verdict].counted
    if len(serving(advice)) > 1:
        return f"for which {said.replace(':', '')}"
    return f"to {said}".replace(", or fridge", " or chill in the fridge")


def when_words(advice: SpeciesAdvice, reader: Reader) -> str:
    """The dates that matter: sowing, warmth and cold indoors, planting out."""
    if advice.killed:
        return "not planned"
    chosen = advice.ways if advice.chosen else ()
    if advice.verdict == verdicts.BEGUN and advice.top_up is not None and "outdoors" not in chosen:
        way = advice.top_up
        lift = f"lift by {reader.day(way.lift)}, {counted(way.owed_days[1], 'day')} in the cold"
        return f"sow {reader.span(way.sow, way.sow_to)}, {lift}, plant out {reader.day(way.plant_out)}"
    parts = []
    outdoors = "outdoors" in chosen or (not chosen and advice.verdict != verdicts.REFRIGERATOR)
    indoors = "fridge" in chosen or (not chosen and (advice.verdict in verdicts.INDOORS or FRIDGE in serving(advice)))
    if advice.outdoors is not None and outdoors:
        parts.append(f"sow {reader.span(advice.outdoors.sow_from, advice.outdoors.sow_to)}")
        if advice.outdoors.autumn is not None:
            parts.append(f"in autumn, {reader.span(*advice.outdoors.autumn)}")
        if advice.outdoors.left_words:
            parts[-1] += f", {advice.outdoors.left_words}"
    if advice.fridge is not None and indoors:
        parts.append(_indoors(advice.fridge, reader))
    return "; or ".join(parts) or "–"


def _indoors(way: Fridge, reader: Reader) -> str:
    """``into the cold 1 Jan 2027, plant out 1 Apr 2027``; warmth that comes first is told first."""
    cold = way.into_cold or way.prepare
    warm = next((step.date_from for step in way.steps if step.kind == "warm phase" and step.date_from < cold), None)
    begin = f"into the warm {reader.day(warm)}, " if warm else ""
    return f"{begin}into the cold {reader.day(cold)}, plant out {reader.day(way.plant_out)}"


TWO_WAYS = "Where a species has two ways, outdoors and fridge, do one of them, or give each a part of the seed."
WAYS = {"outdoors", "fridge"}


def way_words(plan: Plan, task: Task) -> str:
    """``outdoors`` or ``fridge`` for a species that has tasks of both; empty where there is one way."""
    way = task.key.partition("/")[0]
    ways = {other.key.partition("/")[0] for other in plan.tasks if other.species == task.species}
    return way if way in WAYS and ways >= WAYS else ""
