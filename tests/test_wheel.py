"""The wheel carries its data: built, installed into an empty environment, and run there."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out), str(TOP)]
    subprocess.run(command, check=True, capture_output=True, text=True)
    return next(out.glob("*.whl"))


def test_every_data_file_is_in_the_wheel(wheel: Path) -> None:
    packed = set(zipfile.ZipFile(wheel).namelist())
    shipped = [path for path in (TOP / "data").rglob("*") if path.is_file()]
    assert shipped
    missing = [path.name for path in shipped if f"chillplan/_data/{path.relative_to(TOP / 'data')}" not in packed]
    assert not missing
    assert not [name for name in packed if name.startswith(("tests/", "examples/"))]


def test_demo_runs_from_the_wheel_in_an_empty_environment(wheel: Path, tmp_path: Path) -> None:
    venv.create(tmp_path / "empty", with_pip=True)
    python = tmp_path / "empty" / "bin" / "python"
    pip = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", str(wheel)]
    subprocess.run(pip, check=True, capture_output=True, text=True, cwd=tmp_path)
    command = [str(tmp_path / "empty" / "bin" / "chillplan"), "demo", "--today", "2026-09-01"]
    answer = subprocess.run(command, check=True, capture_output=True, text=True, cwd=tmp_path)
    assert "INVENTED" in answer.stdout
    assert "Verdict" in answer.stdout
    command = [str(tmp_path / "empty" / "bin" / "chillplan"), "page", "--species", "pawpaw", "--out", "page.html"]
    environment = {**os.environ, "CHILLPLAN_JOURNAL": str(tmp_path / "none.db")}
    subprocess.run(command, check=True, capture_output=True, text=True, cwd=tmp_path, env=environment)
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert (TOP / "data" / "page.js").read_text(encoding="utf-8").strip() in page, (
        "scripts and templates are packed too"
    )
