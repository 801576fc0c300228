"""The wheel carries its data: built, installed into an environment of its own, and run there.

That environment borrows the libraries of the one that tests; that those named in pyproject.toml are enough is held by
the README's first command, which installs into an empty one.
"""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import numpy
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


def test_demo_runs_from_the_wheel_in_an_environment_of_its_own(wheel: Path, tmp_path: Path) -> None:
    venv.create(tmp_path / "own")
    python = tmp_path / "own" / "bin" / "python"
    pip = [sys.executable, "-m", "pip", "--python", str(python), "install", "--no-deps", "--quiet", str(wheel)]
    subprocess.run([*pip, "--disable-pip-version-check"], check=True, capture_output=True, text=True, cwd=tmp_path)
    (own,) = (tmp_path / "own").glob("lib/python3*/site-packages")
    (own / "borrowed.pth").write_text(str(Path(numpy.__file__).parents[1]), encoding="utf-8")
    where = [str(python), "-c", "import chillplan; print(chillplan.__file__)"]
    assert str(own) in subprocess.run(where, check=True, capture_output=True, text=True, cwd=tmp_path).stdout
    command = [str(tmp_path / "own" / "bin" / "chillplan"), "demo", "--today", "2026-09-01"]
    answer = subprocess.run(command, check=True, capture_output=True, text=True, cwd=tmp_path)
    assert "INVENTED" in answer.stdout
    assert "Verdict" in answer.stdout
    command = [str(tmp_path / "own" / "bin" / "chillplan"), "page", "--species", "pawpaw", "--out", "page.html"]
    environment = {**os.environ, "CHILLPLAN_JOURNAL": str(tmp_path / "none.db")}
    subprocess.run(command, check=True, capture_output=True, text=True, cwd=tmp_path, env=environment)
    page = (tmp_path / "page.html").read_text(encoding="utf-8")
    assert (TOP / "data" / "page.js").read_text(encoding="utf-8").strip() in page, (
        "scripts and templates are packed too"
    )
