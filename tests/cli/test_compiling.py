"""The first run after installing says that it compiles; later ones have nothing to compile."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path


def test_only_the_first_plan_compiles_and_says_so(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "chillplan", "plan", "--species", "Asclepias incarnata", "--today", "2026-09-01"]
    surroundings = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    first, second = (
        subprocess.run(command, capture_output=True, text=True, check=True, env=surroundings) for _ in range(2)
    )
    assert "Compiling the model for this machine" in first.stderr
    assert "Compiling" not in second.stderr
    assert first.stdout == second.stdout
