"""The page of the species-table example shows real commands with their real output."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from tests.cli.command import chillplan

TOP = Path(__file__).resolve().parents[2]
PAGE = (TOP / "examples" / "own_species" / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```console\n\$ chillplan (.*?)\n(.*?)```", PAGE, flags=re.S)


@pytest.mark.parametrize(("command", "shown"), BLOCKS)
def test_the_command_prints_what_the_page_shows(command: str, shown: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(TOP)
    answer = chillplan(*shlex.split(command))
    assert answer.code == 0
    printed = [line.rstrip() for line in (answer.out + answer.err).strip().splitlines()]
    assert printed == [line.rstrip() for line in shown.strip().splitlines()]


def test_the_page_shows_three_commands() -> None:
    assert len(BLOCKS) == 3
