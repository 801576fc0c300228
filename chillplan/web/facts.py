"""What the page is told: everything it shows, as compact data; it works nothing out that is not in here.

Days are counted in the season planned for, from its first day; the page counts from ``start``. Shares are bytes of
200ths, rounded down, so that a share reaches the target in the page when it does here.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import coat_days, depth_words
from chillplan.advice.care import drying_advice, mould_advice
from chillplan.advice.cautions import FOR_ALL
from chillplan.advice.early_sprouts import sprout_advice
from chillplan.advice.outlook import STARTS, outlook, planted_out
from chillplan.advice.result import Plan, SpeciesAdvice, Task
from chillplan.advice.tasks import tasks_of
from chillplan.advice.visits import Crew, hill_days
from chillplan.lot import STATES, WAYS
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.report.when_words import when_words
from chillplan.seasons.cut import season_start
from chillplan.seasons.response import REVERSAL_LOSS
from chillplan.seeds.recipe import Phase
from chillplan.seeds.two_winters import TwoWinters, two_winters
from chillplan.verdicts import VERDICT_TABLE

__all__ = ["MARK", "SHARES", "page_facts"]

MARK = "chillplan page"
"""Kind of the file that the page gives back."""
SHARES = 200
"""Shares are told in this many parts. [-]"""
BOTH = frozenset(WAYS[1:3])

Json = dict[str, Any]
NOTHING_HELD: Json = {
    "others": {},
    "refs": {},
    "batches": [],
    "places": {},
    "sowings": [],
    "entries": [],
    "done": [],
}
"""Of a grower without a journal."""


def page_facts(
    plan: Plan,
    source: Source,
    reader: Reader,
    held: Json | None = None,
    crew: Crew | None = None,
    looking_day: int = 6,
    filed: bool = False,
) -> Json:
    """Everything the page shows.

    Parameters
    ----------
    plan : Plan
    source : Source
    reader : Reader
    held : dict or None
        What the journal holds: ``batches``, ``places``, ``sowings``, ``entries`` brought back before, and the
        ``refs`` that these have now.
    crew : Crew or None
        Days on which the hill is worked; None for every day.
    looking_day : int
        Day of the week on which all in the cold is looked at, 0 for Monday.
    filed : bool
        Whether the lots come from a lots file, so that those brought back into it before are among them.
    """
    winters = two_winters(plan.seasons, plan.ground)
    crew = crew or Crew()
    limits = sorted({advice.species.seedling_limit for advice in plan.species})
    return {
        "schema": 1,
        "site": plan.site.name,
        "season": plan.season,
        "start": season_start(plan.season, plan.seasons.southern).isoformat(),
        "made": plan.today.isoformat(),
        "units": "us" if reader.units.us else "metric",
        "dates": reader.dates,
        "accept": plan.accept,
        "target": plan.target,
        "invented": source.invented,
        "lookingDay": looking_day,
        "step": int(STARTS[1] - STARTS[0]),
        "shares": SHARES,
        "winters": plan.winters.years.tolist(),
        "frost": {f"{limit:g}": winters.last_killing_frost(limit)[0].astype(int).tolist() for limit in limits},
        "species": [_species(plan, winters, advice, reader) for advice in plan.species],
        "tasks": [_task(plan, task, reader) for task in _every_task(plan)],
        "hill": _hill(plan, crew),
        "crew": {"weekdays": list(crew.weekdays), "away": sorted(day.isoformat() for day in crew.away)},
        "visits": [visit.date.isoformat() for visit in plan.visits],
        "lots": [lot.cells() for lot in plan.lots],
        "filed": filed,
        "states": list(STATES),
        "ways": list(WAYS),
        "care": {
            "mould": [reader.words(one.action) for one in mould_advice()],
            "dry": [reader.words(one.action) for one in drying_advice(0.0)],
            "sprouted": [reader.words(one.action) for one in sprout_advice("", 1, None, plan.today, None)],
        },
        "cautions": [reader.words(caution) for caution in FOR_ALL],
        **(held or NOTHING_HELD),
    }


def _species(plan: Plan, winters: TwoWinters, advice: SpeciesAdvice, reader: Reader) -> Json:
    species, recipe = advice.species, advice.recipe
    sown, planted = (find(winters, species, recipe, STARTS).share_up for find in (outlook, planted_out))
    verdict = VERDICT_TABLE[advice.verdict]
    outdoors, fridge = advice.outdoors, advice.fridge
    of_lot = species.name.removeprefix(advice.latin)
    return {
        "name": species.name,
        "latin": advice.latin,
        "common": species.common_name,
        "plain": species.common_name.removesuffix(of_lot),
        "lotName": of_lot.removeprefix(", "),
        "lot": next((number for number, lot in enumerate(plan.lots) if lot is advice.lot), None),
        "coldDone": advice.lot.stratified_days if advice.lot else 0.0,
        "verdict": advice.verdict,
        "words": verdict.words,
        "reason": reader.words(advice.reason),
        "when": when_words(advice, reader),
        "cautions": [reader.words(caution) for caution in advice.cautions],
        "depth": reader.words(depth_words(species)),
        "ways": list(advice.ways),
        "killed": advice.killed,
        "limit": f"{species.seedling_limit:g}",
        "coatDays": coat_days(recipe),
        "recipe": recipe.label,
        "phases": [phase_json(phase) for phase in recipe.phases],
        "good": advice.good,
        "winters": advice.winters,
        "shareUp": dict(zip(("p10", "p50", "p90"), advice.share_up, strict=True)),
        "sow": [outdoors.sow_from.isoformat(), outdoors.sow_to.isoformat()] if outdoors else None,
        "plantOut": fridge.plant_out.isoformat() if fridge else None,
        "sown": _bytes(sown),
        "planted": _bytes(planted),
    }


def phase_json(phase: Phase) -> Json:
    """A phase as the page counts it."""
    response = phase.response
    return {
        "kind": phase.kind,
        "days": list(phase.days),
        "response": [response.zero_low, response.full_low, response.full_high, response.zero_high],
        "reversal": phase.reversal if phase.kind == "cold" else None,
        "reversal_loss": REVERSAL_LOSS,
    }


def _bytes(shares: NDArray[np.floating]) -> str:
    """Shares by sowing date, then by winter."""
    return base64.b64encode(np.floor(shares * SHARES + 1e-9).astype(np.uint8).tobytes()).decode()


def _every_task(plan: Plan) -> Iterable[Task]:
    """Tasks of the plan, then those of the ways that were not chosen; weekly looks are counted by the page."""
    known = {(task.species, task.key): task for task in plan.tasks if "/check/" not in task.key}
    open_advices = [replace(advice, chosen=BOTH) for advice in plan.species if not advice.killed]
    for task in (*tasks_of(open_advices, plan.today), *tasks_of(open_advices, date.min)):
        if "/check/" not in task.key:
            known.setdefault((task.species, task.key), task)
    return known.values()


def _task(plan: Plan, task: Task, reader: Reader) -> Json:
    names = [advice.species.name for advice in plan.species]
    return {
        "key": task.key,
        "species": names.index(task.species),
        "from": task.date_from.isoformat(),
        "to": task.date_to.isoformat(),
        "text": reader.words(task.action),
        "place": task.place,
        "minutes": task.minutes,
    }


def _hill(plan: Plan, crew: Crew) -> Json:
    """Light of every day of the outdoor work, and whether snow usually closes the way."""
    days = hill_days(plan, crew, [task for task in _every_task(plan) if task.place == "hill"])
    return {
        "first": days[0].date.isoformat() if days else plan.today.isoformat(),
        "light": [[day.daylight_from, day.daylight_to] for day in days],
        "closed": [number for number, day in enumerate(days) if day.snow_risk > crew.snow_share],
    }
