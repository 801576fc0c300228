"""What the journal holds, as the page is told it: batches, temperatures, sowings, and what came from a page before."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from typing import Any

from chillplan.advice.cautions import cautions_for
from chillplan.errors import InputError
from chillplan.journal.chill import place_means
from chillplan.journal.due import batch_states, plan_of
from chillplan.journal.find import list_batches, list_sowings
from chillplan.journal.store import Journal
from chillplan.seasons.response import REVERSAL_LOSS
from chillplan.seeds.recipe import Species

__all__ = ["held_by"]

Json = dict[str, Any]


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
    journal : Journal
    today : datetime.date
    site : str
        What other pages sent is left out; empty for all.
    season : int or None
        What was ticked, moved and crossed off in another is left out; None for all.
    species_of : callable or None
        Species by name, for the common names and cautions of seed that the plan does not ask about; raises
        `InputError` for one that is not known.
    """
    states = {state.number: state for state in batch_states(journal, today, spells=False)}
    batches: list[Json] = []
    for batch in list_batches(journal):
        state = states[batch.number]
        phases = _phases(journal, batch.number)
        batches.append(
            {
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
        )
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
        "sowings": [
            {
                "ref": sowing.code,
                "species": sowing.species,
                "sown": sowing.sown_on.isoformat(),
                "seeds": sowing.seeds,
                "bed": sowing.note,
                "expected": list(sowing.expected) if sowing.expected else None,
                "up": sowing.emerged,
            }
            for sowing in list_sowings(journal)
        ],
        "entries": _entries(journal, site, str(season or "")),
        "done": _done(journal, season),
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
