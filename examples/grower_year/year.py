"""A grower's year at three real places: from an empty folder to a kept plan, and a look a week, by the commands alone.

Run with ``CHILLPLAN_OBSERVATIONS`` naming the folder of observed records; prints a table of what was counted. A figure
is a count over what the commands printed or wrote; nothing is fitted.
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pandas as pd
from icalendar import Calendar

HERE = Path(__file__).resolve().parent
BEGUN = date(2026, 4, 20)
LOOKED_AT = 10


@dataclass(frozen=True)
class Place:
    """Where the year is spent; `station` of the network's table, else a file of its own."""

    name: str
    latitude: float
    longitude: float
    elevation: float
    station: str = ""
    file: str = ""


PLACES = (
    Place("northern plains", 48.97, -102.17, 561.0, station="ND_Northgate_5_ESE"),
    Place("mild coast", 47.45, -122.31, 113.0, file="seatac_WA.csv"),
    Place("mountain", 39.01, -79.47, 1033.0, station="WV_Elkins_21_ENE"),
)


@dataclass(frozen=True)
class Year:
    """What was counted; lists name what should not be.

    Attributes
    ----------
    commands : int
        From an empty folder to a kept plan.
    unripe, dry, killed : list of str
        Tasks before the seed is ripe; moist seed that nothing keeps moist; tasks of plants that would freeze.
    entries : int
        Of the calendar.
    batches, looks : int
        Batches in the cold, and commands that the weekly look at them took.
    """

    place: str
    commands: int
    tasks: int
    planned: int
    not_planned: int
    unripe: list[str]
    dry: list[str]
    killed: list[str]
    entries: int
    batches: int
    looks: int


def run(folder: Path, *words: str, expected: int = 0) -> str:
    """One command in a folder of its own."""
    settings = {**os.environ, "CHILLPLAN_DATA": str(folder / "data")}
    settings.pop("CHILLPLAN_JOURNAL", None)
    command = [sys.executable, "-m", "chillplan", *words]
    done = subprocess.run(command, cwd=folder, env=settings, capture_output=True, text=True, check=False)
    if done.returncode != expected:
        raise RuntimeError(f"{' '.join(words)}: {done.returncode}\n{done.stdout}\n{done.stderr}")
    return done.stdout


def spend(place: Place, observations: Path) -> Year:
    """Spend a year at a place."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _write_record(place, observations, folder / "record.csv")
        (folder / "seeds.csv").write_bytes((HERE / "seeds.csv").read_bytes())
        where = ("--latitude", f"{place.latitude}", "--longitude", f"{place.longitude}")
        given = (*where, "--elevation", f"{place.elevation}", "--weather", "record.csv", "--list", "seeds.csv")
        told = run(folder, "plan", *given, "--keep", "--out", "plan", "--today", f"{BEGUN}", "--format", "json")
        batches, looks = _winter(folder, json.loads(told))
        calendar = Calendar.from_ical((folder / "plan" / "calendar.ics").read_bytes())
        entries = sum(1 for _ in calendar.walk("VEVENT"))
        return _counted(place, json.loads(told), entries, batches, looks)


def _write_record(place: Place, observations: Path, path: Path) -> None:
    if place.file:
        path.write_bytes((observations / place.file).read_bytes())
        return
    table = pd.read_parquet(observations / "uscrn_soil_development.parquet")
    own = table[table["station"] == place.station]
    own[["date", "tmin_c", "tmax_c", "precip_mm"]].to_csv(path, index=False)


def _winter(folder: Path, told: dict[str, Any]) -> tuple[int, int]:
    """Do what falls due, task by task, until ten batches lie there; then look at all of them with one command."""
    begun = [task for task in told["tasks"] if task["key"].split("/")[1] in {"warm phase", "cold phase"}]
    names: dict[str, str] = {}
    for task in sorted(begun, key=lambda task: task["date_from"]):
        names.setdefault(task["species"], task["date_from"])
    last = BEGUN
    for species, day in list(names.items())[:LOOKED_AT]:
        wanted = next(row for row in _due(folder, date.fromisoformat(day)) if _is_of(row, species))
        run(folder, "done", wanted["subject"], "--date", day, "--today", day, "--seeds", "50")
        last = max(last, date.fromisoformat(day))
    look = last + timedelta(days=(6 - last.weekday()) % 7)
    run(folder, "batch", "check", "all", "fine", "--today", f"{look}")
    listed = json.loads(run(folder, "batch", "list", "--today", f"{look}", "--format", "json"))
    return len(listed["batches"]), 1


def _due(folder: Path, day: date) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads(run(folder, "due", "--today", f"{day}", "--format", "json"))["due"]
    return [row for row in rows if row["subject"].startswith("T")]


def _is_of(row: dict[str, Any], species: str) -> bool:
    slug = "-".join(species.lower().replace(",", "").split())
    return slug in row["reason"] and any(word in row["action"] for word in ("refrigerator", "keep warm"))


def _counted(place: Place, told: dict[str, Any], entries: int, batches: int, looks: int) -> Year:
    tasks = told["tasks"]
    own = {one["name"]: [task for task in tasks if task["species"] == one["name"]] for one in told["species"]}
    unripe, dry, killed = [], [], []
    for one in told["species"]:
        name, some = one["name"], own[one["name"]]
        if one["killed"]:
            killed += [f"{name}: {task['action']}" for task in some]
            continue
        there = _there(one["lot"])
        unripe += [f"{name}: {task['action']} on {task['date_from']}" for task in some if task["date_from"] < there]
        dry += _dried(one, some)
    named = sum(1 for some in own.values() if some)
    return Year(place.name, 1, len(tasks), named, len(own) - named, unripe, dry, killed, entries, batches, looks)


def _there(lot: dict[str, Any]) -> str:
    """From when seed is there: picked on a day, ripe at the place, or at hand."""
    if lot["picked"]:
        return str(lot["picked"])
    at_hand = lot["state"].startswith(("already", "pre-", "fresh moist"))
    return f"{BEGUN}" if at_hand or not lot["ripe"] else max(str(lot["ripe"][0]), f"{BEGUN}")


def _dried(one: dict[str, Any], tasks: list[dict[str, Any]]) -> list[str]:
    """Moist seed that is neither stored moist nor begun on the day it is there."""
    if not one["lot"]["kept_moist"] or not tasks:
        return []
    work = [task for task in tasks if task["key"].split("/")[1] not in {"pick", "check"}]
    first = min(task["date_from"] for task in work)
    late = (date.fromisoformat(first) - date.fromisoformat(_there(one["lot"]))).days
    if late > 3 or any(task["action"].startswith("dry it") for task in tasks):
        return [f"{one['name']}: there {_there(one['lot'])}, first {first}"]
    return []


def main() -> None:
    """Print a row a place."""
    observations = Path(os.environ["CHILLPLAN_OBSERVATIONS"])
    writer = csv.writer(sys.stdout)
    header = list(Year.__dataclass_fields__)
    writer.writerow(header)
    for place in PLACES:
        year = spend(place, observations)
        shown = (getattr(year, name) for name in header)
        writer.writerow(["; ".join(value) or "none" if isinstance(value, list) else value for value in shown])


if __name__ == "__main__":
    main()
