"""How fast ``chillplan due`` answers from a journal of 5,000 open batches and 100,000 checks.

Run alone: ``python tests/benchmarks/journal.py``. The whole process is timed, from start to exit, several times; the
middle figure counts. The last line is one line of JSON.
"""

from __future__ import annotations

import json
import os
import random
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import date, datetime, timedelta
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(TOP))

from chillplan.journal.store import open_journal  # noqa: E402

BATCHES, CHECKS, PLACES = 5_000, 100_000, 10
READINGS_A_DAY = 24
TODAY = date(2027, 3, 1)
BEGIN = date(2026, 11, 1)
RUNS = 7


def fill(path: Path) -> None:
    """Write the journal through its own tables, every row with its history."""
    draw = random.Random(1)
    with open_journal(path, TODAY, create=True) as journal, journal.entry("benchmark", datetime(2027, 3, 1)) as writer:
        for number in range(BATCHES):
            begun = BEGIN + timedelta(days=draw.randrange(100))
            lot = writer.insert("lots", {"species": f"Species number {number % 300}"})
            values = {"lot": lot, "place": f"place {number % PLACES}", "set_temperature": 4.0, "seeds": 200}
            batch = writer.insert("batches", values | {"started_on": begun.isoformat()})
            phase = {"batch": batch, "position": 0, "kind": "cold", "started_on": begun.isoformat(), "reversal": 20.0}
            needs = {"days_low": 30.0 + number % 40, "days_high": 60.0 + number % 40}
            corners = {"zero_low": -2.0, "full_low": 1.0, "full_high": 7.0, "zero_high": 12.0}
            writer.insert("treatments", phase | needs | corners)
            for look in range(CHECKS // BATCHES):
                finding = "fine" if draw.random() < 0.97 else draw.choice(["dry", "mould"])
                seen = begun + timedelta(days=look)
                writer.insert("checks", {"batch": batch, "date": seen.isoformat(), "finding": finding})
        for place in range(PLACES):
            for hour in range((TODAY - BEGIN).days * READINGS_A_DAY):
                at = datetime.combine(BEGIN, datetime.min.time()) + timedelta(hours=hour)
                reading = {"place": f"place {place}", "at": at.isoformat(), "temperature": round(draw.gauss(4, 2), 2)}
                writer.insert("readings", reading)


def timed(command: list[str]) -> float:
    """Wall time of one whole process. [s]"""
    begun = time.perf_counter()
    done = subprocess.run(
        command, cwd=TOP, capture_output=True, text=True, check=True, env=os.environ | {"NO_COLOR": "1"}
    )
    assert done.stdout.count("\n") > 100
    return time.perf_counter() - begun


def main() -> None:
    """Fill a journal, time the command, print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        fill(path)
        size = path.stat().st_size / 1e6
        command = [sys.executable, "-m", "chillplan", "due", "--journal", str(path), "--today", TODAY.isoformat()]
        timed(command)
        runs = [timed(command) for _ in range(RUNS)]
    processor = resource.getrusage(resource.RUSAGE_CHILDREN)
    readings = PLACES * (TODAY - BEGIN).days * READINGS_A_DAY
    print(f"{BATCHES} open batches, {CHECKS} checks, {readings} readings, {size:.0f} MB")
    print(f"chillplan due, whole process: {', '.join(f'{run:.3f}' for run in runs)} s")
    print(f"processor time each: {(processor.ru_utime + processor.ru_stime) / (RUNS + 1):.3f} s")
    print(json.dumps({"due_s": round(statistics.median(runs), 3)}))


if __name__ == "__main__":
    main()
