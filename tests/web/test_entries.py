"""Entries and what the journal holds of them, field by field: each refusal in its words, each figure under its key."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from chillplan.errors import InputError, quoted
from chillplan.journal.entries import add_count, add_readings, close_batch, next_phase, start_batch
from chillplan.journal.kept import KeptTask, keep_tasks, open_tasks
from chillplan.journal.records import BatchStart, Reading, treatments_of
from chillplan.report.reader import Reader
from chillplan.web import folder as folder_module
from chillplan.web.brought_back import bring_back
from chillplan.web.facts import held_by
from chillplan.web.folder import FILES, write_report, write_whole
from chillplan.web.page_file import day_of, moment_of, number_of, read_page_file, text_of, told_of, whole_of
from tests.report.conftest import SPECIES
from tests.report.handmade import hand_plan, hand_source
from tests.web.test_brought_back import BEGUN, NOW, begun, entry, page_of, species_of

AGAIN = "save the file from the page again"


@pytest.mark.parametrize(
    ("read", "value", "said"),
    [
        (lambda one: text_of(one, "x"), 7, f"x '7' is not a text: {AGAIN}"),
        (lambda one: text_of(one, "x"), "", f"x '' is not a text: {AGAIN}"),
        (lambda one: text_of(one, "x"), None, f"x 'None' is not a text: {AGAIN}"),
        (lambda one: text_of(one, "x", ""), [], f"x '[]' is not a text: {AGAIN}"),
        (lambda one: day_of(one, "x"), "1 May", f"x '1 May' is not a date: {AGAIN}"),
        (lambda one: number_of(one, "x"), "4", f"x '4' is not a number: {AGAIN}"),
        (lambda one: number_of(one, "x"), True, f"x 'True' is not a number: {AGAIN}"),
        (lambda one: whole_of(one, "x"), 4.5, f"x '4.5' is not a whole number: {AGAIN}"),
        (lambda one: whole_of(one, "x"), None, f"x 'None' is not a whole number: {AGAIN}"),
        (lambda one: whole_of(one, "x", empty=True), False, f"x 'False' is not a whole number: {AGAIN}"),
    ],
)
def test_a_field_that_cannot_be_is_refused_in_words(
    read: Callable[[dict[str, Any]], object], value: object, said: str
) -> None:
    with pytest.raises(InputError) as refused:
        read({"x": value})
    assert str(refused.value) == said


def test_a_field_that_can_be_is_read_as_it_is() -> None:
    assert (text_of({"x": "a"}, "x"), text_of({"x": ""}, "x", ""), text_of({}, "x", "b")) == ("a", "", "b")
    assert text_of({"x": None}, "x", "") == ""
    assert (number_of({"x": 4}, "x"), number_of({"x": -0.5}, "x")) == (4.0, -0.5)
    assert (whole_of({"x": 4}, "x"), whole_of({}, "x", empty=True), whole_of({"x": 0}, "x", empty=True)) == (4, None, 0)
    assert day_of({"x": "2026-11-21"}, "x") == date(2026, 11, 21)


def test_a_moment_is_to_the_second_and_at_most_a_day_ahead() -> None:
    now = datetime(2026, 11, 21, 12, 30, 45)
    assert moment_of({"at": "2026-11-21T08:00:01.987"}, now) == datetime(2026, 11, 21, 8, 0, 1)
    assert moment_of({"at": "2026-11-22T12:30:45"}, now) == datetime(2026, 11, 22, 12, 30, 45)
    assert moment_of({"at": "2026-11-21T08:00:00+02:00"}, now) == datetime(2026, 11, 21, 8)
    for at, said in (
        (
            "2026-11-22T12:30:46",
            "it was entered at 2026-11-22 12:30:46, after this computer's 2026-11-21 12:30: set the clock right",
        ),
        ("noon", f"time 'noon' is not a time: {AGAIN}"),
    ):
        with pytest.raises(InputError) as refused:
            moment_of({"at": at}, now)
        assert str(refused.value) == said


@pytest.mark.parametrize(
    ("one", "said"),
    [
        ({"at": "2026-11-21T08:00", "kind": "look", "batch": "B1"}, "2026-11-21 look B1"),
        ({"at": "2026-11-21T08:00", "kind": "begin", "species": "Aster", "place": "box"}, "2026-11-21 begin Aster"),
        ({"at": "2026-11-21T08:00", "kind": "lot", "lot": {"species": "Aster"}}, "2026-11-21 lot Aster"),
        ({"at": "2026-11-21T08:00", "kind": "lot", "lot": "Aster"}, "2026-11-21 lot"),
        ({"at": "2026-11-21T08:00", "kind": "count", "sowing": "S2"}, "2026-11-21 count S2"),
        ({"at": "2026-11-21T08:00", "kind": "reading", "place": "box"}, "2026-11-21 reading box"),
        ({"at": "2026-11-21T08:00", "kind": "task", "task": "Aster/sow"}, "2026-11-21 task Aster/sow"),
        ({}, "entry"),
    ],
)
def test_an_entry_is_told_by_its_day_its_kind_and_what_it_is_about(one: dict[str, Any], said: str) -> None:
    assert told_of(one) == said


def test_files_that_cannot_be_taken_are_named_with_what_to_do(tmp_path: Path) -> None:
    path = tmp_path / "page.txt"
    for text, said in (
        (None, "is not there: check the name of the file and the folder you stand in"),
        ('{"kind": "chillplan page", ', "save it from the page again"),
        (
            "chillplan 1a 1/2 a\nchillplan 2b 2/2 b",
            "holds parts of 2 different sendings: put each in a file of its own",
        ),
        ("chillplan 1a 2/4 a\nchillplan 1a 4/4 b", "lacks part 1, 3 of 4: read that code too"),
        ("chillplan 1a 1/1 a", "was changed on the way (a space lost, for example): read the codes again"),
        (
            '{"kind": "chillplan page", "format": 2}',
            "is of another version of the page: write the page anew, or upgrade",
        ),
    ):
        if text is not None:
            path.write_text(text, encoding="utf-8")
        with pytest.raises(InputError) as refused:
            read_page_file(path)
        assert str(refused.value).startswith(f"{quoted(path)} ") and str(refused.value).endswith(said)
    with pytest.raises(InputError, match=r"is cut short or damaged \(Unterminated"):
        path.write_text('{"kind": "chillplan page', encoding="utf-8")
        read_page_file(path)
    path.write_text(f'{{"a": "{"x" * 200}", "kind": "chillplan page"}}', encoding="utf-8")
    assert read_page_file(path) is None, "the mark stands at the beginning"


def test_every_conflict_and_note_of_a_file_says_what_to_do(tmp_path: Path) -> None:
    bag: dict[str, Any] = {"species": SPECIES[0].name, "date": "2026-11-20", "place": "fridge", "set": 4, "seeds": 500}
    sown: dict[str, Any] = {"species": SPECIES[0].name, "date": "2026-11-21", "seeds": 3}
    entries = [
        entry(1, "dance"),
        entry(2, "look", batch="@nowhere", finding="fine", date="2026-11-21"),
        entry(3, "count", sowing="@nowhere", up=2, date="2026-11-21"),
        entry(4, "reading", place="box", celsius=4, **{"from": "2026-11-21", "to": "2026-11-20"}),
        entry(5, "sow", **sown, expected=[0.1, 0.2]),
        entry(6, "lot", lot=None),
        entry(7, "undo", of="elsewhere"),
        entry(8, "begin", **bag),
    ]
    with begun(tmp_path / "journal.db") as journal:
        found = bring_back(journal, page_of(entries), species_of, NOW)
        days = [one["at"][:10] for one in entries]
        assert found.conflicts == [
            f"{days[0]} dance: kind 'dance' is not known: upgrade chillplan",
            f"{days[1]} look @nowhere: the batch it belongs to was not taken: see the conflict named for that",
            f"{days[2]} count @nowhere: the sowing it belongs to was not taken: see the conflict named for that",
            f"{days[3]} reading box: temperature from 2026-11-21 to 2026-11-20 does not run from an earlier to a later "
            "day",
            f"{days[4]} sow {SPECIES[0].name}: the promised share is not three numbers: {AGAIN}",
            f"{days[5]} lot: the lot says nothing: enter it again",
            f"{days[6]} undo: what it takes back is not here: bring that file back first",
        ]
        twins = ", ".join(f"B{number}" for number in (1, 4, 7, 10))
        assert found.notes == [
            f"{SPECIES[0].name} of 2026-11-20 was begun already as {twins}: if it is the same seed, entered on two "
            "phones, close one with `chillplan batch close`"
        ]
        assert (found.taken, found.known, found.lots) == (1, 0, 0)
        assert journal.brought == ()


def test_seed_begun_on_the_page_is_the_batch_that_was_entered(tmp_path: Path) -> None:
    bag = {
        "species": "Quaesita media", "date": "2026-11-21", "place": "cool box", "set": 3.5, "seeds": 9,
        "label": "mine", "plantOut": "2027-04-20", "recipe": "usual",
    }  # fmt: skip
    with begun(tmp_path / "journal.db") as journal:
        assert bring_back(journal, page_of([entry(1, "begin", **bag)]), species_of, NOW).conflicts == []
        assert held_by(journal, NOW.date())["batches"][-1] == {
            "ref": "B11",
            "species": "Quaesita media",
            "name": "mine",
            "started": "2026-11-21",
            "phases": [
                {
                    "kind": "cold",
                    "days": [60, 90],
                    "response": [-2.0, 1.0, 7.0, 12.0],
                    "reversal": 14.5,
                    "reversal_loss": 0.7,
                }
            ],
            "place": "cool box",
            "set": 3.5,
            "seeds": 9,
            "plantOut": "2027-04-20",
            "looked": None,
            "finding": None,
            "every": 7,
        }


def test_a_task_ticked_on_the_page_is_ticked_in_the_journal_on_its_day(tmp_path: Path) -> None:
    code = f"{SPECIES[0].name}/outdoors/sow/1"
    with begun(tmp_path / "journal.db") as journal:
        kept = KeptTask(f"2026/{code}", "x", SPECIES[0].name, "sow", "sow", "hill", "s", BEGUN, BEGUN)
        other = KeptTask(f"2026/{code}1", "y", SPECIES[1].name, "sow", "sow", "hill", "s", BEGUN, BEGUN)
        keep_tasks(journal, [other, kept], NOW)
        assert (
            bring_back(journal, page_of([entry(1, "task", task=code, date="2026-11-22")]), species_of, NOW).taken == 1
        )
        assert [task.code for task in open_tasks(journal)] == [other.code]
        (row,) = journal.rows("SELECT done_on FROM tasks WHERE done_on IS NOT NULL")
        assert row["done_on"] == "2026-11-22"
        texts = [row["text"] for row in journal.rows("SELECT text FROM entries")]
        assert f"done: 2026/{code}" in texts
        assert (
            bring_back(journal, page_of([entry(2, "task", task="none", date="2026-11-22")]), species_of, NOW).taken == 1
        )


def test_what_no_table_holds_is_an_entry_that_says_where_it_came_from(tmp_path: Path) -> None:
    """The grower reads it in the log of the journal and takes it back there."""
    with begun(tmp_path / "journal.db") as journal:
        entries = [entry(1, "crew", weekdays=[5], away=[]), entry(2, "plant", species="Aster", plantOut="2027-04-20")]
        assert bring_back(journal, page_of(entries), species_of, NOW).taken == 2
        texts = [row["text"] for row in journal.rows("SELECT text FROM entries ORDER BY id")][-2:]
        days = [one["at"][:10] for one in entries]
        assert texts == [f"from the page: {days[0]} crew", f"from the page: {days[1]} plant Aster"]


def test_lots_go_to_the_lots_file_with_what_they_were_and_are_settled_once_the_journal_has_them(tmp_path: Path) -> None:
    asked: list[tuple[object, object, str]] = []
    settled: list[tuple[str, bool]] = []

    def file_lot(was: Any, new: Any, name: str) -> tuple[str, Callable[[bool], None]]:
        if new and new.get("bad"):
            raise InputError("no such lot")
        asked.append((was, new, name))
        return ("look at it" if was else ""), lambda entered: settled.append((name, entered))

    old, new = {"species": "Aster"}, {"species": "Aster", "amount": "5 g"}
    with begun(tmp_path / "journal.db") as journal:
        entries = [entry(1, "lot", was=old, lot=new), entry(2, "lot", lot=old), entry(3, "lot", lot={"bad": True})]
        found = bring_back(journal, page_of(entries), species_of, NOW, file_lot)
        assert asked == [(old, new, "00001"), (None, old, "00002")]
        assert settled == [("00001", True), ("00002", True)]
        assert (found.taken, found.lots, found.notes) == (2, 3, ["look at it"])
        assert found.conflicts == [f"{entries[2]['at'][:10]} lot: no such lot"]
        assert all(one["filed"] for one in held_by(journal, NOW.date())["entries"])
        asked.clear()
        bring_back(journal, page_of([entry(5, "undo", of="00001")]), species_of, NOW, file_lot)
        assert asked == [(new, old, "00005")], "taken back, the lot is what it was"
        text = [row["text"] for row in journal.rows("SELECT text FROM entries")]
        assert f"from the page: {entries[0]['at'][:10]} lot Aster" in text

        def failing(*_: object, **__: object) -> None:
            raise InputError("locked")

        settled.clear()
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr("chillplan.web.brought_back.undo_entry", failing)
            found = bring_back(journal, page_of([entry(6, "undo", of="00002")]), species_of, NOW, file_lot)
        assert settled == [("00006", False)], "what the journal refused is not put into the lots file"
        assert found.conflicts[0].endswith(f"it takes back {entries[1]['at'][:10]} lot Aster, but locked")
    with begun(tmp_path / "other.db") as journal:
        assert bring_back(journal, page_of([entry(1, "lot", lot=new)]), species_of, NOW).lots == 1
        assert [one["filed"] for one in held_by(journal, NOW.date())["entries"]] == [False]


def test_what_the_journal_holds_is_told_whole(tmp_path: Path) -> None:
    """Readings from the earliest batch on, of places with a batch; batches that run; looks and counts."""
    with begun(tmp_path / "journal.db") as journal:
        early, twice = date(2026, 10, 1), SPECIES[4]
        box = BatchStart(twice.name, early, treatments_of(twice.recipe, early), label="box", place="box", seeds=7)
        start_batch(journal, box, datetime(2026, 10, 1, 9))
        plain = BatchStart("Nuda", date(2026, 10, 5), (), place="box", seeds=None)
        start_batch(journal, plain, datetime(2026, 10, 5, 9))
        for day, celsius in ((30, 1.0), (31, 2.0)):
            add_readings(journal, "box", [Reading(datetime(2026, 8, day, 12), celsius)], NOW)
        later = [Reading(datetime(2026, 10, 2, 12), 3.111), Reading(datetime(2026, 10, 2, 18), 5.0)]
        add_readings(journal, "box", later, NOW)
        add_readings(journal, "attic", later, NOW)
        sow = entry(1, "sow", batch="B1", date="2026-11-21", seeds=3, bed="gate", expected=[0.2, 0.5, 0.8])
        assert bring_back(journal, page_of([sow]), species_of, NOW).conflicts == []
        add_count(journal, "S1", 2, NOW, date(2027, 5, 1))
        held = held_by(journal, NOW.date(), species_of)
        assert set(held) == {"others", "refs", "batches", "places", "sowings", "entries", "done"}
        assert held["places"] == {"box": {"2026-10-02": 4.06}}
        assert held["refs"] == {"@00001": "S1"}
        assert held["sowings"] == [
            {
                "ref": "S1", "species": SPECIES[0].name, "sown": "2026-11-21", "seeds": 3, "bed": "gate",
                "expected": [0.2, 0.5, 0.8], "up": 2,
            }
        ]  # fmt: skip
        batches = {batch["ref"]: batch for batch in held["batches"]}
        assert [phase["kind"] for phase in batches["B11"]["phases"]] == ["warm", "cold"]
        assert [phase["reversal"] is None for phase in batches["B11"]["phases"]] == [True, False]
        assert (batches["B11"]["started"], batches["B11"]["plantOut"]) == ("2026-10-01", None)
        assert (batches["B12"]["started"], batches["B12"]["phases"]) == ("2026-10-05", [])
        assert "Nuda" not in held["others"] and twice.name in held["others"]
        next_phase(journal, "B11", NOW, date(2026, 12, 1))
        (cold,) = next(b for b in held_by(journal, NOW.date())["batches"] if b["ref"] == "B11")["phases"]
        assert cold["kind"] == "cold"
        assert next(b for b in held_by(journal, NOW.date())["batches"] if b["ref"] == "B11")["started"] == "2026-12-01"
        close_batch(journal, "B12", "planted", NOW)
        assert "B12" not in {batch["ref"] for batch in held_by(journal, NOW.date())["batches"]}


def test_files_are_whole_on_disk_before_the_folder_has_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A laptop whose battery dies leaves no empty file under a good name: each is written out and synced first."""
    sizes: list[int] = []
    monkeypatch.setattr(folder_module.os, "fsync", lambda number: sizes.append(os.fstat(number).st_size))
    written = write_report(hand_plan(), hand_source(), tmp_path / "plan", Reader())
    assert written == tuple(tmp_path / "plan" / name for name in FILES)
    assert sizes == [path.stat().st_size for path in written]
    assert (tmp_path / "plan").stat().st_mode & 0o777 == 0o755
    assert [path.name for path in tmp_path.iterdir()] == ["plan"]


def test_a_new_file_beside_old_ones_is_taken_away_again_where_the_move_stops(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder held three of the five files; after a stop it holds these three, as they were."""
    for name in FILES[2:]:
        (tmp_path / name).write_text(f"old {name}", encoding="utf-8")
    replaced, moved = Path.replace, iter(range(100))

    def failing(self: Path, target: Path) -> Path:
        if next(moved) == 4:
            raise OSError(errno.EIO, "input/output error")
        return replaced(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(InputError) as refused:
        write_report(hand_plan(), hand_source(), tmp_path, Reader())
    monkeypatch.undo()
    assert {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()} == {
        name: f"old {name}" for name in FILES[2:]
    }
    assert str(refused.value) == (
        f"--out {quoted(tmp_path)} cannot be written to (input/output error): give a folder of your own; "
        "nothing was written"
    )


def test_a_full_disk_and_a_file_in_the_way_are_told_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "no space")

    monkeypatch.setattr(folder_module.os, "fsync", full)
    with pytest.raises(InputError) as refused:
        write_report(hand_plan(), hand_source(), tmp_path / "plan", Reader())
    assert str(refused.value) == (
        f"the disk of --out {quoted(tmp_path / 'plan')} is full: free some space (about 5 MB); nothing was written"
    )
    taken = tmp_path / "taken"
    taken.write_text("mine", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        write_report(hand_plan(), hand_source(), taken, Reader())
    assert str(refused.value) == f"--out {quoted(taken)} is a file, not a folder: give another name"
    with pytest.raises(InputError) as refused:
        write_whole(tmp_path / "none" / "map.html", b"x")
    path = tmp_path / "none" / "map.html"
    assert str(refused.value) == (
        f"{quoted(path)} cannot be written (No such file or directory): give another name with --out"
    )


def test_one_file_is_written_whole_or_what_was_there_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "map.html"
    write_whole(path, b"old")

    def stop(*_: object) -> None:
        raise OSError

    monkeypatch.setattr(Path, "replace", stop)
    with pytest.raises(InputError, match=r"cannot be written \(OSError\)"):
        write_whole(path, b"new")
    monkeypatch.undo()
    assert path.read_bytes() == b"old" and [one.name for one in tmp_path.iterdir()] == ["map.html"]
    write_whole(path, b"new")
    assert path.read_bytes() == b"new" and [one.name for one in tmp_path.iterdir()] == ["map.html"]
