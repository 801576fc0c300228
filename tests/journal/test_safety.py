"""Nothing confirmed is lost: killed, crowded out, disk full, read-only, damaged, newer, odd names."""

from __future__ import annotations

import os
import resource
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from datetime import date, timedelta
from pathlib import Path

import pytest

from chillplan.errors import InputError
from chillplan.journal import schema, store
from chillplan.journal.entries import start_batch
from chillplan.journal.find import find_batch
from chillplan.journal.safety import KEPT, backups_of
from chillplan.journal.store import Journal, open_journal, read_journal
from tests.journal.samples import NOW, TODAY, a_batch, add_check

TOP = Path(__file__).resolve().parents[2]
WRITER = """
import sys
from datetime import timedelta
from pathlib import Path
from tests.journal.samples import add_check
from chillplan.journal.store import open_journal
from tests.journal.samples import NOW, TODAY
with open_journal(Path(sys.argv[1]), TODAY) as journal:
    for number in range(int(sys.argv[2])):
        add_check(journal, "B1", "fine", NOW, note=f"{sys.argv[3]} {number}")
        print(number, flush=True)
"""


def writer(path: Path, count: int, name: str, **options: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER, str(path), str(count), name]
    return subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **options)  # type: ignore[call-overload,no-any-return]


def sound(path: Path) -> None:
    connection = sqlite3.connect(path)
    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    connection.close()


@pytest.fixture
def begun(tmp_path: Path) -> Path:
    path = tmp_path / "journal.db"
    with open_journal(path, TODAY, create=True) as journal:
        start_batch(journal, a_batch(), NOW)
    return path


def test_killed_at_any_moment_nothing_confirmed_is_lost(begun: Path) -> None:
    confirmed = 0
    written: set[str] = set()
    for attempt, kill_after in enumerate((1, 2, 7, 19, 42, 80, 149)):
        process = writer(begun, 300, f"run {attempt}")
        assert process.stdout is not None
        for _ in range(kill_after):
            written.add(f"run {attempt} {process.stdout.readline().strip()}")
        process.send_signal(signal.SIGKILL)
        written |= {f"run {attempt} {line.strip()}" for line in process.stdout}
        process.wait()
        confirmed += kill_after
        sound(begun)
    with read_journal(begun) as journal:
        notes = {row["note"] for row in journal.rows("SELECT note FROM checks")}
        orphans = journal.rows(
            "SELECT 1 FROM entries e WHERE NOT EXISTS (SELECT 1 FROM changes c WHERE c.entry = e.id)"
        )
    assert confirmed == 300
    assert written <= notes
    assert not orphans


BEGINNER = """
import sys
from datetime import timedelta
from pathlib import Path
from chillplan.journal.entries import start_batch
from chillplan.journal.store import open_journal
from tests.journal.samples import NOW, TODAY, a_batch
print("begun", flush=True)
for day in range(100):
    with open_journal(Path(sys.argv[1]), TODAY + timedelta(day), create=True) as journal:
        start_batch(journal, a_batch(), NOW)
        print(day, flush=True)
"""


@pytest.mark.parametrize("delay", [0.0, 0.004, 0.008, 0.012, 0.05, 0.11])
def test_killed_while_the_file_is_begun_or_backed_up_it_opens_again(tmp_path: Path, delay: float) -> None:
    path = tmp_path / "journal.db"
    command = [sys.executable, "-c", BEGINNER, str(path)]
    process = subprocess.Popen(command, cwd=TOP, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    process.stdout.readline()
    time.sleep(delay)
    process.send_signal(signal.SIGKILL)
    confirmed = len(process.stdout.read().split())
    process.wait()
    with open_journal(path, TODAY + timedelta(200), create=True) as journal:
        assert journal.rows("SELECT count(*) AS n FROM batches")[0]["n"] >= confirmed
    sound(path)
    for backup in backups_of(path):
        sound(backup)
    assert not [entry for entry in tmp_path.iterdir() if ".part" in entry.name]


def test_two_processes_write_in_turn(begun: Path) -> None:
    both = [writer(begun, 60, name) for name in ("left", "right")]
    for process in both:
        _, errors = process.communicate(timeout=60)
        assert process.returncode == 0, errors
    with read_journal(begun) as journal:
        assert journal.rows("SELECT count(*) AS n FROM checks")[0]["n"] == 120
    sound(begun)


def test_a_second_writer_that_waits_too_long_is_told(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "BUSY_TIMEOUT", 0.05)
    with open_journal(begun, TODAY) as first, open_journal(begun, TODAY) as second:
        first.connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(InputError, match="is being written by another chillplan: wait a moment"):
            add_check(second, "B1", "fine", NOW)
        first.connection.execute("ROLLBACK")
        add_check(second, "B1", "fine", NOW)


def test_a_full_disk_refuses_the_entry_and_keeps_the_others(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=900k", "tmpfs", disk], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("a small file system can be mounted by root only")
    try:
        path = disk / "journal.db"
        with open_journal(path, TODAY, create=True) as journal:
            start_batch(journal, a_batch(), NOW)
            confirmed = fill_up(journal)
        assert confirmed > 5
        (disk / f"journal.db.backup-{TODAY}").unlink(missing_ok=True)
        with read_journal(path) as journal:
            assert journal.rows("SELECT count(*) AS n FROM checks")[0]["n"] == confirmed
        sound(path)
    finally:
        subprocess.run(["umount", disk], check=True)


def fill_up(journal: Journal) -> int:
    for confirmed in range(2000):
        try:
            add_check(journal, "B1", "fine", NOW, note="x" * 1500)
        except InputError as error:
            assert "disk is full" in str(error)
            return confirmed
    raise AssertionError("the disk never filled")


def test_a_file_that_may_not_grow_refuses_the_entry_and_keeps_the_others(begun: Path) -> None:
    limit = 200_000
    process = writer(
        begun, 2000, "y" * 1500, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
    )
    output, errors = process.communicate(timeout=60)
    assert process.returncode != 0
    assert "InputError" in errors
    assert "disk is full" in errors
    with read_journal(begun) as journal:
        assert journal.rows("SELECT count(*) AS n FROM checks")[0]["n"] == len(output.split())
    sound(begun)


def test_a_read_only_disk_reads_and_refuses_to_write(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "tmpfs", disk], capture_output=True, check=False).returncode:
        pytest.skip("a file system can be mounted by root only")
    try:
        path = disk / "journal.db"
        with open_journal(path, TODAY, create=True) as journal:
            start_batch(journal, a_batch(), NOW)
        subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
        with read_journal(path) as journal:
            assert find_batch(journal, "B1").species == "Asimina triloba"
        with pytest.raises(InputError, match=r"read-only|cannot be opened"), open_journal(path, TODAY) as journal:
            add_check(journal, "B1", "fine", NOW)
        with pytest.raises(InputError, match=r"cannot be opened|read-only"):
            open_journal(disk / "new.db", TODAY, create=True)
    finally:
        subprocess.run(["umount", disk], check=True)


def test_a_journal_of_a_newer_version_is_refused_untouched(begun: Path) -> None:
    connection = sqlite3.connect(begun)
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    before = begun.read_bytes()
    for opener in (lambda: read_journal(begun), lambda: open_journal(begun, TODAY)):
        with pytest.raises(InputError, match=r"has format 99, written by a newer chillplan .* upgrade"):
            opener()
    assert begun.read_bytes() == before


def test_an_older_journal_is_backed_up_and_converted(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    newer = (*schema.MIGRATIONS, "ALTER TABLE lots ADD COLUMN shelf TEXT NOT NULL DEFAULT 'top';\n")
    monkeypatch.setattr(store, "MIGRATIONS", newer)
    with pytest.raises(InputError, match=f"has the older format {len(schema.MIGRATIONS)}"):
        read_journal(begun)
    with open_journal(begun, TODAY) as journal:
        assert journal.rows("SELECT shelf FROM lots")[0]["shelf"] == "top"
    assert [backup.name.endswith(f"-before-format-{len(newer)}") for backup in backups_of(begun)].count(True) == 1
    with read_journal(begun) as journal:
        assert find_batch(journal, "B1").species == "Asimina triloba"


def test_a_conversion_that_fails_leaves_the_old_format(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    broken = (
        *schema.MIGRATIONS,
        "ALTER TABLE lots ADD COLUMN shelf TEXT;\nALTER TABLE nowhere ADD COLUMN shelf TEXT;\n",
    )
    monkeypatch.setattr(store, "MIGRATIONS", broken)
    with pytest.raises(InputError):
        open_journal(begun, TODAY)
    monkeypatch.undo()
    with open_journal(begun, TODAY) as journal:
        assert "shelf" not in dict(journal.rows("SELECT * FROM lots")[0])


@pytest.mark.parametrize(
    "content", [b"not a database at all, just text\n" * 100, b"SQLite format 3\0" + b"\xff" * 8000]
)
def test_a_file_that_is_no_journal_is_refused_untouched(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "journal.db"
    path.write_bytes(content)
    for opener in (lambda: read_journal(path), lambda: open_journal(path, TODAY)):
        with pytest.raises(InputError, match=r"is damaged or is not a journal .* there is no backup beside it"):
            opener()
    assert path.read_bytes() == content


def test_a_database_of_another_program_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE things (id INTEGER)")
    connection.close()
    with pytest.raises(InputError, match="is a database of another program"):
        open_journal(path, TODAY, create=True)


def test_a_damaged_journal_is_refused_and_its_backup_recovers_it(begun: Path) -> None:
    with open_journal(begun, TODAY) as journal:
        for number in range(100):
            add_check(journal, "B1", "fine", NOW, note="z" * 200 + str(number))
    with open_journal(begun, TODAY + timedelta(1)):
        pass
    newest = backups_of(begun)[-1]
    content = bytearray(begun.read_bytes())
    content[3 * 4096 : 20 * 4096] = os.urandom(17 * 4096)
    begun.write_bytes(content)
    with pytest.raises(InputError, match=f"is damaged .* copy '{newest.name}' from the same folder"):
        open_journal(begun, TODAY)
    assert begun.read_bytes() == bytes(content)
    begun.write_bytes(newest.read_bytes())
    with open_journal(begun, TODAY) as journal:
        assert journal.rows("SELECT count(*) AS n FROM checks")[0]["n"] == 100


def test_backups_are_made_once_a_day_and_rotate(begun: Path) -> None:
    for day in range(2 * KEPT):
        for _ in range(2):
            with open_journal(begun, date(2027, 3, 1) + timedelta(day)) as journal:
                add_check(journal, "B1", "fine", NOW)
    kept = backups_of(begun)
    assert [entry.name for entry in kept] == [
        f"journal.db.backup-2027-03-{day:02d}" for day in range(KEPT + 1, 2 * KEPT + 1)
    ]
    sound(kept[-1])


def test_half_written_backups_are_no_backups_and_go_the_next_day(begun: Path) -> None:
    left = [begun.with_name(f"{begun.name}.backup-{TODAY}.77.part{end}") for end in ("", "-journal")]
    for path in left:
        path.write_bytes(b"half")
    with open_journal(begun, TODAY):
        assert [backup.name for backup in backups_of(begun)] == [f"{begun.name}.backup-{TODAY}"]
    assert all(path.exists() for path in left)
    with open_journal(begun, TODAY + timedelta(1)):
        assert not any(path.exists() for path in left)


@pytest.mark.parametrize("name", ["it's a journal.db", 'with "quotes" #1?.db', "журнал 2027%20.db", "[a]*.db", "עץ.db"])
def test_any_file_name_works(tmp_path: Path, name: str) -> None:
    path = tmp_path / "a folder with spaces" / name
    with open_journal(path, TODAY, create=True) as journal:
        start_batch(journal, a_batch(), NOW)
    with open_journal(path, TODAY + timedelta(1)) as journal:
        add_check(journal, "B1", "fine", NOW)
    with read_journal(path) as journal:
        assert find_batch(journal, "B1").number == 1
    assert {entry.name for entry in path.parent.iterdir()} == {name, f"{name}.backup-{TODAY + timedelta(1)}"}


def test_a_missing_journal_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not there: check --journal, or begin one"):
        read_journal(tmp_path / "none.db")
    with pytest.raises(InputError, match="is not there"):
        open_journal(tmp_path / "none.db", TODAY)
    with pytest.raises(InputError, match="is a folder: give the name of a file"):
        open_journal(tmp_path, TODAY)


def test_an_entry_holds_the_only_pen_from_its_first_word(begun: Path) -> None:
    """Whoever reads, decides and then writes must not find that another wrote in between (SQLite: BEGIN IMMEDIATE)."""
    with open_journal(begun, TODAY) as journal, journal.entry("held", NOW):
        pass
    with open_journal(begun, TODAY) as journal:
        said: list[str] = []
        journal.connection.set_trace_callback(said.append)
        with journal.entry("held", NOW):
            pass
    assert said[0] == "BEGIN IMMEDIATE"


def test_a_confirmed_entry_is_on_the_disk(begun: Path) -> None:
    """SQLite's own words: with FULL (2) in WAL mode the log is synced at every commit; with less it may be lost."""
    with open_journal(begun, TODAY) as journal:
        assert journal.rows("PRAGMA synchronous")[0][0] == 2
        assert journal.rows("PRAGMA journal_mode")[0][0] == "wal"


def test_damage_deep_in_the_file_is_found_before_it_is_backed_up(begun: Path) -> None:
    with open_journal(begun, TODAY) as journal:
        for number in range(100):
            add_check(journal, "B1", "fine", NOW, note="z" * 200 + str(number))
        leaves = journal.rows("SELECT pageno FROM dbstat WHERE name = 'checks' AND pagetype = 'leaf'")
    content = bytearray(begun.read_bytes())
    start = (leaves[-1]["pageno"] - 1) * 4096
    content[start : start + 4096] = os.urandom(4096)
    begun.write_bytes(content)
    before = backups_of(begun)
    with pytest.raises(InputError, match="is damaged"):
        open_journal(begun, TODAY + timedelta(1))
    assert backups_of(begun) == before


def test_a_backup_is_on_the_disk_before_it_takes_its_name(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    sync, rename = os.fsync, Path.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (done.append("synced"), sync(handle))[1])
    monkeypatch.setattr(Path, "replace", lambda path, target: (done.append("named"), rename(path, target))[1])
    with open_journal(begun, TODAY + timedelta(1)):
        pass
    assert done == ["synced", "named"]


def test_an_entry_is_on_the_disk_whatever_sqlite_was_built_to_do(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """SQLite can be compiled to sync less in WAL mode (its option SQLITE_DEFAULT_WAL_SYNCHRONOUS)."""
    plain = store._connect

    def built_to_sync_less(path: Path, mode: str) -> sqlite3.Connection:
        connection = plain(path, mode)
        connection.execute("PRAGMA synchronous = NORMAL")
        return connection

    monkeypatch.setattr(store, "_connect", built_to_sync_less)
    with open_journal(begun, TODAY) as journal:
        assert journal.rows("PRAGMA synchronous")[0][0] == 2


def test_two_that_convert_at_once_convert_once(begun: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second waits until the first is done, then finds that there is nothing left to do."""
    added = "ALTER TABLE lots ADD COLUMN shelf TEXT NOT NULL DEFAULT 'top';\n"
    newer = (*schema.MIGRATIONS, added)
    first = sqlite3.connect(begun, isolation_level=None, check_same_thread=False)
    first.execute("BEGIN IMMEDIATE")
    first.execute(added)
    first.execute(f"PRAGMA user_version = {len(newer)}")
    monkeypatch.setattr(store, "MIGRATIONS", newer)
    waiting = threading.Timer(0.5, first.execute, ("COMMIT",))
    connection = store._connect(begun, "rw")
    first_asked = connection.execute("PRAGMA user_version").fetchone()[0]
    waiting.start()
    store._convert(connection)
    waiting.join()
    assert first_asked == len(schema.MIGRATIONS)
    assert connection.execute("PRAGMA user_version").fetchone()[0] == len(newer)
    assert [row["name"] for row in connection.execute("PRAGMA table_info(lots)")].count("shelf") == 1
    connection.close()
    first.close()
