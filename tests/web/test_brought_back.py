"""The way back: whole, once, in any order of parts, with conflicts by name."""

from __future__ import annotations

import functools
import json
import random
import re
import sqlite3
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest

from chillplan.errors import InputError
from chillplan.journal.entries import add_count, add_readings, add_sowing, close_batch, start_batch
from chillplan.journal.exchange import content_of
from chillplan.journal.kept import KeptTask, keep_tasks, open_tasks, tick
from chillplan.journal.records import BatchStart, Reading, SowingEntry, treatments_of
from chillplan.journal.schema import CONTENT_TABLES
from chillplan.journal.store import Journal, open_journal, undo_last
from chillplan.seeds.recipe import Species
from chillplan.web.brought_back import bring_back
from chillplan.web.facts import held_by
from chillplan.web.page_file import read_page_file
from tests.journal.samples import add_check
from tests.report.conftest import SPECIES

BEGUN = date(2026, 11, 20)
NOW = datetime(2027, 6, 1, 12)
BATCHES = 10


def species_of(name: str) -> Species:
    for species in SPECIES:
        if name == species.name:
            return species
    raise InputError(f"species {name!r} is not known")


def begun(path: Path) -> Journal:
    journal = open_journal(path, BEGUN, create=True)
    for number in range(BATCHES):
        one = SPECIES[number % 3]
        start = BatchStart(one.name, BEGUN, treatments_of(one.recipe, BEGUN), label=f"bag {number}", seeds=500)
        start_batch(journal, start, datetime(2026, 11, 20, 9))
    return journal


def page_of(entries: list[dict[str, Any]]) -> dict[str, Any]:
    return {"kind": "chillplan page", "format": 1, "site": "Test Bank", "season": 2026, "entries": entries}


def entry(number: int, kind: str, **fields: Any) -> dict[str, Any]:
    at = datetime(2026, 11, 21, 8) + timedelta(hours=7 * number)
    return {"id": f"{number:05d}", "at": at.isoformat(timespec="milliseconds"), "kind": kind, **fields}


def three_hundred() -> list[dict[str, Any]]:
    """Looks, temperatures, sowings and counts as a winter brings them."""
    chance = random.Random(7)
    found = []
    for number in range(300):
        day = (datetime(2026, 11, 21, 8) + timedelta(hours=7 * number)).date().isoformat()
        kind = chance.choices(("look", "reading", "sow", "count"), (6, 2, 1, 1))[0]
        sown = [one["id"] for one in found if one["kind"] == "sow"]
        if kind == "look":
            finding = chance.choice(("fine", "dry", "mould", "sprouted"))
            sprouted = chance.randrange(1, 9) if finding == "sprouted" else None
            batch = f"B{chance.randrange(1, BATCHES + 1)}"
            found.append(entry(number, "look", batch=batch, finding=finding, sprouted=sprouted, date=day))
        elif kind == "reading" or (kind == "count" and not sown):
            celsius = round(chance.uniform(-2, 9), 2)
            found.append(entry(number, "reading", place="fridge", celsius=celsius, **{"from": day, "to": day}))
        elif kind == "sow":
            batch = f"B{chance.randrange(1, BATCHES + 1)}"
            found.append(
                entry(
                    number,
                    "sow",
                    batch=batch,
                    species="",
                    date=day,
                    bed="by the gate",
                    seeds=3,
                    expected=[0.2, 0.5, 0.8],
                )
            )
        else:
            found.append(entry(number, "count", sowing=f"@{chance.choice(sown)}", up=2, date=day))
    return found


def typed(journal: Journal, entries: list[dict[str, Any]]) -> None:
    """The same entries through the functions that the commands use."""
    sowings: dict[str, int] = {}
    for one in entries:
        at = datetime.fromisoformat(one["at"])
        day = at.date()
        if one["kind"] == "look":
            add_check(journal, one["batch"], one["finding"], at, one["sprouted"], day=day)
        elif one["kind"] == "reading":
            noon = datetime.combine(day, time(12))
            add_readings(journal, "fridge", [Reading(min(noon, at), one["celsius"])], at)
        elif one["kind"] == "sow":
            low, middle, high = one["expected"]
            sowing = SowingEntry(
                day,
                one["seeds"],
                batch=int(one["batch"][1:]),
                site="Test Bank",
                expected=(low, middle, high),
                note=one["bed"],
            )
            sowings[one["id"]] = add_sowing(journal, sowing, at)
        else:
            add_count(journal, f"S{sowings[one['sowing'][1:]]}", one["up"], at, day)


def test_300_entries_brought_back_twice_are_the_same_entries_typed(tmp_path: Path) -> None:
    entries = three_hundred()
    assert {one["kind"] for one in entries} == {"look", "reading", "sow", "count"}
    with begun(tmp_path / "typed.db") as by_hand, begun(tmp_path / "brought.db") as brought:
        typed(by_hand, entries)
        shuffled = random.Random(8).sample(entries, len(entries))
        first = bring_back(brought, page_of(shuffled), species_of, NOW)
        assert (first.taken, first.known, first.conflicts) == (300, 0, [])
        second = bring_back(brought, page_of(entries), species_of, NOW)
        assert (second.taken, second.known, second.conflicts) == (0, 300, [])
        ours, theirs = content_of(brought), content_of(by_hand)
        for table in CONTENT_TABLES:
            assert ours[table] == theirs[table], table
        assert [(one["at"], one["text"]) for one in ours["entries"]] == [
            (one["at"], one["text"]) for one in theirs["entries"]
        ]


def test_what_does_not_fit_is_named_stays_and_the_rest_is_taken(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        close_batch(journal, "B2", "lost to mould", datetime(2026, 12, 1, 9))
        entries = [
            entry(1, "look", batch="B1", finding="fine", sprouted=None, date="2026-11-21"),
            entry(2, "look", batch="B2", finding="fine", sprouted=None, date="2026-11-21"),
            entry(3, "look", batch="@nowhere", finding="fine", sprouted=None, date="2026-11-21"),
            entry(4, "begin", species="Planta ignota", date="2026-11-21", place="fridge", set=4, seeds=5),
            entry(5, "look", batch="B1", finding="<b>bad</b>", sprouted=None, date="2026-11-21"),
            entry(6, "dance"),
            {**entry(7, "crew", weekdays=[5, 6], away=[]), "at": "2029-01-01T00:00:00"},
            entry(8, "look", batch="B1", finding="dry", sprouted="many", date="2026-11-21"),
        ]
        found = bring_back(journal, page_of(entries), species_of, NOW)
        assert found.taken == 1 and len(found.conflicts) == 7
        told = "\n".join(found.conflicts)
        for words in (
            "was closed on 2026-12-01",
            "was not taken",
            "'Planta ignota'",
            "'dance' is not known",
            "set the clock",
        ):
            assert words in told
        undo_last(journal, NOW)
        undo_last(journal, NOW)
        again = bring_back(journal, page_of(entries), species_of, NOW)
        assert again.known == 1 and again.taken == 1, (
            "once B2 is open again its look is taken; the first is not taken twice"
        )


def test_two_findings_of_one_day_are_both_kept_and_said(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        add_check(journal, "B1", "fine", datetime(2026, 11, 21, 20), day=date(2026, 11, 21))
        look = entry(1, "look", batch="B1", finding="mould", sprouted=None, date="2026-11-21")
        found = bring_back(journal, page_of([look]), species_of, NOW)
        assert found.notes == ["B1 on 2026-11-21: the journal had fine, the page mould; both are kept"]
        assert len(journal.rows("SELECT 1 FROM checks")) == 2


def test_what_was_taken_back_on_the_page_leaves_no_trace_but_its_name(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        before = {table: content_of(journal)[table] for table in CONTENT_TABLES}
        look = entry(1, "look", batch="B1", finding="mould", sprouted=None, date="2026-11-21")
        page = page_of([look, entry(2, "undo", of="00001")])
        assert bring_back(journal, page, species_of, NOW).taken == 2
        assert bring_back(journal, page, species_of, NOW).known == 2
        assert {table: content_of(journal)[table] for table in CONTENT_TABLES} == before


def test_an_entry_taken_back_in_the_same_file_is_no_conflict(tmp_path: Path) -> None:
    """Also where the grower went on after taking it back, and however the file is sorted."""
    with begun(tmp_path / "journal.db") as journal:
        entries = [
            entry(1, "look", batch="B1", finding="mould", sprouted=None, date="2026-11-21"),
            entry(2, "undo", of="00001"),
            entry(3, "look", batch="B1", finding="fine", sprouted=None, date="2026-11-21"),
        ]
        found = bring_back(journal, page_of(entries), species_of, NOW)
        assert (found.taken, found.known, found.conflicts) == (3, 0, [])
        again = bring_back(journal, page_of(entries[::-1]), species_of, NOW)
        assert (again.taken, again.known, again.conflicts) == (0, 3, [])
        assert [row["finding"] for row in journal.rows("SELECT finding FROM checks")] == ["fine"]


def test_an_entry_of_an_earlier_import_is_taken_back_once(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        before = {table: content_of(journal)[table] for table in CONTENT_TABLES}
        look = entry(1, "look", batch="B1", finding="mould", sprouted=None, date="2026-11-21")
        other = entry(2, "look", batch="B2", finding="dry", sprouted=None, date="2026-11-21")
        assert bring_back(journal, page_of([look]), species_of, NOW).taken == 1
        undo = entry(3, "undo", of="00001")
        found = bring_back(journal, page_of([look, other, undo]), species_of, NOW)
        assert (found.taken, found.known, found.conflicts) == (2, 1, [])
        assert [row["finding"] for row in journal.rows("SELECT finding FROM checks")] == ["dry"]
        again = bring_back(journal, page_of([look, other, undo]), species_of, NOW)
        assert (again.taken, again.known, again.conflicts) == (0, 3, [])
        undo_last(journal, NOW)
        assert {table: content_of(journal)[table] for table in CONTENT_TABLES} == before
        assert {one["id"]: one["kind"] for one in held_by(journal, NOW.date())["entries"]} == {
            "00001": "gone",
            "00002": "gone",
            "00003": "undo",
        }


def test_what_later_entries_build_on_stays_until_these_are_taken_back(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        box: dict[str, Any] = {"place": "cool box", "set": 3, "plantOut": None, "label": "", "recipe": "usual"}
        begin = entry(1, "begin", species="Quaesita media", date="2026-11-21", seeds=40, **box)
        look = entry(2, "look", batch="@00001", finding="fine", sprouted=None, date="2026-11-21")
        bring_back(journal, page_of([begin, look]), species_of, NOW)
        undo = page_of([entry(4, "undo", of="00001")])
        found = bring_back(journal, undo, species_of, NOW)
        assert found.taken == 0 and len(found.conflicts) == 1
        told = found.conflicts[0]
        assert "it takes back 2026-11-21 begin Quaesita media, but " in told and "take those back first" in told
        undo_last(journal, NOW)
        assert bring_back(journal, undo, species_of, NOW).taken == 1
        assert len(journal.rows("SELECT 1 FROM batches")) == BATCHES


def test_what_was_taken_back_by_hand_meanwhile_is_only_remembered(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        look = entry(1, "look", batch="B1", finding="mould", sprouted=None, date="2026-11-21")
        bring_back(journal, page_of([look]), species_of, NOW)
        undo_last(journal, NOW)
        undo = page_of([entry(3, "undo", of="00001")])
        assert bring_back(journal, undo, species_of, NOW).taken == 1
        assert bring_back(journal, undo, species_of, NOW).known == 1


def test_the_page_written_anew_goes_on_where_the_old_one_was(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        box: dict[str, Any] = {"place": "cool box", "set": 3, "plantOut": None, "label": ""}
        entries = [
            entry(1, "begin", species="Quaesita media", recipe="usual", date="2026-11-21", seeds=40, **box),
            entry(2, "plant", species="Quaesita media", plantOut="2027-04-20"),
            entry(3, "look", batch="@00001", finding="fine", sprouted=None, date="2026-11-21"),
        ]
        assert bring_back(journal, page_of(entries), species_of, NOW).conflicts == []
        held = held_by(journal, NOW.date())
        assert held["refs"] == {"@00001": f"B{BATCHES + 1}"}
        assert {one["id"] for one in held["entries"]} == {"00001", "00002", "00003"}
        new = held["batches"][-1]
        assert (new["place"], new["seeds"], new["looked"], new["set"]) == ("cool box", 40, "2026-11-21", 3)
        look = entry(4, "look", batch="@00001", finding="dry", sprouted=None, date="2026-11-21")
        assert bring_back(journal, page_of([look]), species_of, NOW).taken == 1


def test_one_kill_between_any_two_writes_leaves_an_entry_whole_or_absent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The identifier and the entry are one transaction."""
    with begun(tmp_path / "journal.db") as journal:
        look = entry(1, "look", batch="B1", finding="fine", sprouted=None, date="2026-11-21")

        def stop(*_: object) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr("chillplan.journal.store.Writer.insert", stop)
        with pytest.raises(KeyboardInterrupt):
            bring_back(journal, page_of([look]), species_of, NOW)
        monkeypatch.undo()
        assert journal.rows("SELECT 1 FROM brought") == [] and journal.rows("SELECT 1 FROM checks") == []
        assert bring_back(journal, page_of([look]), species_of, NOW).taken == 1
        with pytest.raises(sqlite3.IntegrityError):
            journal.connection.execute("INSERT INTO brought (id, entry, body) VALUES ('00001', 1, '')")


def test_parts_of_codes_are_put_together_in_any_order_and_gaps_are_named(tmp_path: Path) -> None:
    text = json.dumps(page_of([entry(1, "crew", weekdays=[6], away=[])]), ensure_ascii=False)
    third = len(text) // 3 + 1
    mark = functools.reduce(lambda total, letter: (total * 31 + ord(letter)) % 0xFFFFFF, text, 7)
    lines = [f"chillplan {mark:x} {n + 1}/3 {text[n * third : (n + 1) * third]}" for n in (2, 0, 1)]
    path = tmp_path / "codes.txt"
    path.write_text("\n".join(lines), encoding="utf-8")
    assert read_page_file(path) == json.loads(text)
    path.write_text("\n".join(lines[:2]), encoding="utf-8")
    with pytest.raises(InputError, match="lacks part 2 of 3"):
        read_page_file(path)
    path.write_text("\n".join(lines[1:]), encoding="utf-8")
    with pytest.raises(InputError, match="lacks part 3 of 3"):
        read_page_file(path)
    path.write_text("\n".join(lines).replace('"kind": "crew"', '"kind":"crew"'), encoding="utf-8")
    with pytest.raises(InputError, match="changed on the way"):
        read_page_file(path)
    path.write_text(text[:-9], encoding="utf-8")
    with pytest.raises(InputError, match="cut short"):
        read_page_file(path)
    path.write_text('{"kind": "chillplan journal"}', encoding="utf-8")
    assert read_page_file(path) is None


def test_what_is_taken_back_in_another_file_waits_for_its_entry(tmp_path: Path) -> None:
    look = entry(1, "look", batch="B1", finding="fine", date="2026-11-21")
    undo = entry(2, "undo", of=look["id"])
    with begun(tmp_path / "journal.db") as journal:
        found = bring_back(journal, page_of([undo]), species_of, NOW)
        assert found.taken == 0 and "is not here: bring that file back first" in found.conflicts[0]
        assert bring_back(journal, page_of([look]), species_of, NOW).taken == 1
        assert bring_back(journal, page_of([undo]), species_of, NOW).taken == 1
        assert journal.rows("SELECT 1 FROM checks") == []


def test_seed_begun_on_two_phones_is_named(tmp_path: Path) -> None:
    begin = {"species": SPECIES[0].name, "date": "2026-11-21", "place": "fridge", "set": 4, "seeds": 30}
    with begun(tmp_path / "journal.db") as journal:
        assert bring_back(journal, page_of([entry(1, "begin", **begin)]), species_of, NOW).notes == []
        (note,) = bring_back(journal, page_of([entry(2, "begin", **begin)]), species_of, NOW).notes
        assert SPECIES[0].name in note and f"B{BATCHES + 1}" in note and "two phones" in note
        later = entry(3, "begin", **{**begin, "seeds": 31})
        assert bring_back(journal, page_of([later]), species_of, NOW).notes == []


def test_another_season_and_another_site_tick_nothing_off(tmp_path: Path) -> None:
    ticked = entry(1, "task", task=f"{SPECIES[0].name}/fridge/cold phase/1", date="2026-11-21")
    lot = entry(2, "lot", lot={"species": SPECIES[0].name})
    code = f"{SPECIES[0].name}/outdoors/sow/1"
    with begun(tmp_path / "journal.db") as journal:
        days = (BEGUN, BEGUN)
        keep_tasks(journal, [KeptTask(f"2026/{code}", "x", SPECIES[0].name, "sow", "sow", "hill", "s", *days)], NOW)
        with journal.entry("done", NOW) as writer:
            tick(writer, open_tasks(journal)[0], BEGUN)
        assert bring_back(journal, page_of([ticked, lot]), species_of, NOW).taken == 2

        def told(site: str, season: int) -> tuple[list[str], list[str]]:
            held = held_by(journal, BEGUN, None, site, season)
            assert [one["id"] for one in held["entries"]] == [ticked["id"], lot["id"]], "known in any case"
            return [one["kind"] for one in held["entries"] if one["kind"] != "gone"], held["done"]

        assert told("Test Bank", 2026) == (["task", "lot"], [code])
        assert told("Test Bank", 2027) == (["lot"], [])
        assert told("Other", 2026) == ([], [code])


def test_seed_begun_on_the_page_owes_all_its_cold_but_what_it_had(tmp_path: Path) -> None:
    bag: dict[str, Any] = {"species": "Quaesita media", "date": "2026-11-21", "place": "box", "set": 3, "seeds": 9}
    with begun(tmp_path / "journal.db") as journal:
        entries = [entry(1, "begin", **bag), entry(2, "begin", **{**bag, "seeds": 8}, coldDone=25)]
        assert bring_back(journal, page_of(entries), species_of, NOW).conflicts == []
        whole, rest = (batch["phases"][0]["days"] for batch in held_by(journal, NOW.date())["batches"][-2:])
    assert whole == [60, 90] and rest == [35, 65]


def test_a_temperature_of_a_span_is_one_a_day_and_a_slip_of_the_finger_is_refused(tmp_path: Path) -> None:
    span = {"place": "fridge", "celsius": 4.5, "from": "2026-11-18", "to": "2026-11-20"}
    wrong = [
        entry(2, "reading", **{**span, "to": "2026-11-17"}),
        entry(3, "reading", **{**span, "from": "2025-10-15"}),  # 401 days
    ]
    with begun(tmp_path / "journal.db") as journal:
        found = bring_back(journal, page_of([entry(1, "reading", **span), *wrong]), species_of, NOW)
        assert found.taken == 1 and len(found.conflicts) == 2
        assert all("does not run from an earlier to a later day" in told for told in found.conflicts)
        rows = journal.rows("SELECT at, temperature FROM readings ORDER BY at")
        assert [(row["at"][:10], row["temperature"]) for row in rows] == [
            (f"2026-11-{day}", 4.5) for day in (18, 19, 20)
        ]
        long = entry(4, "reading", **{**span, "place": "shed", "from": "2025-10-16"})
        assert bring_back(journal, page_of([long]), species_of, NOW).taken == 1


def test_the_same_temperature_of_two_phones_is_measured_once_and_both_entries_are_remembered(tmp_path: Path) -> None:
    span = {"place": "fridge", "celsius": 4.5, "from": "2026-11-20", "to": "2026-11-20"}
    with begun(tmp_path / "journal.db") as journal:
        for number in (1, 2):
            assert bring_back(journal, page_of([entry(number, "reading", **span)]), species_of, NOW).taken == 1
        assert len(journal.rows("SELECT 1 FROM readings")) == 1
        again = bring_back(journal, page_of([entry(number, "reading", **span) for number in (1, 2)]), species_of, NOW)
        assert (again.taken, again.known) == (0, 2)


def test_a_sowing_of_the_page_keeps_what_was_promised_or_nothing(tmp_path: Path) -> None:
    sown: dict[str, Any] = {"species": "Quaesita media", "date": "2026-11-21", "bed": "gate", "seeds": 12}
    entries = [
        entry(1, "sow", **sown, expected=[0.1, 0.4, 0.7]),
        entry(2, "sow", **sown),
        entry(3, "sow", **sown, expected=[0.1, 0.4]),
    ]
    with begun(tmp_path / "journal.db") as journal:
        found = bring_back(journal, page_of(entries), species_of, NOW)
        assert found.taken == 2 and "promised share is not three numbers" in found.conflicts[0]
        first, second = held_by(journal, NOW.date())["sowings"]
    assert (first["expected"], second["expected"]) == ([0.1, 0.4, 0.7], None)
    assert (first["species"], first["seeds"], first["bed"], first["up"]) == ("Quaesita media", 12, "gate", None)


def test_the_page_is_told_names_and_cautions_of_seed_that_it_does_not_know(tmp_path: Path) -> None:
    with begun(tmp_path / "journal.db") as journal:
        strange = BatchStart("Ignota nova", BEGUN, treatments_of(SPECIES[0].recipe, BEGUN), seeds=5)
        start_batch(journal, strange, datetime(2026, 11, 20, 9))
        others = held_by(journal, NOW.date(), species_of)["others"]
        assert set(others) == {species.name for species in SPECIES[:3]}
        assert held_by(journal, NOW.date())["others"] == {}
    for species in SPECIES[:3]:
        assert others[species.name]["common"] == species.common_name
        told = " ".join(others[species.name]["cautions"])
        assert all(word in told for word in ("Seed is poisonous.", "Mould in the bag", "Collect wild seed only where"))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"format": 2}, "is of another version of the page"),
        ({"format": "1"}, "is of another version of the page"),
        ({"entries": {}}, "is of another version of the page"),
        ({"entries": None}, "is of another version of the page"),
    ],
)
def test_a_file_of_another_version_is_refused(tmp_path: Path, changed: dict[str, Any], said: str) -> None:
    path = tmp_path / "page.json"
    path.write_text(json.dumps({**page_of([]), **changed}), encoding="utf-8")
    with pytest.raises(InputError, match=said):
        read_page_file(path)


def test_folders_long_files_and_other_content_are_no_files_of_the_page(tmp_path: Path) -> None:
    assert read_page_file(tmp_path) is None
    text = json.dumps(page_of([]))
    long = tmp_path / "long.json"
    long.write_text(text + " " * 20_000_000, encoding="utf-8")
    assert read_page_file(long) is None
    long.write_text(text + " " * 1_000_000, encoding="utf-8")
    assert read_page_file(long) == page_of([])
    odd = tmp_path / "odd.json"
    for content in (b"\xff\xfe\x00", b'["chillplan page"]', b'{"kind": "other", "of": "chillplan page"}', b""):
        odd.write_bytes(content)
        assert read_page_file(odd) is None


def test_parts_of_two_sendings_are_not_mixed(tmp_path: Path) -> None:
    path = tmp_path / "codes.txt"
    path.write_text('chillplan 1a 1/2 {"kind": \nchillplan 2b 2/2 "chillplan page"}', encoding="utf-8")
    with pytest.raises(InputError, match="parts of 2 different sendings"):
        read_page_file(path)


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("set", True, "set '?True'? is not a number"),
        ("set", "4", "set '4' is not a number"),
        ("seeds", 4.5, "seeds '?4.5'? is not a whole number"),
        ("seeds", True, "seeds '?True'? is not a whole number"),
        ("date", "21 Nov", "date '21 Nov' is not a date"),
        ("place", "", "place '' is not a text"),
        ("place", 7, "place '?7'? is not a text"),
        ("at", "noon", "time 'noon' is not a time"),
        ("at", "2027-06-02T13:00:00", "set the clock right"),
    ],
)
def test_a_field_that_cannot_be_is_named_and_nothing_is_recorded(
    tmp_path: Path, name: str, value: object, said: str
) -> None:
    bag = {"species": "Quaesita media", "date": "2026-11-21", "place": "box", "set": 3, "seeds": 9}
    with begun(tmp_path / "journal.db") as journal:
        found = bring_back(journal, page_of([{**entry(1, "begin", **bag), name: value}]), species_of, NOW)
        assert found.taken == 0 and len(held_by(journal, NOW.date())["batches"]) == BATCHES
        (conflict,) = found.conflicts
        assert re.search(said, conflict), conflict
        near = {**entry(2, "begin", **bag), "at": "2027-06-02T11:59:00"}
        assert bring_back(journal, page_of([near]), species_of, NOW).taken == 1, "a phone's clock may be a day ahead"
