"""How long the season simulation takes: 30 seasons, 80 sowing dates, 30 species.

Run: python tests/benchmarks/simulation.py
"""

from __future__ import annotations

import json
import statistics
import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seasons.cut import cut_seasons
from chillplan.seasons.summary import ground_of
from chillplan.seeds.requirement import QUANTILES
from chillplan.seeds.simulate import fates_of
from chillplan.seeds.two_winters import two_winters
from chillplan.site import Site
from tests.records import wave_weather

STARTS = np.arange(0, 240, 3, dtype=np.int32)


def simulation_seconds(runs: int = 5) -> float:
    """Median time to simulate 30 species whose recipes have phases, everything shared made anew each time. [s]"""
    seasons = cut_seasons(wave_weather(first="1980-01-01", last="2010-12-31"), southern=False)
    assert seasons.years.size == 30
    ground = ground_of(seasons, Site(44.0, -72.0))
    species = [one for one in built_in_catalogue() if one.recipe.phases][:30]
    times = []
    for _ in range(runs + 1):
        winters = two_winters(seasons, ground)
        begin = time.perf_counter()
        for one in species:
            fates_of(winters, one.recipe.phases, one.germination, STARTS, one.seedling_limit)
        times.append(time.perf_counter() - begin)
    return statistics.median(times[1:])


def main() -> None:
    seconds = simulation_seconds()
    seeds = 30 * STARTS.size * 30 * QUANTILES.size
    print(f"30 seasons x {STARTS.size} sowing dates x 30 species x {QUANTILES.size} quantiles: {seconds:.2f} s")
    print(f"  {seeds / seconds / 1e6:.1f} million seeds a second; target under 1 s")
    print(json.dumps({"simulation_s": round(seconds, 3)}))


if __name__ == "__main__":
    main()
