"""How long ``plan`` on the demo and ``--help`` take, cold start included.

Run: python tests/benchmarks/plan.py
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

from measure import measure


def main() -> None:
    plan = measure(["plan", "--today", "2026-09-01"])
    words = measure(["--help"])
    print(f"plan on the demo: median {plan.wall_s:.2f} s of {len(plan.runs)} runs, peak {plan.peak_mb:.0f} MB")
    print(f"  target: under 3 s and 400 MB; runs {', '.join(f'{run:.2f}' for run in plan.runs)}")
    print(f"--help: median {words.wall_s:.2f} s; target under 0.4 s")
    result = {"wall_s": round(plan.wall_s, 3), "peak_mb": round(plan.peak_mb, 1), "help_s": round(words.wall_s, 3)}
    print(json.dumps(result))


if __name__ == "__main__":
    main()
