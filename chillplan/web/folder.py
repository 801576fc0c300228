"""The folder a plan is written to: everything or nothing."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import shutil
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

from chillplan.advice.result import Plan
from chillplan.errors import InputError, quoted
from chillplan.report.contract import plan_json
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.report.rows import csv_text
from chillplan.report.when_words import way_words

__all__ = ["FILES", "tasks_csv", "write_report", "write_whole"]

FILES = ("report.html", "calendar.ics", "labels.pdf", "tasks.csv", "plan.json")


def tasks_csv(plan: Plan) -> str:
    """One row a task; dates as ISO 8601 says, so that any spreadsheet sorts them; no cell is run as a formula.

    ``way`` is filled where a species can go either way and one of the two is to be done.
    """
    names = {advice.species.name: advice.species.common_name for advice in plan.species}
    header = ("from", "to", "where", "species", "common_name", "what", "minutes", "label", "way")
    rows = (
        (
            task.date_from,
            task.date_to,
            task.place,
            task.species,
            names.get(task.species, ""),
            task.action,
            task.minutes,
            task.label,
            way_words(plan, task),
        )
        for task in plan.tasks
    )
    return csv_text(header, rows)


def write_report(
    plan: Plan, source: Source, folder: Path, reader: Reader, paper: str = "a4", grid: str = "2x4"
) -> tuple[Path, ...]:
    """Write report, calendar, labels, tasks and numbers.

    Parameters
    ----------
    folder : pathlib.Path
        Made where it is not there; files of an earlier report in it are replaced, others are left alone.
    paper, grid : str
        Of the label sheets.

    Returns
    -------
    tuple of pathlib.Path
        Files written, in the order of `FILES`.

    Raises
    ------
    InputError
        If the folder cannot be written to or the disk is full; nothing is left half-written then.
    """
    from chillplan.report.label_sheet import sheet_for

    sheet = sheet_for(paper, grid)
    if folder.exists() and not folder.is_dir():
        raise InputError(f"--out {quoted(folder)} is a file, not a folder: give another name")
    contents = _contents(plan, source, reader, sheet)
    try:
        return _write_all(folder, contents)
    except OSError as error:
        raise InputError(_words(folder, error)) from error


def _contents(plan: Plan, source: Source, reader: Reader, sheet: object) -> dict[str, Callable[[], bytes]]:
    from chillplan.report.calendar import calendar_bytes
    from chillplan.report.label_sheet import Sheet, labels_pdf
    from chillplan.report.labels import labels_of

    assert isinstance(sheet, Sheet)
    return {
        "report.html": partial(_page, plan, source, reader),
        "calendar.ics": partial(calendar_bytes, plan, source, reader),
        "labels.pdf": partial(labels_pdf, labels_of(plan, reader), sheet),
        "tasks.csv": partial(_spreadsheet, plan),
        "plan.json": partial(_numbers, plan, source),
    }


def _page(plan: Plan, source: Source, reader: Reader) -> bytes:
    from chillplan.web.facts import page_facts
    from chillplan.web.page import page_html

    return page_html(plan, source, reader, page_facts(plan, source, reader)).encode()


def _spreadsheet(plan: Plan) -> bytes:
    return tasks_csv(plan).encode("utf-8-sig")


def _numbers(plan: Plan, source: Source) -> bytes:
    return (json.dumps(plan_json(plan, source), ensure_ascii=False, indent=1) + "\n").encode()


def _write_all(folder: Path, contents: dict[str, Callable[[], bytes]]) -> tuple[Path, ...]:
    """Into a temporary folder beside the goal, then moved; whatever stops it, that folder is removed."""
    made = [parent for parent in (folder, *folder.parents) if not parent.exists()]
    folder.parent.mkdir(parents=True, exist_ok=True)
    done = False
    waiting = Path(tempfile.mkdtemp(prefix=f".{folder.name[:40]}-", dir=folder.parent))
    try:
        for name in FILES:
            with (waiting / name).open("wb") as file:
                file.write(contents[name]())
                file.flush()
                os.fsync(file.fileno())
        waiting.chmod(0o755)
        _move(waiting, folder)
        done = True
    finally:
        shutil.rmtree(waiting, ignore_errors=True)
        if not done:
            for parent in made:
                with contextlib.suppress(OSError):
                    parent.rmdir()
    return tuple(folder / name for name in FILES)


def _move(waiting: Path, folder: Path) -> None:
    """Put the finished files in place; where one cannot be, those already moved are put back."""
    if not folder.exists():
        waiting.rename(folder)
        return
    kept: dict[str, bool] = {}
    aside = waiting / "before"
    aside.mkdir()
    try:
        for name in FILES:
            there = (folder / name).exists()
            if there:
                (folder / name).replace(aside / name)
            kept[name] = there
            (waiting / name).replace(folder / name)
    except BaseException:
        for name, there in kept.items():
            with contextlib.suppress(OSError):
                if there:
                    (aside / name).replace(folder / name)
                else:
                    (folder / name).unlink(missing_ok=True)
        raise


def _words(folder: Path, error: OSError) -> str:
    if error.errno == errno.ENOSPC:
        return f"the disk of --out {quoted(folder)} is full: free some space (about 5 MB); nothing was written"
    reason = error.strerror or type(error).__name__
    return f"--out {quoted(folder)} cannot be written to ({reason}): give a folder of your own; nothing was written"


def write_whole(path: Path, content: bytes) -> None:
    """Write one file whole, or leave what is there.

    Raises
    ------
    InputError
        If it cannot be written.
    """
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        temporary.write_bytes(content)
        temporary.replace(path)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise InputError(f"{quoted(path)} cannot be written ({reason}): give another name with --out") from error
    finally:
        temporary.unlink(missing_ok=True)
