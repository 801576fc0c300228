"""How long it takes to find the fewest visits for 300 tasks; run alone: ``python tests/benchmarks/visits.py``."""

from __future__ import annotations

import json
import sys
import time
from datetime import date, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from chillplan.advice.result import Task
from chillplan.advice.visits import Crew, HillDay, cover

TASKS = 300
SEEDS = (1, 2, 3)


def measure(seed: int) -> tuple[float, int, bool]:
    random = np.random.default_rng(seed)
    start = date(2026, 9, 1)
    days = [
        HillDay(
            start + timedelta(days=n),
            "07:00",
            "18:00",
            int(660 - 150 * np.cos(2 * np.pi * (n - 110) / 365)),
            float(np.clip(np.cos(2 * np.pi * (n - 130) / 365) + random.normal(0, 0.1), 0, 1).round(3)),
            0.6 if 100 <= n <= 130 else 0.0,
        )
        for n in range(365)
    ]
    tasks = []
    for number in range(TASKS):
        first = int(random.integers(0, 300))
        last = min(364, first + int(random.integers(2, 61)))
        tasks.append(
            Task(
                start + timedelta(days=first),
                start + timedelta(days=last),
                f"species {number}",
                "sow",
                "hill",
                int(random.choice([20, 30, 45])),
            )
        )
    begin = time.perf_counter()
    found = cover(tasks, days, Crew(people=2, weekdays=(4, 5, 6)))
    return time.perf_counter() - begin, len(found.visits), found.proven


if __name__ == "__main__":
    results = [measure(seed) for seed in SEEDS]
    for seed, (seconds, visits, proven) in zip(SEEDS, results, strict=True):
        print(
            f"seed {seed}: {TASKS} tasks on {visits} visits in {seconds:.2f} s, {'proven' if proven else 'not proven'}"
        )
    print(json.dumps({"visits_s": round(max(seconds for seconds, _, _ in results), 3)}))
