"""Whole answers: every file of ``said/`` is a session in an empty folder, each command with all that it says.

A line ``$ chillplan …`` is a command; below it stands its output, what goes to standard error behind ``! ``, and the
exit code in brackets where it is not 0. ``> FILE`` behind a command keeps its output in a file instead. ``$ cat FILE``
shows a file; ``$ write FILE`` makes one of the lines below it, up to an empty one. ``record.csv`` is invented weather.

To write the answers anew where a change is right: CHILLPLAN_WRITE_README=1 python -m pytest tests/cli/test_said.py
"""

from __future__ import annotations

import os
import shlex
from pathlib import Path

import pytest

from tests.cli.command import chillplan, written_record

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
    return [line.rstrip() or EMPTY for line in text.splitlines()]


@pytest.mark.parametrize("session", SESSIONS, ids=lambda path: path.stem)
def test_a_session_says_what_it_is_known_to_say(session: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CHILLPLAN_DATA", "data")
    for name in ("CHILLPLAN_JOURNAL", "LC_ALL", "LC_TIME", "LANG"):
        monkeypatch.delenv(name, raising=False)
    written_record(tmp_path)
    text = session.read_text(encoding="utf-8")
    now = [(command, said(command, below)) for command, below in steps(text)]
    if os.environ.get("CHILLPLAN_WRITE_README"):
        head = text.partition("$ ")[0]
        body = "\n\n".join("\n".join((f"$ {command}", *lines)) for command, lines in now)
        session.write_text(f"{head}{body}\n", encoding="utf-8")
        return
    for (command, below), (_, answer) in zip(steps(text), now, strict=True):
        assert answer == [line for line in below if line], f"$ {command}"
