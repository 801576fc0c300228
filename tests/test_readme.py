"""The README shows real commands with their real output, and every command is documented.

To write the outputs anew after a result has moved: CHILLPLAN_WRITE_README=1 python -m pytest tests/test_readme.py
"""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path

import pytest
import typer

from chillplan.cli import app
from tests.cli.command import chillplan

README = Path(__file__).resolve().parent.parent / "README.md"
SHOWN = re.compile(r"(```\n\$ chillplan (?P<words>[^\n]+)\n)(?P<output>.*?)(\n```)", re.DOTALL)
CUT = "[…]"


def shown_commands() -> list[str]:
    return [found["words"] for found in SHOWN.finditer(README.read_text(encoding="utf-8"))]


def real_output(words: str, shown: str) -> str:
    """What the command prints, cut where the README cuts it: `[…]` stands for lines left out at the end."""
    answer = chillplan(*shlex.split(words))
    lines = [line.rstrip() for line in (answer.out + answer.err).rstrip("\n").splitlines()]
    kept = shown.splitlines()
    if kept and kept[-1] == CUT:
        return "\n".join([*lines[: len(kept) - 1], CUT])
    return "\n".join(lines)


@pytest.mark.parametrize("words", shown_commands())
def test_shown_output_is_real(words: str) -> None:
    text = README.read_text(encoding="utf-8")
    found = next(match for match in SHOWN.finditer(text) if match["words"] == words)
    real = real_output(words, found["output"])
    if os.environ.get("CHILLPLAN_WRITE_README"):
        README.write_text(text[: found.start("output")] + real + text[found.end("output") :], encoding="utf-8")
    assert found["output"] == real


def command_names() -> list[str]:
    group = typer.main.get_command(app)
    names = []
    for name, command in group.commands.items():  # type: ignore[attr-defined]
        inner = getattr(command, "commands", None)
        names += [name] if inner is None else [f"{name} {sub}" for sub in inner]
    return names


@pytest.mark.parametrize("name", command_names())
def test_every_command_has_help_and_stands_in_the_readme(name: str) -> None:
    answer = chillplan(*name.split(), "--help")
    assert answer.code == 0
    assert len(answer.out.splitlines()) >= 6
    assert f"chillplan {name}" in README.read_text(encoding="utf-8"), f"README.md does not show `chillplan {name}`"
