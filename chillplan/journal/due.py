"""What needs doing today and this week."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import NamedTuple

from chillplan.advice.care import check_interval
from chillplan.journal.chill import (
    Ledger,
    PhasePlan,
    PhaseProgress,
    cold_left,
    filled_between,
    ledger_of,
    phase_progress,
    place_means,
)
from chillplan.journal.kept import open_tasks
from chillplan.journal.store import Journal

__all__ = ["BatchState", "DueItem", "batch_states", "due_items", "plan_of"]

READING_EVERY = 7
"""A cool box or refrigerator is read at least this often. Common practice, no source. [day]"""
COUNT_EVERY = 7
"""Seedlings are counted this often once they are expected. Common practice, no source. [day]"""
COUNT_WEEKS = 8
"""Counting is asked for this long after seedlings were expected. Our choice. [week]"""
HELD_WITHIN = 2.0
"""A refrigerator holds a single figure this closely. Common practice, no source. [°C]"""
DEFAULT_RANGE = (1.0, 5.0)
"""Range to hold where the recipe names none; university bulletins give 1 to 5 °C for cold moist storage. [°C]"""


class DueItem(NamedTuple):
    """One thing to do."""

    on: date  # when it falls due; may be past
    subject: str  # ``B12``, ``S3`` or the name of a place
    species: str
    action: str
    reason: str
    urgent: bool = False  # sprouts and mould do not wait


class _Found(NamedTuple):
    """A phase of a batch: how far it is while it runs, and what warm days undid of it once it was complete."""

    plan: PhasePlan
    progress: PhaseProgress | None
    undone: float


class BatchState(NamedTuple):
    """An open batch with its running phase and its last check."""

    number: int
    species: str
    label: str
    place: str
    phase: str  # kind of the running phase; empty where none runs
    progress: PhaseProgress | None
    plan: PhasePlan | None
    following: str  # kind of the next phase; empty where this is the last
    plant_out: date | None
    last_check: date | None
    last_finding: str | None
    next_check: date
    started_on: date
    fading: PhasePlan | None = None  # the complete cold phase of which warm days have undone a day or more since
    undone: float = 0.0  # so much [day]

    @property
    def code(self) -> str:
        """How the batch is shown and typed."""
        return f"B{self.number}"


_OPEN = """
SELECT b.id, b.label, b.place, b.set_temperature, b.started_on, b.plant_out, b.check_every, l.species,
       t.kind, t.started_on AS phase_started, t.days_low, t.days_high, t.temperature_low, t.temperature_high,
       t.zero_low, t.full_low, t.full_high, t.zero_high, t.reversal, t.ended_on,
       (SELECT n.kind FROM treatments n WHERE n.batch = b.id AND n.started_on IS NULL AND n.days_high IS NOT NULL
        ORDER BY n.position LIMIT 1) AS following,
       c.date AS checked, c.finding
FROM batches b JOIN lots l ON l.id = b.lot
LEFT JOIN treatments t ON t.id = coalesce((SELECT r.id FROM treatments r WHERE r.batch = b.id
    AND r.started_on IS NOT NULL AND r.ended_on IS NULL AND r.days_high IS NOT NULL ORDER BY r.position LIMIT 1),
    (SELECT f.id FROM treatments f WHERE f.batch = b.id AND f.days_high IS NOT NULL AND f.ended_on IS NOT NULL
    AND f.kind = 'cold' AND f.position = (SELECT max(m.position) FROM treatments m WHERE m.batch = b.id
    AND m.days_high IS NOT NULL)))
LEFT JOIN checks c ON c.id = (SELECT k.id FROM checks k WHERE k.batch = b.id ORDER BY k.date DESC, k.id DESC LIMIT 1)
WHERE b.closed_on IS NULL
"""


def batch_states(
    journal: Journal, today: date, number: int | None = None, spells: bool = True, looking_day: int | None = None
) -> list[BatchState]:
    """Every open batch, or one of them, with how far it is.

    Parameters
    ----------
    journal : Journal
    today : datetime.date
    number : int or None
        Only this batch.
    spells : bool
        Also look for days out of range.
    looking_day : int or None
        Day of the week on which everything is looked at, 0 for Monday; None looks at each batch in its own rhythm.
    """
    condition, values = ("", ()) if number is None else (" AND b.id = ?", (number,))
    rows = journal.rows(f"{_OPEN}{condition} ORDER BY b.id", values)
    progress_of = _progress_reader(journal, rows, today, spells)
    states = [_state(row, progress_of) for row in rows]
    return states if looking_day is None else [_looked_at_on(looking_day, state) for state in states]


def due_items(journal: Journal, today: date, days: int = 7, looking_day: int | None = None) -> list[DueItem]:
    """What falls due up to `days` from today, the urgent first, then by date.

    Parameters
    ----------
    journal : Journal
    today : datetime.date
    days : int
        [day]
    looking_day : int or None
        As in `batch_states`; mould, drying and sprouts do not wait for it.
    """
    horizon = today + timedelta(days=days)
    states = batch_states(journal, today, spells=False, looking_day=looking_day)
    items = [item for state in states for item in _of_batch(state, today, horizon)]
    items += _of_places(journal, states, today)
    items += _of_sowings(journal, today)
    items += _of_plan(journal, today)
    return sorted(
        (item for item in items if item.on <= horizon),
        key=lambda item: (not item.urgent, item.on, item.species, item.subject),
    )


def _progress_reader(
    journal: Journal, rows: list[sqlite3.Row], today: date, spells: bool
) -> Callable[[sqlite3.Row], _Found | None]:
    """A function from a row to its phase; batches that run alike share the ledger and the sum."""
    starts = [row["ended_on"] or row["phase_started"] for row in rows if row["phase_started"]]
    first = min(date.fromisoformat(min(starts)), today) if starts else today
    means = place_means(journal, first) if starts else {}
    between = {place: filled_between(days) for place, days in means.items()}
    ledgers: dict[tuple[object, ...], Ledger] = {}
    known: dict[tuple[object, ...], _Found] = {}

    def progress_of(row: sqlite3.Row) -> _Found | None:
        if row["phase_started"] is None:
            return None
        place, setting = row["place"], row["set_temperature"]
        key = (place, setting, *row[8:20])
        if key not in known:
            plan = plan_of(row)
            kind = (place, setting, plan.response, plan.reversal)
            if kind not in ledgers:
                days = means.get(place, {}), between.get(place, {})
                ledgers[kind] = ledger_of(plan.response, plan.reversal, first, today, *days, setting)
            known[key] = _found(row, plan, ledgers[kind], spells)
        return known[key]

    return progress_of


def _found(row: sqlite3.Row, plan: PhasePlan, ledger: Ledger, spells: bool) -> _Found:
    """A phase that runs, or one that was ended: taken for complete then, and to lie since where it lies now."""
    needed = plan.days[1]
    if row["ended_on"] is not None:
        left = cold_left(ledger, date.fromisoformat(row["ended_on"]), needed)
        return _Found(plan, None, max(0.0, needed - left))
    progress = phase_progress(plan, date.fromisoformat(row["phase_started"]), ledger, spells)
    complete = plan.kind == "cold" and progress.done >= needed
    return _Found(plan, progress, max(0.0, needed - progress.left) if complete else 0.0)


def plan_of(row: sqlite3.Row) -> PhasePlan:
    """What a phase needs, from its row of `treatments`."""
    held = (row["temperature_low"], row["temperature_high"])
    response = (row["zero_low"], row["full_low"], row["full_high"], row["zero_high"])
    if held[0] is not None and held[0] == held[1]:
        held = (held[0] - HELD_WITHIN, held[1] + HELD_WITHIN)
    fallback = DEFAULT_RANGE if row["kind"] == "cold" else (response[1], response[2])
    return PhasePlan(
        row["kind"],
        (row["days_low"], row["days_high"]),
        response,
        fallback if held[0] is None or held[1] is None else held,
        math.inf if row["reversal"] is None else row["reversal"],
    )


def _state(row: sqlite3.Row, progress_of: Callable[[sqlite3.Row], _Found | None]) -> BatchState:
    found = progress_of(row)
    progress = found.progress if found else None
    plan = found.plan if found and progress else None
    share = progress.done / plan.days[1] if plan and progress and plan.days[1] > 0 else math.nan
    since = date.fromisoformat(row["checked"] or row["started_on"])
    return BatchState(
        row["id"],
        row["species"],
        row["label"],
        row["place"],
        row["kind"] if plan else "",
        progress,
        plan,
        row["following"] or "",
        date.fromisoformat(row["plant_out"]) if row["plant_out"] else None,
        date.fromisoformat(row["checked"]) if row["checked"] else None,
        row["finding"],
        since + timedelta(days=check_interval(share, row["finding"], row["check_every"])),
        date.fromisoformat(row["started_on"]),
        found.plan if found and found.undone >= 1.0 else None,
        found.undone if found else 0.0,
    )


def _looked_at_on(weekday: int, state: BatchState) -> BatchState:
    """The batch, to be looked at on the first such day of the week after its last look."""
    if state.last_finding not in {None, "fine"}:
        return state
    since = state.last_check or state.started_on
    return state._replace(next_check=since + timedelta(days=1 + (weekday - since.weekday() - 1) % 7))


def _of_batch(state: BatchState, today: date, horizon: date) -> Iterator[DueItem]:
    code, species = state.code, state.species
    progress, plan = state.progress, state.plan
    if state.next_check <= horizon:
        last = f"last look {state.last_check} {state.last_finding}" if state.last_check else "not looked at yet"
        trouble = state.last_finding in {"mould", "dry"}
        action = f"look again: {state.last_finding} last time" if trouble else "look: moist, clean, sprouts?"
        yield DueItem(state.next_check, code, species, action, last, trouble and state.next_check <= today)
    if progress is not None and plan is not None and progress.finish is not None and progress.finish <= horizon:
        then = f"begin {state.following}" if state.following else "sow, or hold near freezing until it can be sown"
        done = f"{progress.done:.0f} of {plan.days[1]:.0f} {state.phase} days done"
        yield DueItem(progress.finish, code, species, f"{state.phase} is done: {then}", done)
    if state.fading is not None:
        again = (
            f"{state.undone:.0f} of {state.fading.days[1]:.0f} cold days undone since it was finished, in {state.place}"
        )
        yield DueItem(
            today, code, species, "put it back in the cold, or sow it: it falls asleep again", again, urgent=True
        )
    if state.plant_out is not None and not state.following and state.plant_out <= horizon:
        yield DueItem(state.plant_out, code, species, "plant out", f"planned for {state.plant_out}")
    if state.last_finding == "sprouted" and state.last_check is not None:
        told = f"sprouts found on {state.last_check}: see `chillplan batch list {code}`"
        yield DueItem(state.last_check, code, species, "pot up, hold or sow the sprouts", told, urgent=True)


def _of_places(journal: Journal, states: list[BatchState], today: date) -> list[DueItem]:
    counts: dict[str, int] = {}
    for state in states:
        if state.phase:
            counts[state.place] = counts.get(state.place, 0) + 1
    items = []
    for place, batches in sorted(counts.items()):
        last = journal.rows("SELECT max(at) AS at FROM readings WHERE place = ?", (place,))[0]["at"]
        read = date.fromisoformat(last[:10]) if last else None
        on = today if read is None else read + timedelta(days=READING_EVERY)
        told = f"last read {read}" if read else "never read: its set temperature is assumed"
        items.append(
            DueItem(
                on,
                place,
                "",
                "read the thermometer",
                f"{told}; {batches} {'batch lies' if batches == 1 else 'batches lie'} there",
            )
        )
    return items


def _of_plan(journal: Journal, today: date) -> Iterator[DueItem]:
    """Tasks of the kept plan: due on their last day once they may be done, on their first until then."""
    for task in open_tasks(journal):
        on = task.first_day if task.first_day > today else max(min(task.last_day, today), task.first_day)
        window = "" if task.first_day == task.last_day else f", {task.first_day} to {task.last_day}"
        yield DueItem(on, task.shown, task.species, task.action, f"planned, {task.place}{window}; {task.batch}")


def _of_sowings(journal: Journal, today: date) -> list[DueItem]:
    rows = journal.rows(
        "SELECT s.id, s.expected_on, l.species, (SELECT max(date) FROM counts WHERE sowing = s.id) AS counted "
        "FROM sowings s JOIN lots l ON l.id = s.lot WHERE s.expected_on IS NOT NULL AND s.closed_on IS NULL "
        "AND s.expected_on >= ?",
        ((today - timedelta(weeks=COUNT_WEEKS)).isoformat(),),
    )
    items = []
    for row in rows:
        expected = date.fromisoformat(row["expected_on"])
        on = date.fromisoformat(row["counted"]) + timedelta(days=COUNT_EVERY) if row["counted"] else expected
        items.append(DueItem(on, f"S{row['id']}", row["species"], "count what is up", f"expected from {expected}"))
    return items
