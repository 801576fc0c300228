"""A winter with the journal, from the first batch to the lesson of the counts.

Runs every command below in a temporary folder, each on its own day, and keeps what they said in ``run.txt``. Batches,
readings and counts are invented, and so is the weather: it is that of the embedded demo.
"""

from __future__ import annotations

import math
import os
import shlex
import subprocess
import sys
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

HERE = Path(__file__).resolve().parent
TOP = HERE.parents[1]
SITE = "--site hill.toml"
WINTER = f"{SITE} --weather weather.csv"

STEPS = (
    ("2025-12-01", "batch start pawpaw --seeds 200 --place 'cool box' --frost-free 2026-05-12 --plant-out 2026-05-20"),
    ("2025-12-01", "batch start 'Tilia americana' --seeds 400 --label linden --place fridge --set 3"),
    ("2025-12-08", "batch check B1 fine"),
    ("2025-12-08", "batch check linden dry"),
    ("2026-01-12", "due"),
    ("2026-01-12", "batch reading linden 3.5"),
    ("2026-01-12", "batch reading 'cool box' --logger logger.csv"),
    ("2026-01-19", "batch check B1 mould --note 'two soft seeds'"),
    ("2026-02-01", f"season {WINTER} --species 'Zizia aurea' --sown 2025-11-10"),
    ("2026-03-02", "batch check linden sprouted 9 --stage 'root tip' --frost-free 2026-03-20"),
    ("2026-03-02", "batch check B1 dry"),
    ("2026-03-02", "batch undo"),
    ("2026-03-02", "batch list B1"),
    ("2026-04-20", f"batch sow linden {SITE} --seeds 380 --expect-up 2026-05-10"),
    ("2026-04-20", "batch close linden 'sown on the hill'"),
    ("2026-05-11", "due --days 3"),
    ("2026-06-20", "batch count S1 214"),
    ("2026-07-01", f"batch learn {WINTER}"),
    ("2026-07-01", "batch list --all"),
    ("2026-07-01", "batch history --last 6"),
)


def logger_file() -> str:
    """Six weeks of a cool box, every two hours, with one warm weekend; a semicolon table with decimal commas."""
    start = datetime(2025, 12, 1)
    rows = ["Datum;Temperatur (°C)"]
    for step in range(12 * 42):
        moment = start + timedelta(hours=2 * step)
        warm = 7.0 if moment.date().isoformat() in {"2025-12-27", "2025-12-28"} else 0.0
        value = 4.2 + 0.6 * math.sin(2.0 * math.pi * (moment.hour - 9) / 24.0) + warm
        rows.append(f"{moment:%d.%m.%Y %H:%M};" + f"{value:.1f}".replace(".", ","))
    return "\n".join(rows) + "\n"


def main() -> None:
    """Run the winter and keep what was said."""
    said = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "logger.csv").write_text(logger_file(), encoding="utf-8")
        for source, target in (("demo_site.toml", "hill.toml"), ("demo_weather.csv", "weather.csv")):
            (folder / target).write_bytes((TOP / "data" / source).read_bytes())
        settings = os.environ | {"CHILLPLAN_JOURNAL": "journal.db", "PYTHONPATH": str(TOP), "COLUMNS": "80"}
        for today, step in STEPS:
            words = [sys.executable, "-m", "chillplan", *shlex.split(step), "--today", today]
            if step.startswith("batch history"):
                words = words[:-2]
            done = subprocess.run(words, cwd=folder, env=settings, capture_output=True, text=True, check=False)
            said.append(f"[{today}] $ chillplan {step}\n{done.stderr}{done.stdout}")
    (HERE / "run.txt").write_text("\n".join(said), encoding="utf-8")


if __name__ == "__main__":
    main()
