"""A doubtful name is asked about where somebody sits at a terminal, and refused with its choices where nobody does."""

from __future__ import annotations

import os
import pty
import subprocess
import sys

import pytest

WORDS = (
    sys.executable,
    "-m",
    "chillplan",
    "plan",
    "--species",
    "serviceberry",
    "--today",
    "2026-09-01",
    "--format",
    "csv",
)


def at_a_terminal(answer: str) -> tuple[int, str, str]:
    """Exit code, result, and what the terminal showed, with an answer typed at it."""
    hand, screen = pty.openpty()
    with subprocess.Popen(WORDS, stdin=screen, stdout=subprocess.PIPE, stderr=screen) as running:
        os.close(screen)
        os.write(hand, f"{answer}\n".encode())
        assert running.stdout is not None
        result = running.stdout.read().decode()
        shown = b""
        try:
            while part := os.read(hand, 4096):
                shown += part
        except OSError:  # the other end is closed: all was read
            pass
    os.close(hand)
    return running.returncode, result, shown.decode()


def test_the_choice_that_is_typed_is_planned() -> None:
    code, result, shown = at_a_terminal("2")
    assert "'serviceberry' is doubtful. Which is it?" in shown, shown
    second = next(
        line.split("(")[0].split("2", 1)[1].strip() for line in shown.splitlines() if line.strip().startswith("2 ")
    )
    assert code == 0, shown
    rows = result.splitlines()
    assert len(rows) == 2 and rows[1].startswith(f"{second},")


@pytest.mark.parametrize("answer", ["", "99", "x"])
def test_an_answer_that_is_none_of_the_choices_leaves_it_unresolved(answer: str) -> None:
    code, result, shown = at_a_terminal(answer)
    assert (code, result) == (2, "") and "serviceberry" in shown and "did you mean" in shown


def test_nobody_is_asked_where_nobody_sits() -> None:
    quiet = subprocess.run(WORDS, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
    assert quiet.returncode == 2 and "did you mean" in quiet.stderr and "Which is it?" not in quiet.stderr
