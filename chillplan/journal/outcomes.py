"""Counted sowings of a site, ready to be held against what was expected; and what was learned, written down."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from chillplan.journal.chill import filled_between, ledger_of, phase_progress, place_means
from chillplan.journal.due import plan_of
from chillplan.journal.store import Journal
from chillplan.seeds.learning import Learned

__all__ = ["Outcome", "Standing", "learned_requirements", "outcomes_of", "record_learned"]


@dataclass(frozen=True)
class Outcome:
    """One counted sowing."""

    code: str
    species: str
    # of the highest count
    sown_on: date
    counted_on: date
    seeds: int
    alive: int  # seeds that were alive where the viability is recorded; else all
    emerged: int
    credit: tuple[float, ...]  # days of each phase done indoors before sowing, as measured; empty without a batch [day]
    kinds: tuple[str, ...] = ()  # ``warm`` or ``cold`` of each phase of the batch
    coat_done: bool = True  # False where the batch was begun without its coat treatment


@dataclass(frozen=True)
class Standing:
    """A requirement learned at a site."""

    species: str
    # 10th and 90th percentile of the lot, learned and published [day]
    days: tuple[float, float]
    published: tuple[float, float]
    made_on: date
    sowings: int
    seeds: int
    note: str


def outcomes_of(journal: Journal, site: str) -> list[Outcome]:
    """Sowings at a site that were counted, each with its highest count.

    Parameters
    ----------
    journal : Journal
    site : str
        Name of the site; sowings recorded without a site are taken as well.
    """
    rows = journal.rows(
        "SELECT s.*, l.species, c.emerged, c.date AS counted FROM sowings s JOIN lots l ON l.id = s.lot "
        "JOIN counts c ON c.id = (SELECT id FROM counts WHERE sowing = s.id ORDER BY emerged DESC, date, id LIMIT 1) "
        "WHERE s.site = ? OR s.site = '' ORDER BY s.id",
        (site,),
    )
    return [_outcome(journal, row) for row in rows]


def _outcome(journal: Journal, row: sqlite3.Row) -> Outcome:
    sown = date.fromisoformat(row["date"])
    alive = row["seeds"] if row["viability"] is None else max(round(row["seeds"] * row["viability"]), row["emerged"])
    counted = date.fromisoformat(row["counted"])
    plain = Outcome(f"S{row['id']}", row["species"], sown, counted, row["seeds"], alive, row["emerged"], ())
    if row["batch"] is None:
        return plain
    steps = journal.rows(
        "SELECT kind, started_on, days_high FROM treatments WHERE batch = ? ORDER BY position", (row["batch"],)
    )
    return replace(
        plain,
        credit=_credit(journal, row["batch"], sown),
        kinds=tuple(step["kind"] for step in steps if step["days_high"] is not None),
        coat_done=all(step["started_on"] is not None for step in steps if step["days_high"] is None),
    )


def _credit(journal: Journal, batch: int, sown: date) -> tuple[float, ...]:
    """Days of each phase that a batch had done when it was sown."""
    rows = journal.rows(
        "SELECT t.*, t.started_on AS phase_started, b.place, b.set_temperature FROM treatments t "
        "JOIN batches b ON b.id = t.batch WHERE t.batch = ? AND t.days_high IS NOT NULL ORDER BY t.position",
        (batch,),
    )
    credit = []
    for row in rows:
        if row["phase_started"] is None:
            credit.append(0.0)
            continue
        started = date.fromisoformat(row["phase_started"])
        ended = min(date.fromisoformat(row["ended_on"]), sown) if row["ended_on"] else sown
        means = place_means(journal, started).get(row["place"], {})
        plan = plan_of(row)
        ledger = ledger_of(
            plan.response, plan.reversal, started, ended, means, filled_between(means), row["set_temperature"]
        )
        credit.append(phase_progress(plan, started, ledger, spells=False).done)
    return tuple(credit)


def record_learned(
    journal: Journal,
    site: str,
    learned: Learned,
    published: Mapping[str, tuple[float, float]],
    outcomes: Mapping[str, list[Outcome]],
    now: datetime,
) -> None:
    """Write down the requirement of each species as learned, as one entry.

    Parameters
    ----------
    published : mapping of str to tuple of float
        10th and 90th percentile before the counts, by species. [day]
    outcomes : mapping of str to list of Outcome
        What it was learned from, by species.
    """
    with journal.entry(f"learn at {site or 'the site'}: {', '.join(learned.lessons)}", now) as writer:
        for name, lesson in learned.lessons.items():
            apart = "" if lesson.told_apart else "; not told apart from an error of the site"
            writer.insert(
                "learned",
                {
                    "site": site,
                    "species": name,
                    "phase": 0,
                    "made_on": now.date(),
                    "published_low": published[name][0],
                    "published_high": published[name][1],
                    "days_low": round(lesson.low, 1),
                    "days_high": round(lesson.high, 1),
                    "sowings": len(outcomes[name]),
                    "seeds": sum(one.seeds for one in outcomes[name]),
                    "note": f"mean {lesson.mean:.0f} days, standard deviation {lesson.deviation:.0f}{apart}",
                },
            )


def learned_requirements(journal: Journal, site: str) -> dict[str, Standing]:
    """The newest requirement learned at a site, by species."""
    rows = journal.rows("SELECT * FROM learned WHERE site = ? ORDER BY made_on, id", (site,))
    return {
        row["species"]: Standing(
            row["species"],
            (row["days_low"], row["days_high"]),
            (row["published_low"], row["published_high"]),
            date.fromisoformat(row["made_on"]),
            row["sowings"],
            row["seeds"],
            row["note"],
        )
        for row in rows
        if math.isfinite(row["days_high"])
    }
