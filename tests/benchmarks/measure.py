"""Wall time and peak memory of a command as a whole process."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass

__all__ = ["Measured", "measure"]


@dataclass(frozen=True)
class Measured:
    """Median wall time [s] and largest peak memory [MB] over the runs."""

    wall_s: float
    peak_mb: float
    runs: tuple[float, ...]


def measure(words: list[str], runs: int = 5) -> Measured:
    """Run ``python -m chillplan WORDS`` several times after one run that is not counted."""
    walls, peaks = [], []
    for run in range(runs + 1):
        begin = time.perf_counter()
        process = subprocess.Popen(
            [sys.executable, "-m", "chillplan", *words], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode != 0:
            raise SystemExit(f"chillplan {' '.join(words)} ended with {process.returncode}")
        if run:
            walls.append(time.perf_counter() - begin)
            peaks.append(usage.ru_maxrss / 1024.0)
    return Measured(statistics.median(walls), max(peaks), tuple(walls))
