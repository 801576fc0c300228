"""How long a report of 120 species takes, and its size; run alone: ``python tests/benchmarks/report.py``."""

from __future__ import annotations

import json
import sys
import tempfile
import time
from dataclasses import replace
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.visits import Crew, with_visits
from chillplan.cli.catalogue_files import Wanted, chosen_seed
from chillplan.cli.loading import DEMO_LIST, load
from chillplan.cli.place import PlaceOptions
from chillplan.data_files import data_path
from chillplan.errors import Problems
from chillplan.report.reader import Reader
from chillplan.report.record import source_of
from chillplan.web.folder import write_report

SPECIES = 120

if __name__ == "__main__":
    problems = Problems()
    place = load(PlaceOptions(), None, problems)
    known = chosen_seed(Wanted(), problems, data_path(DEMO_LIST))[0]
    many = [
        replace(known[number % len(known)], name=f"{known[number % len(known)].name} {number}")
        for number in range(SPECIES)
    ]
    begin = time.perf_counter()
    plan = make_plan(place.seasons, place.site, many, Request(date(2026, 9, 1)))
    planned = time.perf_counter()
    plan = with_visits(plan, Crew(people=4))
    visited = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        files = write_report(plan, source_of(place.history, place.site), Path(folder) / "plan", Reader())
        written = time.perf_counter()
        sizes = {path.name: path.stat().st_size for path in files}
    print(
        f"{SPECIES} species planned in {planned - begin:.2f} s, {len(plan.visits)} visits in {visited - planned:.2f} s,"
    )
    print(f"five files in {written - visited:.2f} s: {', '.join(f'{n} {s / 1e6:.2f} MB' for n, s in sizes.items())}")
    print(json.dumps({"report_s": round(written - visited, 3), "report_mb": round(sizes["report.html"] / 1e6, 3)}))
