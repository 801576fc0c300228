"""What is entered stands in the journal; what is wrong is refused whole."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from chillplan.errors import InputError
from chillplan.journal.entries import add_count, add_readings, add_sowing, close_batch, next_phase, start_batch
from chillplan.journal.exchange import content_of
from chillplan.journal.find import entries_of, find_batch, find_sowing, list_batches, list_sowings
from chillplan.journal.records import Reading, SowingEntry, Treatment, treatments_of
from chillplan.journal.schema import CONTENT_TABLES
from chillplan.journal.store import Journal, undo_last
from chillplan.seeds.recipe import REVERSAL_TEMPERATURE, CoatStep, Phase, Recipe
from tests.journal.samples import COLD, NOW, TODAY, a_batch, add_check


def test_a_batch_is_found_by_number_code_and_label(journal: Journal) -> None:
    number = start_batch(journal, a_batch(label="blue tub"), NOW)
    for reference in (f"B{number}", f"b{number}", str(number), "blue tub"):
        batch = find_batch(journal, reference)
        assert (batch.number, batch.species, batch.seeds) == (number, "Asimina triloba", 200)


def test_names_with_quotes_and_other_scripts_are_kept(journal: Journal) -> None:
    species = 'O\'Neill "wild" 银杏 שלום'
    number = start_batch(journal, a_batch(species=species, label="Ящик 1"), NOW)
    assert find_batch(journal, "Ящик 1").species == species
    assert find_batch(journal, str(number)).label == "Ящик 1"


def test_all_wrong_values_are_named_at_once_and_nothing_is_recorded(journal: Journal) -> None:
    wrong = a_batch(species=" ", seeds=0, set_temperature=400.0, started_on=TODAY + timedelta(1), plant_out=TODAY)
    with pytest.raises(InputError) as caught:
        start_batch(journal, wrong, NOW)
    text = str(caught.value)
    for part in ("species is empty", "seeds 0", "set temperature 400", "is in the future", "plant-out"):
        assert part in text
    assert all(not rows for rows in content_of(journal).values())


@pytest.mark.parametrize(
    ("finding", "sprouted", "message"),
    [
        ("good", None, "finding 'good' is not known: use one of fine, dry, mould, sprouted"),
        ("sprouted", None, "needs the number"),
        ("fine", 3, "is not needed"),
        ("sprouted", 0, "is not a number of seeds"),
        ("sprouted", 201, "more than the 200 seeds of B1"),
    ],
)
def test_a_wrong_check_is_refused(journal: Journal, finding: str, sprouted: int | None, message: str) -> None:
    start_batch(journal, a_batch(), NOW)
    with pytest.raises(InputError, match=message):
        add_check(journal, "B1", finding, NOW, sprouted=sprouted)
    assert not journal.rows("SELECT 1 FROM checks")


def test_a_check_before_the_start_or_tomorrow_is_refused(journal: Journal) -> None:
    start_batch(journal, a_batch(), NOW)
    with pytest.raises(InputError, match="is before the start of B1 2026-12-01"):
        add_check(journal, "B1", "fine", NOW, day=date(2026, 11, 30))
    with pytest.raises(InputError, match="is in the future"):
        add_check(journal, "B1", "fine", NOW, day=TODAY + timedelta(1))


@pytest.mark.parametrize("reference", ["B99", "no such", "", "B", "B99999999999999999999", "²"])
def test_an_unknown_batch_is_refused(journal: Journal, reference: str) -> None:
    with pytest.raises(InputError, match="is not in the journal"):
        find_batch(journal, reference)


def test_a_closed_batch_takes_no_more_checks(journal: Journal) -> None:
    start_batch(journal, a_batch(), NOW)
    close_batch(journal, "B1", "planted out", NOW)
    assert list_batches(journal) == []
    assert list_batches(journal, closed=True)[0].outcome == "planted out"
    with pytest.raises(InputError, match="was closed on 2027-02-10"):
        add_check(journal, "B1", "fine", NOW)


def test_readings_imported_twice_are_kept_once(journal: Journal) -> None:
    readings = [Reading(datetime(2027, 1, 1, hour), 4.0 + hour / 10) for hour in range(24)]
    assert add_readings(journal, "fridge", readings, NOW).new == 24
    again = add_readings(journal, "fridge", [*readings, Reading(datetime(2027, 1, 2), 4.0)], NOW)
    assert (again.new, again.known) == (1, 24)
    assert add_readings(journal, "cool box", readings, NOW).new == 24


def test_an_impossible_reading_is_refused_with_the_set(journal: Journal) -> None:
    with pytest.raises(InputError, match="temperature 104 is outside -60 to 70"):
        add_readings(journal, "fridge", [Reading(NOW, 4.0), Reading(NOW, 104.0)], NOW)
    assert not journal.rows("SELECT 1 FROM readings")


def test_a_recipe_becomes_treatments_and_moves_on_phase_by_phase(journal: Journal) -> None:
    recipe = Recipe("usual", (CoatStep("scarify"),), (Phase("warm", (30, 60)), Phase("cold", (60, 90))))
    start_batch(journal, a_batch(treatments=treatments_of(recipe, date(2026, 12, 1))), NOW)
    assert next_phase(journal, "B1", NOW, date(2027, 1, 30)) == "cold"
    rows = journal.rows("SELECT kind, started_on, ended_on, reversal FROM treatments ORDER BY position")
    assert [tuple(row) for row in rows] == [
        ("scarify", "2026-12-01", "2026-12-01", None),
        ("warm", "2026-12-01", "2027-01-30", None),
        ("cold", "2027-01-30", None, REVERSAL_TEMPERATURE),
    ]
    assert next_phase(journal, "B1", NOW) == ""
    with pytest.raises(InputError, match="B1 has no running phase"):
        next_phase(journal, "B1", NOW)


def test_a_sowing_and_its_last_count(journal: Journal) -> None:
    start_batch(journal, a_batch(), NOW)
    add_sowing(journal, SowingEntry(date(2027, 1, 5), 50, batch=1, site="slope", viability=0.8), NOW)
    add_sowing(journal, SowingEntry(date(2027, 1, 6), 10, species="Tilia cordata"), NOW)
    add_count(journal, "S1", 5, NOW, date(2027, 2, 1))
    add_count(journal, "s1", 9, NOW)
    first, second = list_sowings(journal)
    assert (first.species, first.emerged, first.counted_on) == ("Asimina triloba", 9, TODAY)
    assert (second.species, second.emerged) == ("Tilia cordata", None)
    with pytest.raises(InputError, match="count 51 is outside 0 to 50, the seeds of S1"):
        add_count(journal, "S1", 51, NOW)
    with pytest.raises(InputError, match="nothing says what was sown"):
        add_sowing(journal, SowingEntry(TODAY, 10), NOW)


def test_undo_takes_back_one_entry_at_a_time_and_keeps_the_history(filled: Journal) -> None:
    entered = [row["text"] for row in entries_of(filled, 100)]
    states = []
    for text in entered:
        states.append({table: filled.rows(f"SELECT * FROM {table}") for table in CONTENT_TABLES})
        assert undo_last(filled, NOW) == text
    assert all(not filled.rows(f"SELECT * FROM {table}") for table in CONTENT_TABLES)
    assert [len(state["checks"]) for state in states] == [2, 2, 2, 2, 1, 0]
    assert len(entries_of(filled, 100)) == 2 * len(entered)
    with pytest.raises(InputError, match="there is no entry to take back"):
        undo_last(filled, NOW)


def test_undo_puts_a_changed_row_back_exactly(filled: Journal) -> None:
    before = content_of(filled)
    close_batch(filled, "B1", "lost", NOW)
    undo_last(filled, NOW)
    after = content_of(filled)
    assert {table: after[table] for table in CONTENT_TABLES} == {table: before[table] for table in CONTENT_TABLES}


def test_a_number_taken_back_is_not_given_again(journal: Journal) -> None:
    assert start_batch(journal, a_batch(), NOW) == 1
    undo_last(journal, NOW)
    assert start_batch(journal, a_batch(), NOW) == 2


def test_an_entry_that_fails_half_way_leaves_nothing(journal: Journal) -> None:
    broken = a_batch(treatments=(COLD, Treatment("")))
    with pytest.raises(InputError, match="refused the entry"):
        start_batch(journal, broken, NOW)
    assert all(not rows for table, rows in content_of(journal).items() if table != "counters")


def test_find_sowing_refuses_an_unknown_one(journal: Journal) -> None:
    with pytest.raises(InputError, match="sowing 'S4' is not in the journal"):
        find_sowing(journal, "S4")
