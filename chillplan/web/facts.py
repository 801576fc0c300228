"""What the page is told: everything that needs the simulation, by date and winter, and what the journal holds."""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.advice.calendar_dates import coat_days, depth_words
from chillplan.advice.care import drying_advice, mould_advice, sprout_advice
from chillplan.advice.outlook import STARTS, outlook, planted_out
from chillplan.advice.result import Plan, SpeciesAdvice, Task
from chillplan.advice.tasks import tasks_of
from chillplan.advice.visits import Crew, hill_days
from chillplan.advice.wording import FOR_ALL, cautions_for
from chillplan.errors import InputError
from chillplan.journal.chill import place_means
from chillplan.journal.due import BatchState, batch_states, plan_of
from chillplan.journal.find import Batch, Sowing, list_batches, list_sowings
from chillplan.journal.store import Journal
from chillplan.lot import STATES, WAYS
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.report.when_words import full_verdict, when_words
from chillplan.seasons.cut import season_start
from chillplan.seasons.response import REVERSAL_LOSS
from chillplan.seeds.recipe import Phase, Species
from chillplan.seeds.two_winters import TwoWinters, two_winters

__all__ = ["held_by", "page_facts"]

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
        "words": full_verdict(plan, advice),
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


OF_A_SEASON = ("task", "plant", "crew")
"""Kinds of entries that say nothing in another season."""


def held_by(
    journal: Journal,
    today: date,
    species_of: Callable[[str], Species] | None = None,
    site: str = "",
    season: int | None = None,
) -> Json:
    """Everything in the journal that the page shows or goes on from.

    Parameters
    ----------
    site : str
        What other pages sent is left out; empty for all.
    season : int or None
        What was ticked, moved and crossed off in another is left out; None for all.
    species_of : callable or None
        Species by name, for the common names and cautions of seed that the plan does not ask about; raises
        `InputError` for one that is not known.
    """
    states = {state.number: state for state in batch_states(journal, today, spells=False)}
    batches = [_batch(journal, batch, states[batch.number]) for batch in list_batches(journal)]
    first = min((date.fromisoformat(batch["started"]) for batch in batches), default=today)
    means = place_means(journal, min(first, today))
    return {
        "others": {name: told for name in {batch["species"] for batch in batches} if (told := _told(name, species_of))},
        "refs": _refs(journal),
        "batches": batches,
        "places": {
            place: {date.fromordinal(day).isoformat(): round(mean, 2) for day, mean in days.items()}
            for place, days in means.items()
            if place in {batch["place"] for batch in batches}
        },
        "sowings": [_sowing(sowing) for sowing in list_sowings(journal)],
        "entries": _entries(journal, site, str(season or "")),
        "done": _done(journal, season),
    }


def _batch(journal: Journal, batch: Batch, state: BatchState) -> Json:
    phases = _phases(journal, batch.number)
    return {
        "ref": batch.code,
        "species": batch.species,
        "name": batch.label,
        "started": phases[0].pop("begun") if phases else batch.started_on.isoformat(),
        "phases": phases,
        "place": batch.place,
        "set": batch.set_temperature,
        "seeds": batch.seeds,
        "plantOut": batch.plant_out.isoformat() if batch.plant_out else None,
        "looked": state.last_check.isoformat() if state.last_check else None,
        "finding": state.last_finding,
        "every": batch.check_every,
    }


def _sowing(sowing: Sowing) -> Json:
    return {
        "ref": sowing.code,
        "species": sowing.species,
        "sown": sowing.sown_on.isoformat(),
        "seeds": sowing.seeds,
        "bed": sowing.note,
        "expected": list(sowing.expected) if sowing.expected else None,
        "up": sowing.emerged,
    }


def _told(name: str, species_of: Callable[[str], Species] | None) -> Json | None:
    """Name and cautions of a species; None where no table has it."""
    try:
        species = species_of(name) if species_of else None
    except InputError:
        return None
    if species is None:
        return None
    return {"common": species.common_name, "cautions": list(cautions_for(species, species.recipe))}


def _phases(journal: Journal, batch: int) -> list[Json]:
    """The running phase and those to come."""
    rows = journal.rows(
        "SELECT * FROM treatments WHERE batch = ? AND ended_on IS NULL AND days_high IS NOT NULL ORDER BY position",
        (batch,),
    )
    found: list[Json] = []
    for row in rows:
        plan = plan_of(row)
        phase: Json = {"kind": plan.kind, "days": list(plan.days), "response": list(plan.response)}
        phase["reversal"] = row["reversal"]
        phase["reversal_loss"] = REVERSAL_LOSS
        found.append({**phase, "begun": row["started_on"]} if not found else phase)
    return found if found and found[0]["begun"] else []


def _refs(journal: Journal) -> Json:
    """Number in the journal of each batch and sowing that was begun on a page."""
    rows = journal.rows(
        "SELECT b.id, c.subject, c.row FROM brought b JOIN changes c ON c.entry = b.entry AND c.before IS NULL "
        "AND c.subject IN ('batches', 'sowings')"
    )
    return {f"@{row['id']}": f"{row['subject'][0].upper()}{row['row']}" for row in rows}


def _entries(journal: Journal, site: str, season: str) -> list[Json]:
    """What pages sent; of entries taken back, of another season or site only that they are known."""
    rows = journal.rows(
        "SELECT b.id, b.body, e.undone_by FROM brought b JOIN entries e ON e.id = b.entry ORDER BY e.id, b.id"
    )
    found = []
    for row in rows:
        entry = json.loads(row["body"])
        other_season = bool(season) and entry.get("season", season) != season
        gone = row["undone_by"] is not None or (site and entry.get("site", site) != site)
        gone = gone or (other_season and entry.get("kind") in OF_A_SEASON)
        found.append({"id": row["id"], "at": "", "kind": "gone"} if gone else entry)
    return found


def _done(journal: Journal, season: int | None) -> list[str]:
    """Tasks of the season that were ticked off in the journal, by species and key."""
    rows = journal.rows("SELECT code FROM tasks WHERE done_on IS NOT NULL ORDER BY code")
    parts = [row["code"].partition("/") for row in rows]
    return [code for year, _, code in parts if season is None or year == str(season)]
