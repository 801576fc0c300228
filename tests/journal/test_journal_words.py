"""What a grower reads where the journal refuses, word by word, and that nothing is written then."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest

from chillplan.errors import InputError
from chillplan.journal import schema, store
from chillplan.journal.entries import add_count, add_sowing, close_batch, next_phase, start_batch
from chillplan.journal.exchange import content_of
from chillplan.journal.find import find_batch, find_sowing
from chillplan.journal.logger_read import parse_logger
from chillplan.journal.outcomes import Outcome, Standing, learned_requirements, record_learned
from chillplan.journal.records import SowingEntry, checked_setting, clean_text
from chillplan.journal.safety import explained
from chillplan.journal.schema import APPLICATION_ID, MIGRATIONS
from chillplan.journal.store import Journal, open_journal, read_journal, undo_entry, undo_last
from chillplan.seeds.learning import Learned, Lesson
from tests.journal.samples import NOW, TODAY, a_batch, add_check

TOMORROW = TODAY + timedelta(1)
WRITTEN = "is being written by another chillplan: wait a moment and enter it again"
NO_PERMISSION = "cannot be opened: you have no permission for it"


def refusal(do: Callable[[], object]) -> tuple[str, ...]:
    with pytest.raises(InputError) as refused:
        do()
    return refused.value.problems


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (sqlite3.SQLITE_BUSY, WRITTEN),
        (sqlite3.SQLITE_BUSY_SNAPSHOT, WRITTEN),
        (sqlite3.SQLITE_LOCKED, WRITTEN),
        (
            sqlite3.SQLITE_READONLY_DBMOVED,
            "is read-only, nothing was recorded: change the permission of the file and its folder, or pass another "
            "with --journal",
        ),
        (
            sqlite3.SQLITE_IOERR_WRITE,
            "could not be written or read (disk error, or the disk is full), nothing of this entry was recorded: check "
            "the disk and enter it again",
        ),
        (
            sqlite3.SQLITE_FULL,
            "could not be written, the disk is full, nothing of this entry was recorded: free some space and enter it "
            "again; earlier entries are safe",
        ),
        (sqlite3.SQLITE_CANTOPEN, "cannot be opened: check that the folder exists and that you may write in it"),
        (sqlite3.SQLITE_PERM, NO_PERMISSION),
        (sqlite3.SQLITE_AUTH, NO_PERMISSION),
        (sqlite3.SQLITE_TOOBIG, "refused the entry (why): nothing was recorded; check the values"),
        (None, "refused the entry (why): nothing was recorded; check the values"),
    ],
)
def test_each_trouble_of_the_file_is_told_with_a_way_out(code: int | None, words: str) -> None:
    def broken() -> None:
        with explained(Path("seed.db")):
            error = sqlite3.OperationalError("why")
            error.sqlite_errorcode = code  # type: ignore[assignment]
            raise error

    assert refusal(broken) == (f"journal 'seed.db' {words}",)


def test_a_path_is_shown_whole_up_to_300_letters() -> None:
    def broken(path: Path) -> None:
        with explained(path):
            raise sqlite3.OperationalError("why")

    longest = "s" * 297 + ".db"
    assert refusal(lambda: broken(Path(longest)))[0].startswith(f"journal '{longest}' refused")
    assert refusal(lambda: broken(Path(f"x{longest}")))[0].startswith(f"journal '…{longest}' refused")


@pytest.fixture
def begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    with open_journal(Path("seed.db"), TODAY, create=True) as journal:
        start_batch(journal, a_batch(), NOW)
    return Path("seed.db")


LEFT = "it was left as it is;"


def test_a_file_that_is_no_journal(begun: Path) -> None:
    damaged = f"journal 'seed.db' is damaged or is not a journal (file is not a database); {LEFT}"
    begun.write_bytes(b"seed" * 1000)
    assert refusal(lambda: read_journal(begun)) == (
        f"{damaged} there is no backup beside it: restore it from a copy, or import an earlier export into a new "
        "journal",
    )
    Path("seed.db.backup-2027-01-02").touch()
    Path("seed.db.backup-2027-01-03").touch()
    Path("seed.db.backup-2027-01-04.7.part").touch()
    assert refusal(lambda: read_journal(begun)) == (
        f"{damaged} to recover, move it away together with the files ending in -wal and -shm, then copy "
        "'seed.db.backup-2027-01-03' from the same folder to its name",
    )


def test_a_journal_of_another_time_or_program(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def marked(pragma: str, value: int) -> None:
        connection = sqlite3.connect(begun)
        connection.execute(f"PRAGMA {pragma} = {value}")
        connection.close()

    known = len(MIGRATIONS)
    marked("user_version", known + 1)
    assert refusal(lambda: open_journal(begun, TODAY)) == (
        f"journal 'seed.db' has format {known + 1}, written by a newer chillplan (this one reads up to {known}): "
        "upgrade chillplan; the file was left as it is",
    )
    marked("user_version", known)
    marked("application_id", APPLICATION_ID + 1)
    assert refusal(lambda: open_journal(begun, TODAY)) == (
        "'seed.db' is a database of another program, not a journal: pass another --journal",
    )
    marked("application_id", APPLICATION_ID)
    monkeypatch.setattr(store, "MIGRATIONS", (*schema.MIGRATIONS, "SELECT 1;\n"))
    assert refusal(lambda: read_journal(begun)) == (
        f"journal 'seed.db' has the older format {known}: make any entry on a disk that can be written to convert it",
    )


def test_a_journal_that_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    gone = "journal 'seed.db' is not there: check --journal, or begin one with `chillplan batch start`"
    assert refusal(lambda: read_journal(Path("seed.db"))) == (gone,)
    assert refusal(lambda: open_journal(Path("seed.db"), TODAY)) == (gone,)
    Path("seed.db").touch()
    assert refusal(lambda: read_journal(Path("seed.db"))) == (gone,)
    Path("here").mkdir()
    assert refusal(lambda: read_journal(Path("here"))) == (
        "journal 'here' is a folder: give the name of a file with --journal",
    )
    assert refusal(lambda: open_journal(Path("seed.db/under/seed.db"), TODAY, create=True)) == (
        "folder 'seed.db/under' cannot be made: Not a directory; pass another --journal",
    )


def test_a_backup_that_cannot_be_written_is_told_and_the_entry_is_not_lost(
    begun: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store, "back_up", full)
    with open_journal(begun, TODAY) as journal:
        add_check(journal, "B1", "fine", NOW)
        assert journal.notes == [
            "the backup of 'seed.db' could not be written ([Errno 28] No space left on device): free some space"
        ]
        assert len(journal.rows("SELECT 1 FROM checks")) == 1


def test_taking_back(journal: Journal) -> None:
    nothing = "there is no entry to take back: the journal is empty, or everything was taken back already"
    assert refusal(lambda: undo_last(journal, NOW)) == (nothing,)
    start_batch(journal, a_batch(), NOW)
    close_batch(journal, "B1", "lost", NOW)
    assert refusal(lambda: undo_entry(journal, 1, NOW)) == (
        "'start a batch of Asimina triloba' is built on by the later entry 'close B1: lost': take that back first",
    )
    assert undo_last(journal, NOW) == "close B1: lost"
    add_check(journal, "B1", "fine", NOW)
    assert refusal(lambda: undo_entry(journal, 1, NOW)) == (
        "later entries belong to 'start a batch of Asimina triloba': take those back first",
    )
    assert len(journal.rows("SELECT 1 FROM checks")) == 1
    assert undo_last(journal, NOW) == "check B1: fine"
    assert undo_last(journal, NOW) == "start a batch of Asimina triloba"
    assert refusal(lambda: undo_last(journal, NOW)) == (nothing,)


START = date(2026, 12, 1)
ENTERED: list[tuple[Callable[[Journal], object], tuple[str, ...]]] = [
    (
        lambda journal: start_batch(journal, a_batch(label="tub"), NOW),
        ("label 'tub' is already used: choose another",),
    ),
    (
        lambda journal: start_batch(
            journal,
            a_batch(
                species=" ",
                place="",
                label="b12",
                note="x\a",
                source="s" * 2_001,
                started_on=TOMORROW,
                set_temperature=400.0,
                seeds=0,
                check_every=61,
                year=TODAY.year + 1,
                plant_out=TODAY,
            ),
            NOW,
        ),
        (
            "species is empty: give a text",
            f"source '{'s' * 60}' … (2001 characters) is longer than 2000 characters: shorten it",
            "place is empty: give a text",
            "note 'x ' holds control characters: type it again",
            f"start {TOMORROW} is in the future (today is {TODAY}): enter what has happened",
            "set temperature 400 is outside -30 to 45: check the value and its unit",
            "seeds 0 is outside 1 to 100000000: check the value",
            "check-every 61 is outside 1 to 60: check the value",
            f"year {TODAY.year + 1} is outside 1900 to {TODAY.year}: check the value",
            f"plant-out {TODAY} is before the start {TOMORROW}: check both dates",
            "label 'b12' reads like a batch number: use a name with other letters",
        ),
    ),
    (
        lambda journal: add_check(journal, "tub", "good", NOW),
        ("finding 'good' is not known: use one of fine, dry, mould, sprouted",),
    ),
    (
        lambda journal: add_check(journal, "tub", "sprouted", NOW),
        ("sprouted needs the number of seeds: for example `sprouted 7`",),
    ),
    (
        lambda journal: add_check(journal, "tub", "fine", NOW, sprouted=3),
        ("number 3 after fine is not needed: give it after sprouted only",),
    ),
    (
        lambda journal: add_check(journal, "tub", "sprouted", NOW, sprouted=0),
        ("sprouted 0 is not a number of seeds: give 1 or more, or enter fine",),
    ),
    (
        lambda journal: add_check(journal, "tub", "sprouted", NOW, sprouted=201),
        ("sprouted 201 is more than the 200 seeds of B1: check the number",),
    ),
    (
        lambda journal: add_check(journal, "tub", "sprouted", NOW, sprouted=2, stage="leaf"),
        ("stage 'leaf' is not known: use one of root tip, root, shoot",),
    ),
    (
        lambda journal: add_check(journal, "B1", "fine", NOW, day=START - timedelta(1)),
        ("check 2026-11-30 is before the start of B1 2026-12-01: check the date",),
    ),
    (lambda journal: find_batch(journal, " B9 "), ("batch 'B9' is not in the journal: see `chillplan batch list`",)),
    (lambda journal: find_sowing(journal, "S9"), ("sowing 'S9' is not in the journal: see `chillplan batch list`",)),
    (
        lambda journal: add_check(journal, "B2", "fine", NOW),
        ("B2 (Tilia cordata) was closed on 2027-02-10: nothing was recorded; undo that first",),
    ),
    (
        lambda journal: next_phase(journal, "B3", NOW),
        ("B3 has no running phase: see `chillplan batch list B3`",),
    ),
    (
        lambda journal: add_sowing(journal, SowingEntry(TOMORROW, 0, viability=1.1, depth_cm=51.0), NOW),
        (
            f"date {TOMORROW} is in the future (today is {TODAY}): enter what has happened",
            "seeds 0 is outside 1 to 100000000: check the value",
            "viability 1.1 is outside 0 to 1: check the value and its unit",
            "depth 51 is outside 0 to 50: check the value and its unit",
            "nothing says what was sown: give a batch such as B12, or --species",
        ),
    ),
    (
        lambda journal: add_count(journal, "S1", -1, NOW),
        ("count -1 is outside 0 to 40, the seeds of S1: count again",),
    ),
    (
        lambda journal: add_count(journal, "S1", 4, NOW, TODAY - timedelta(1)),
        (f"count {TODAY - timedelta(1)} is before the sowing of S1 {TODAY}: check the date",),
    ),
]


@pytest.mark.parametrize("case", range(len(ENTERED)))
def test_a_wrong_entry_is_refused_and_leaves_the_journal_as_it_was(journal: Journal, case: int) -> None:
    start_batch(journal, a_batch(label="tub"), NOW)
    start_batch(journal, a_batch(species="Tilia cordata"), NOW)
    close_batch(journal, "B2", "lost", NOW)
    start_batch(journal, a_batch(treatments=()), NOW)
    add_sowing(journal, SowingEntry(TODAY, 40, species="Tilia cordata"), NOW)
    before = content_of(journal)
    do, words = ENTERED[case]
    assert refusal(lambda: do(journal)) == words
    assert content_of(journal) == before


def test_values_at_their_bounds_are_taken(journal: Journal) -> None:
    for values in (
        {"seeds": 1, "check_every": 1, "year": 1900, "set_temperature": -30.0, "plant_out": START},
        {"seeds": 100_000_000, "check_every": 60, "year": TODAY.year, "set_temperature": 45.0, "started_on": TODAY},
    ):
        start_batch(journal, a_batch(**values), NOW)
    add_check(journal, "B1", "sprouted", NOW, sprouted=1, day=START)
    assert (checked_setting(-30.0), clean_text("note", " a\n\tb ")) == (-30.0, "a\n\tb")
    assert len(clean_text("note", "n" * 2_000)) == 2_000
    sowing = add_sowing(journal, SowingEntry(TODAY, 1, species="Tilia", viability=1.0, depth_cm=50.0), NOW)
    assert add_count(journal, f"S{sowing}", 1, NOW, TODAY) == add_count(journal, f"S{sowing}", 0, NOW) == sowing


LOGGED: list[tuple[str, dict[str, str], str]] = [
    ("hello\n", {}, "'box.csv' is not a table: give a CSV file with a time and a temperature in each row"),
    ("a,b\n1,2\n", {}, "'box.csv' holds no column of dates: check that it is the logger's export"),
    ("time,name\n2027-01-30,x\n", {}, "'box.csv' holds no column of temperatures: name it with --column"),
    (
        "time,in °C,out °C\n2027-01-30,1,9\n2027-01-31,4,2\n",
        {},
        "'box.csv' holds several columns that may be the temperature (in °C, out °C): name one with --column",
    ),
    (
        "2027-01-30,1.5,9\n2027-01-31,4,2\n",
        {},
        "'box.csv' holds several columns that may be the temperature (number 2, number 3): name one with --column",
    ),
    ("time,t\n2027-01-30,4\n", {"column": "cellar"}, "column 'cellar' is not in 'box.csv': use one of time, t"),
    ("2027-01-30,4\n", {"column": "3"}, "column '3' is not in 'box.csv': use one of 1 to 2"),
    ("2027-01-30,4\n", {"column": "0"}, "column '0' is not in 'box.csv': use one of 1 to 2"),
    ("time,t\n2027-01-30,4\n", {"unit": "R"}, "unit 'R' is not known: use C, F or K"),
    (
        "time,t\n2027-01-30,4\n",
        {"date_order": "week first"},
        "date order 'week first' is not known: use one of day first, month first, year first",
    ),
    (
        "time,name\n2027-01-30,x\n2027-01-31,y\n",
        {"column": "name"},
        "'box.csv' holds no temperatures: check that it is the logger's export",
    ),
    (
        "Datum,Temp\n2027-01-30 23:30,4,5\n2027-01-31 00:00,5,0\n",
        {},
        "'box.csv' has rows of 3 cells under a header of 2: if its numbers have decimal commas, save it with "
        "semicolons between the cells",
    ),
    (
        "time,t °C\n2027-01-30 08:00,70\n2027-01-31 08:00,70.1\n2027-02-01 08:00,-61\n",
        {},
        "'box.csv' holds 70.1 °C at 2027-01-31 08:00 and 1 more outside -60 to 70 °C: check the unit and the column",
    ),
    (
        "time,t\n03/02/2027 10:00,4\n03/02/2027 12:00,5\n",
        {},
        "dates such as '03/02/2027 10:00' in 'box.csv' can be read both ways: pass --date-order 'day first', 'month "
        "first' or 'year first'",
    ),
]


@pytest.mark.parametrize(("text", "options", "words"), LOGGED)
def test_a_loggers_file_that_is_not_understood(text: str, options: dict[str, str], words: str) -> None:
    assert refusal(lambda: parse_logger(text, "box.csv", **options)) == (words,)


BESIDE = "Humidity,RH,%,Dew point,Taupunkt,Point de rosée,Volt,Battery,Lux,Light,Pressure,CO2,Limit,Set point"


@pytest.mark.parametrize("title", [*BESIDE.split(","), "High alarm", "Low alarm"])
@pytest.mark.parametrize("own", ["reading", "temp °C"])
def test_a_column_of_something_else_is_not_taken_for_the_temperature(title: str, own: str) -> None:
    """Neither beside a column that says it is the temperature nor beside one that says nothing, of either side."""
    for beside in (title, f"{title} °C"):
        for header, row in ((f"{own},{beside}", "4.5,81"), (f"{beside},{own}", "81,4.5")):
            text = f"time,{header}\n2027-01-30 08:00,{row}\n2027-01-30 09:00,{row}\n"
            record = parse_logger(text)
            assert [reading.temperature for reading in record.readings] == [4.5, 4.5]
            assert record.notes[0] == f"temperature from '{own}'"


SIZE = "no unit in the header: taken for °{} by the size of the values"


@pytest.mark.parametrize(
    ("text", "notes"),
    [
        ("time,t °C\n2027-01-30,4\n", ["temperature from 't °C'"]),
        ("2027-01-30,28\n", ["temperature from 'column 2'", SIZE.format("C")]),
        ("2027-01-30,28.1\n", ["temperature from 'column 2'", SIZE.format("F")]),
        ("time,t °F\n2027-01-30,40\n", ["temperature from 't °F'", "converted from °F"]),
        ("time,t [K]\n2027-01-30,277\n", ["temperature from 't [K]'", "converted from kelvin"]),
        ("time,t °C\n30/01/2027,4\n", ["temperature from 't °C'", "dates read day first"]),
        ("time,t °C\n01/30/2027,4\n", ["temperature from 't °C'", "dates read month first"]),
        (
            "time,t °C\n01/02/2027,4\n02/02/2027,4\n03/02/2027,4\n",
            ["temperature from 't °C'", "dates read day first, which puts the rows in order of time"],
        ),
        (
            "time,t °C\n03.02.2027 10:00,4\n03.02.2027 12:00,5\n",
            [
                "temperature from 't °C'",
                "dates could be read both ways: taken day first, as usual with this separator",
            ],
        ),
        (
            "time;t °C\n03/02/2027;4\n03/02/2027;5\n",
            [
                "temperature from 't °C'",
                "dates could be read both ways: taken day first, as usual with this separator",
            ],
        ),
    ],
)
def test_what_was_decided_of_a_loggers_file(text: str, notes: list[str]) -> None:
    assert list(parse_logger(text).notes) == notes


def test_what_was_learned_is_kept_to_a_tenth_of_a_day_and_told_apart(journal: Journal) -> None:
    """The newest of a site stands; a correlation with the site's error beyond what the lesson allows is said."""

    def learn(mean: float, correlation: float, site: str = "slope") -> None:
        lesson = Lesson(61.25 + mean, 91.34 + mean, 70.0 + mean, 8.0, 75.0, 12.0, correlation, 0.9, (0.5,))
        learned = Learned(0.0, 0.5, {"Tilia cordata": lesson})
        counts = [
            Outcome(code, "Tilia cordata", TODAY, TODAY, seeds, seeds, 5, ()) for code, seeds in (("S1", 40), ("S2", 9))
        ]
        record_learned(journal, site, learned, {"Tilia cordata": (60.0, 90.0)}, {"Tilia cordata": counts}, NOW)

    learn(9.0, 0.0)
    learn(0.02, 0.99)
    learn(5.0, 0.0, site="")
    assert [row["text"] for row in journal.rows("SELECT text FROM entries ORDER BY id")] == [
        "learn at slope: Tilia cordata",
        "learn at slope: Tilia cordata",
        "learn at the site: Tilia cordata",
    ]
    mixed = "mean 70 days, standard deviation 8; not told apart from an error of the site"
    assert learned_requirements(journal, "slope") == {
        "Tilia cordata": Standing("Tilia cordata", (61.3, 91.4), (60.0, 90.0), TODAY, 2, 49, mixed)
    }
    assert learned_requirements(journal, "")["Tilia cordata"].note == "mean 75 days, standard deviation 8"
