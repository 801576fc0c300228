"""The plan that was chosen: its tasks stand in the journal until they are done or another plan drops them."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import date, datetime
from typing import NamedTuple

from chillplan.errors import InputError, quoted
from chillplan.journal.store import Journal, Value, Writer

__all__ = ["BEGINS", "KeptTask", "find_task", "keep_tasks", "open_tasks", "tick", "tick_batch"]


BEGINS = ("sow", "warm phase", "cold phase")
"""Kinds of tasks with which seed goes one way or the other."""
BEFORE_ALL = ("pick", "store")
"""Kinds of tasks that come before whichever way."""


class KeptTask(NamedTuple):
    """A task of the kept plan."""

    code: str  # season, species and key of the task: the same in every plan of a season
    batch: str  # name of the batch or bed, as on its label
    species: str
    kind: str
    action: str
    place: str
    site: str
    first_day: date
    last_day: date
    plant_out: date | None = None
    seeds: int | None = None
    number: int = 0  # 0 until it is kept
    recipe: str = ""  # label of the recipe that was planned
    cold_done: float = 0.0  # days of moist cold that the seed had before [day]
    lot: str = ""  # name of the lot, where there are several of a species
    note: str = ""  # where on the hill the seed goes, and how much of it is weighed
    instead_of: str = ""  # `batch` of the other way of the same seed, where one of the two is to be done

    @property
    def shown(self) -> str:
        """How the task is shown and typed."""
        return f"T{self.number}"


def keep_tasks(journal: Journal, tasks: Sequence[KeptTask], now: datetime) -> None:
    """Make these the tasks to do, as one entry.

    What was done stays done; a task that is open and not planned any more is dropped, unless it is only late: its
    batch is still planned. Of two ways of which one has begun the other is not taken up again.
    """
    today = now.date().isoformat()
    known = {row["code"]: row for row in journal.rows("SELECT * FROM tasks")}
    dropped = {row["batch"] for row in known.values() if row["dropped_on"] is not None and row["instead_of"]}
    begun = {row["batch"] for row in known.values() if row["done_on"] is not None and row["kind"] in BEGINS}
    tasks = [task for task in tasks if not (task.batch in dropped and task.instead_of in begun)]
    batches = {task.batch for task in tasks}
    with journal.entry(f"keep a plan of {len(tasks)} tasks", now) as writer:
        for task in tasks:
            row = known.get(task.code)
            if row is None:
                writer.insert("tasks", _values(task))
            elif row["done_on"] is None:
                writer.update("tasks", row["id"], {**_values(task), "dropped_on": None})
        planned = {task.code for task in tasks}
        for code, row in known.items():
            late = row["last_day"] < today and row["batch"] in batches
            if code not in planned and row["done_on"] is None and row["dropped_on"] is None and not late:
                writer.update("tasks", row["id"], {"dropped_on": today})


def _values(task: KeptTask) -> dict[str, Value]:
    return {name: value for name, value in task._asdict().items() if name != "number"}


def open_tasks(journal: Journal) -> list[KeptTask]:
    """Tasks still to do, by their first day."""
    rows = journal.rows(
        "SELECT * FROM tasks WHERE done_on IS NULL AND dropped_on IS NULL ORDER BY first_day, species, id"
    )
    return [_task(row) for row in rows]


def _task(row: sqlite3.Row) -> KeptTask:
    values = {name: row[name] for name in KeptTask._fields if name != "number"}
    days = {name: date.fromisoformat(values[name]) for name in ("first_day", "last_day", "plant_out") if values[name]}
    return KeptTask(**{**values, **days, "number": row["id"]})


def find_task(journal: Journal, reference: str, species: str = "") -> KeptTask:
    """The open task that is meant: ``T3``, the name on a label, of a lot, or the next one of a species.

    Raises
    ------
    InputError
        If there is none, or the species is planned in two ways or in several lots.
    """
    text = reference.strip()
    tasks = open_tasks(journal)
    lot = text.partition(", ")[2]
    found = [
        task for task in tasks if text.lower() in {task.shown.lower(), task.batch.lower(), task.lot.lower()} - {""}
    ]
    found = found or [task for task in tasks if species and task.species == species and lot in {"", task.lot}]
    if not found:
        raise InputError(f"{quoted(text)} is no open task of the kept plan: see `chillplan due --days 366`")
    if found[0].kind not in BEFORE_ALL and len({task.batch for task in found if task.kind not in BEFORE_ALL}) > 1:
        known = ", ".join(f"{task.shown} {f'{task.lot}: ' if task.lot else ''}{task.action}" for task in found)
        raise InputError(f"{quoted(text)} is planned more than once: say which of {known}")
    return found[0]


def tick(writer: Writer, task: KeptTask, day: date, whole: bool = True) -> None:
    """Mark a task as done, and with a phase the coat treatment that comes before it.

    The other way of the same seed is dropped where the whole of it has gone this one.
    """
    if whole and task.instead_of and task.kind in BEGINS:
        for row in writer.connection.execute(
            "SELECT id FROM tasks WHERE batch = ? AND done_on IS NULL AND dropped_on IS NULL", (task.instead_of,)
        ).fetchall():
            writer.update("tasks", row["id"], {"dropped_on": day})
    for row in writer.connection.execute(
        "SELECT id, kind FROM tasks WHERE batch = ? AND done_on IS NULL AND first_day <= ?",
        (task.batch, task.first_day.isoformat()),
    ).fetchall():
        if row["id"] == task.number or (row["kind"] == "coat" and task.kind != "coat"):
            writer.update("tasks", row["id"], {"done_on": day})


def tick_batch(writer: Writer, batch: int, day: date) -> None:
    """Mark what is left to do with a batch as done with: it is closed."""
    for row in writer.connection.execute(
        "SELECT id FROM tasks WHERE batch = (SELECT label FROM batches WHERE id = ? AND label <> '') "
        "AND done_on IS NULL AND dropped_on IS NULL",
        (batch,),
    ).fetchall():
        writer.update("tasks", row["id"], {"done_on": day})
