"""What ``import chillplan`` gives: every name is there, documented, and costs nothing until it is used."""

from __future__ import annotations

import doctest
import subprocess
import sys
from pathlib import Path

import pytest

import chillplan


@pytest.mark.parametrize("name", [name for name in chillplan.__all__ if name != "__version__"])
def test_every_public_name_is_there_and_documented(name: str) -> None:
    assert getattr(chillplan, name).__doc__
    assert name in dir(chillplan)


def test_a_name_that_is_not_there_is_refused() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'stratify'"):
        chillplan.stratify  # noqa: B018


def test_the_example_of_the_package_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(Path(__file__).parent.parent)
    result = doctest.testmod(chillplan)
    assert result.attempted >= 9
    assert result.failed == 0


def test_importing_the_package_imports_no_heavy_library() -> None:
    code = "import sys, chillplan; print({'numpy', 'pandas', 'numba', 'scipy'} & set(sys.modules))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "set()"
