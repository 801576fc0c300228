"""All files or none."""

from __future__ import annotations

import csv
import errno
import io
import json
import os
from pathlib import Path

import pytest

from chillplan.advice.result import Plan
from chillplan.errors import InputError
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.web import folder as folder_module
from chillplan.web.folder import FILES, tasks_csv, write_report


def test_five_files_and_nothing_else(plan: Plan, source: Source, tmp_path: Path) -> None:
    out = tmp_path / "new" / "plan"
    written = write_report(plan, source, out, Reader())
    assert [path.name for path in written] == list(FILES)
    assert sorted(path.name for path in out.iterdir()) == sorted(FILES)
    assert [path.name for path in out.parent.iterdir()] == ["plan"]
    assert (out / "report.html").stat().st_size <= 5_000_000
    assert json.loads((out / "plan.json").read_text(encoding="utf-8"))["schema"] == 1
    assert (out / "calendar.ics").read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
    assert (out / "labels.pdf").read_bytes().startswith(b"%PDF-")


def test_the_same_plan_gives_the_same_bytes(plan: Plan, source: Source, tmp_path: Path) -> None:
    first = write_report(plan, source, tmp_path / "a", Reader())
    second = write_report(plan, source, tmp_path / "b", Reader())
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


def test_an_earlier_report_is_replaced_and_other_files_are_left(plan: Plan, source: Source, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    (tmp_path / "tasks.csv").write_text("old", encoding="utf-8")
    write_report(plan, source, tmp_path, Reader())
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "mine"
    assert (tmp_path / "tasks.csv").read_text(encoding="utf-8") != "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([*FILES, "notes.txt"])


@pytest.mark.parametrize("stop", [OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), KeyboardInterrupt()])
@pytest.mark.parametrize("at", [0, 2, 4])
def test_nothing_is_left_when_writing_stops(
    plan: Plan, source: Source, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: BaseException, at: int
) -> None:
    count = iter(range(100))

    def fsync(_: int) -> None:
        if next(count) == at:
            raise stop

    monkeypatch.setattr(folder_module.os, "fsync", fsync)
    expected = InputError if isinstance(stop, OSError) else KeyboardInterrupt
    with pytest.raises(expected) as caught:
        write_report(plan, source, tmp_path / "deep" / "plan", Reader())
    if expected is InputError:
        assert "is full: free some space" in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_an_earlier_report_survives_a_stop_while_files_are_moved(
    plan: Plan, source: Source, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_report(plan, source, tmp_path, Reader())
    before = {name: (tmp_path / name).read_bytes() for name in FILES}
    replace, moved = Path.replace, iter(range(100))

    def failing(self: Path, target: Path) -> Path:
        if next(moved) == 5:
            raise OSError(errno.EIO, "input/output error")
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(InputError, match="cannot be written to"):
        write_report(plan, source, tmp_path, Reader(dates="iso"))
    monkeypatch.undo()
    assert {name: (tmp_path / name).read_bytes() for name in FILES} == before
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(FILES)


def test_a_folder_that_cannot_be_written_to_is_told(plan: Plan, source: Source, tmp_path: Path) -> None:
    if os.geteuid() == 0:
        target = Path("/proc/nowhere")  # the superuser can write anywhere but here
    else:
        tmp_path.chmod(0o500)
        target = tmp_path / "plan"
    with pytest.raises(InputError, match=r"cannot be written to .* give a folder of your own"):
        write_report(plan, source, target, Reader())


def test_a_file_in_the_place_of_the_folder_is_told(plan: Plan, source: Source, tmp_path: Path) -> None:
    (tmp_path / "plan").write_text("a file", encoding="utf-8")
    with pytest.raises(InputError, match="is a file, not a folder"):
        write_report(plan, source, tmp_path / "plan", Reader())


def test_tasks_open_as_text_in_a_spreadsheet(nasty_plan: Plan) -> None:
    rows = list(csv.DictReader(io.StringIO(tasks_csv(nasty_plan))))
    assert len(rows) == len(nasty_plan.tasks)
    for row in rows:
        for cell in row.values():
            assert not cell.startswith(("=", "+", "-", "@", "\t"))
    assert "'=HYPERLINK(1)" in {row["species"] for row in rows}
