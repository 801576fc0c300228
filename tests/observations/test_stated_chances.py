"""Stated chances against trials and thermometers: the page holds what the script prints, and the middle comes true."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from tests.records import observations

FOLDER = Path(__file__).parents[2] / "examples/stated_chances"


def test_the_page_is_what_the_script_prints_and_the_ground_keeps_its_word() -> None:
    folder = str(observations())
    run = subprocess.run(
        [sys.executable, str(FOLDER / "measure.py")],
        env={**os.environ, "CHILLPLAN_OBSERVATIONS": folder},
        capture_output=True,
        text=True,
        check=True,
    )
    page = (FOLDER / "README.md").read_text(encoding="utf-8")
    rows = [row for row in run.stdout.splitlines() if row.startswith("| ") and "%" in row]
    assert len(rows) == 6
    for row in rows:
        assert row in page
        _, stated, true, ground, _ = (int(part) for part in re.findall(r"(\d+)%?(?= \|)", row.split("%", 1)[1]))
        assert abs(stated - true) <= 15
        assert abs(stated - ground) <= 15
