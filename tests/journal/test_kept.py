"""The kept plan: what stays, what is dropped, what doing a task begins."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from chillplan.errors import InputError
from chillplan.journal.due import due_items
from chillplan.journal.entries import add_sowing, close_batch, start_batch
from chillplan.journal.find import find_batch
from chillplan.journal.kept import KeptTask, find_task, keep_tasks, open_tasks
from chillplan.journal.records import SowingEntry
from chillplan.journal.store import Journal, undo_last
from tests.journal.samples import NOW, a_batch

TODAY = NOW.date()


def a_task(kind: str, first: date, days: int = 0, way: str = "fridge", **changes: object) -> KeptTask:
    task = KeptTask(
        f"2026/Asimina triloba/{way}/{kind}/1",
        f"2026-asimina-triloba-{way}",
        "Asimina triloba",
        kind,
        f"{kind} it",
        "shed",
        "hill",
        first,
        first + timedelta(days),
    )
    return task._replace(**changes)


PLAN = [
    a_task("coat", TODAY),
    a_task("cold phase", TODAY + timedelta(1)),
    a_task("plant out", date(2027, 5, 20), 7, seeds=60),
]


@pytest.fixture
def kept(journal: Journal) -> Journal:
    keep_tasks(journal, PLAN, NOW)
    return journal


def test_the_tasks_of_the_plan_are_due_beside_the_journals(kept: Journal) -> None:
    items = due_items(kept, TODAY + timedelta(3), days=0)
    assert [(item.subject, (TODAY + timedelta(3) - item.on).days) for item in items] == [("T1", 3), ("T2", 2)]
    assert [item.subject for item in due_items(kept, date(2027, 5, 24), days=0)][-1] == "T3"


def test_seed_that_goes_into_the_cold_is_a_batch_and_its_soak_is_done_too(kept: Journal) -> None:
    task = find_task(kept, "2026-asimina-triloba-fridge")
    assert task.kind == "coat"
    cold = find_task(kept, "T2")
    start_batch(kept, a_batch(label=cold.batch), NOW, task=cold)
    assert find_batch(kept, "2026-asimina-triloba-fridge").species == "Asimina triloba"
    assert [left.kind for left in open_tasks(kept)] == ["plant out"]
    undo_last(kept, NOW)
    assert [left.kind for left in open_tasks(kept)] == ["coat", "cold phase", "plant out"]


def test_planning_again_keeps_what_was_done_and_drops_what_is_not_planned(kept: Journal) -> None:
    add_sowing(kept, SowingEntry(TODAY, 60, species="Asimina triloba"), NOW, task=find_task(kept, "T3"))
    moved = [task._replace(first_day=TODAY + timedelta(9), last_day=TODAY + timedelta(9)) for task in PLAN]
    keep_tasks(kept, [*moved[1:], a_task("sow", TODAY, 30, "bed")], NOW)
    assert [(task.kind, task.first_day) for task in open_tasks(kept)] == [
        ("sow", TODAY),
        ("cold phase", TODAY + timedelta(9)),
    ]


def test_a_late_task_of_a_batch_still_planned_stays(kept: Journal) -> None:
    later = datetime.combine(TODAY + timedelta(8), NOW.time())
    keep_tasks(kept, PLAN[2:], later)
    assert [task.kind for task in open_tasks(kept)] == ["coat", "cold phase", "plant out"]
    keep_tasks(kept, [], later)
    assert open_tasks(kept) == []


def test_a_species_planned_in_two_ways_is_asked_about(kept: Journal) -> None:
    keep_tasks(kept, [*PLAN, a_task("sow", TODAY, 30, "bed")], NOW)
    with pytest.raises(InputError, match=r"planned more than once: say which of T1 .* T4"):
        find_task(kept, "pawpaw", "Asimina triloba")
    with pytest.raises(InputError, match="no open task"):
        find_task(kept, "T9")


def two_ways(**changes: object) -> list[KeptTask]:
    sow = a_task("sow", TODAY, 60, "bed", seeds=60, instead_of=PLAN[0].batch, **changes)
    return [*(task._replace(seeds=60, instead_of=sow.batch) for task in PLAN), sow]


@pytest.mark.parametrize(("seeds", "left"), [(60, []), (20, ["coat", "cold phase", "plant out"])])
def test_of_two_ways_the_other_is_done_with_when_all_the_seed_went_one(
    journal: Journal, seeds: int, left: list[str]
) -> None:
    keep_tasks(journal, two_ways(), NOW)
    sow = next(task for task in open_tasks(journal) if task.kind == "sow")
    add_sowing(journal, SowingEntry(TODAY, seeds, species="Asimina triloba"), NOW, task=sow)
    assert [task.kind for task in open_tasks(journal)] == left
    if not left:
        keep_tasks(journal, two_ways(), NOW)
        assert open_tasks(journal) == []  # planning again does not take it up
        undo_last(journal, NOW)
        undo_last(journal, NOW)
        assert len(open_tasks(journal)) == 4


def test_a_way_that_has_begun_drops_the_other_and_keeps_its_own_later_steps(journal: Journal) -> None:
    keep_tasks(journal, two_ways(), NOW)
    start_batch(journal, a_batch(label=PLAN[0].batch, seeds=None), NOW, task=find_task(journal, "T2"))
    assert [task.kind for task in open_tasks(journal)] == ["plant out"]
    keep_tasks(journal, two_ways(), NOW)
    assert [task.kind for task in open_tasks(journal)] == ["plant out"]


@pytest.mark.parametrize("ways", [1, 2])
def test_picking_comes_before_whichever_way(journal: Journal, ways: int) -> None:
    keep_tasks(journal, [a_task("pick", TODAY, 5, "seed"), *(PLAN if ways == 1 else two_ways())], NOW)
    assert find_task(journal, "pawpaw", "Asimina triloba").kind == "pick"


@pytest.mark.parametrize("sown", [True, False])
def test_a_batch_that_is_sown_or_lost_is_not_to_be_planted_out(kept: Journal, sown: bool) -> None:
    number = start_batch(kept, a_batch(label=PLAN[0].batch, seeds=60), NOW, task=find_task(kept, "T2"))
    assert [task.kind for task in open_tasks(kept)] == ["plant out"]
    if sown:
        add_sowing(kept, SowingEntry(TODAY, 60, batch=number), NOW)
    else:
        close_batch(kept, f"B{number}", "lost to mould", NOW)
    assert open_tasks(kept) == []
    undo_last(kept, NOW)
    assert [task.kind for task in open_tasks(kept)] == ["plant out"]
