"""The example runs: what is kept is there, and the script that makes them works."""

from __future__ import annotations

import importlib.util
import shutil
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"


@pytest.fixture(scope="module")
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_examples", EXAMPLES / "make_examples.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    import sys

    sys.modules["make_examples"] = module
    spec.loader.exec_module(module)
    return module


def test_every_example_is_kept_with_its_commands(script: ModuleType) -> None:
    for name, commands in script.COMMANDS.items():
        said = (EXAMPLES / name / "run.txt").read_text(encoding="utf-8")
        for file in script.KEPT:
            assert (EXAMPLES / name / file).is_file()
        for command in commands:
            assert f"$ chillplan {command}\n" in said
        assert all(word in said for word in ("Verdict", "Good", "winters", "What to do"))


def test_the_invented_weather_is_the_kept_one(script: ModuleType) -> None:
    for name, climate in script.EXAMPLES.items():
        kept = np.genfromtxt(EXAMPLES / name / "weather.csv", delimiter=",", skip_header=2)[:, 1:]
        assert np.abs(script.invented_weather(climate).to_numpy() - kept).max() <= 0.1001  # one step of rounding


def test_an_example_is_made_from_its_site_and_list(script: ModuleType, tmp_path: Path) -> None:
    for given in ("site.toml", "list.csv"):
        shutil.copy(EXAMPLES / "southern-slope" / given, tmp_path)
    script.make("southern-slope", tmp_path)
    assert all((tmp_path / file).stat().st_size > 100 for file in script.KEPT)
    assert (tmp_path / "plan" / "report.html").is_file()
    assert "2027-02-10" in (tmp_path / "run.txt").read_text(encoding="utf-8")
