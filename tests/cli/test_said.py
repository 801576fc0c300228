"""Whole answers: every file of ``said/`` is a session in an empty folder, each command with all that it says.

A line ``$ chillplan …`` is a command; below it stands its output, what goes to standard error behind ``! ``, and the
exit code in brackets where it is not 0. ``> FILE`` behind a command keeps its output in a file instead. ``$ cat FILE``
shows a file; ``$ write FILE`` makes one of the lines below it, up to an empty one. ``record.csv`` is invented weather,
``valley.csv`` the same two degrees colder, for two years, ``garden.csv`` has a soil thermometer; the session
``stations`` has a source of weather on loopback.

To write the answers anew where a change is right: CHILLPLAN_WRITE_README=1 python -m pytest tests/cli/test_said.py
"""

from __future__ import annotations

import os
import shlex
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest

from tests.cli.command import chillplan, written_record
from tests.seasons.test_calibrate import TRUTH, made

SESSIONS = sorted((Path(__file__).parent / "said").glob("*.txt"))
EMPTY = "."  # stands for an empty line of an output


def steps(text: str) -> list[tuple[str, list[str]]]:
    """Commands with the lines below each."""
    found: list[tuple[str, list[str]]] = []
    for line in text.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        elif found:
            found[-1][1].append(line)
    return found


def said(command: str, below: list[str]) -> list[str]:
    """What a command says now, as the file has it."""
    command, _, target = command.partition(" > ")
    first, *words = shlex.split(command)
    if first == "write":
        Path(words[0]).write_text("\n".join(below).strip("\n") + "\n", encoding="utf-8")
        return [line for line in below if line]
    if first == "cat":
        return lines_of(Path(words[0]).read_text(encoding="utf-8"))
    assert first == "chillplan", command
    answer = chillplan(*words)
    if target:
        Path(target).write_text(answer.out, encoding="utf-8")
    code = [f"[{answer.code}]"] if answer.code else []
    return [*([] if target else lines_of(answer.out)), *(f"! {line}" for line in lines_of(answer.err)), *code]


def lines_of(text: str) -> list[str]:
    """Lines without the blanks at their ends; the day on which a record was fetched is any."""
    text = text.replace(f"Fetched {datetime.now(UTC):%Y-%m-%d}", "Fetched YYYY-MM-DD")
    return [line.rstrip() or EMPTY for line in text.splitlines()]


def write_garden(folder: Path) -> None:
    """Three years of a bed with a soil thermometer."""
    bed = made("garden", TRUTH, days=1100)
    columns = {"date": bed.dates, "tmin": bed.tmin, "tmax": bed.tmax, "soil_temp_5cm_c": bed.soil}
    pd.DataFrame(columns).set_index("date").round(1).to_csv(folder / "garden.csv")


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records of invented weather that the sessions begin with."""
    folder = tmp_path_factory.mktemp("records")
    written_record(folder)
    written_record(folder, "valley.csv", mean=7.0, last="2000-12-31")
    write_garden(folder)
    return folder


@pytest.mark.parametrize("session", SESSIONS, ids=lambda path: path.stem)
def test_a_session_says_what_it_is_known_to_say(
    session: Path, records: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    if session.stem == "stations":
        request.getfixturevalue("source")
    home = tmp_path / "home"
    shutil.copytree(records, home)
    monkeypatch.chdir(home)
    monkeypatch.setenv("CHILLPLAN_DATA", "data")
    for name in ("CHILLPLAN_JOURNAL", "LC_ALL", "LC_TIME", "LANG"):
        monkeypatch.delenv(name, raising=False)
    text = session.read_text(encoding="utf-8")
    now = [(command, said(command, below)) for command, below in steps(text)]
    if os.environ.get("CHILLPLAN_WRITE_README"):
        head = text.partition("$ ")[0]
        body = "\n\n".join("\n".join((f"$ {command}", *lines)) for command, lines in now)
        session.write_text(f"{head}{body}\n", encoding="utf-8")
        return
    for (command, below), (_, answer) in zip(steps(text), now, strict=True):
        assert answer == [line for line in below if line], f"$ {command}"
