"""Damaged inputs against every reader of the command line: ``python tests/benchmarks/attacks.py [SEED [COUNT]]``.

A sound file is damaged at random (bytes cut, doubled, moved; cells replaced by what people and programs write by
mistake) and given to a command that reads it. Every answer must be a result or a refusal in words with its exit code:
no traceback, no silence, and a file that was only read is unchanged. The seed is stated, so that a finding comes again.
"""

from __future__ import annotations

import json
import os
import random
import sys
import tempfile
import traceback
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import pandas as pd

from tests.cli.command import chillplan, written_record

TODAY = ("--today", "2026-11-28")
HERE = ("--latitude", "44", "--longitude", "-72", "--elevation", "300")
CODES = (0, 1, 2, 3, 4, 130)
FOUND = ["", "nan", "inf", "-9999", "1e308", "0", "-1", "9" * 20, "é\u202e", "<script>", "=cmd()", "\x00", "2026-02-30"]
FOUND += [
    "31/12/2026",
    "true",
    "[]",
    '"',
    '"""',
    "\t",
    "  ",
    ";",
    ",,,",
    "\u0661\u0662",
    "½",
    "A" * 5000,
    "-0.0",
    "1,5",
]
FOUND += [
    "fridge",
    "cold moist, 0 days",
    "warm",
    "tomorrow",
    "already stratified -3 days",
    "already stratified 1e9 days",
]


@dataclass(frozen=True)
class Target:
    """A file and the commands that read it."""

    name: str
    sound: str
    commands: tuple[tuple[str, ...], ...]


def targets(folder: Path) -> dict[str, Target]:
    record = written_record(folder, first="2001-01-01", last="2006-12-31").read_text(encoding="utf-8")
    site = (
        'name = "Hill"\nlatitude = 44.0\nlongitude = -72.0\nelevation = 300\nslope = 12\naspect = 200\n'
        'cover = "leaf mulch"\nterrain = "slope"\ndepth_cm = 2\n\n[grower]\nrecords = ["record.csv"]\n'
        'lots = "lots.csv"\nunits = "us"\nweekdays = "sat,sun"\n'
    )
    lots = (
        "species,lot,picked,where,amount,state,viability,way,place\n"
        "Zizia aurea,A1,2026-08-01,meadow,50 seeds,cleaned and dried,0.8,outdoors,bed 1\n"
        "pawpaw,,2026-09-10,wood,20 seeds,fresh moist,,undecided,\n"
        "American plum,P,2026-08-20,hedge,30 g,already stratified 40 days,0.5,cold store,box\n"
    )
    species = (
        "name,phases,common_name,base_temperature_c,hazards\n"
        'Testus unus,"cold moist, 60 to 90 days, 1 to 5 °C",made plant,5,\n'
        'Testus duo,"warm moist, 30 to 60 days, 20 °C; cold moist, 90 days",other,5,poisonous\n'
    )
    logger = "time,temp (°C)\n" + "".join(
        f"2026-11-{day:02d} {hour:02d}:00,{3 + day % 3}\n" for day in range(1, 20) for hour in (0, 8, 16)
    )
    entries = [
        {
            "id": "a",
            "at": "2026-11-28T09:00:00",
            "kind": "look",
            "batch": "B1",
            "finding": "fine",
            "date": "2026-11-28",
        },
        {"id": "b", "at": "2026-11-28T09:01:00", "kind": "lot", "lot": {"species": "Zizia aurea", "amount": "9 seeds"}},
        {"id": "c", "at": "2026-11-28T10:00:00", "kind": "undo", "of": "b"},
    ]
    page = {"kind": "chillplan page", "format": 1, "site": "Hill", "season": 2026, "entries": entries}
    dates = pd.date_range("2003-01-01", "2005-12-31")
    soil = "date,tmin,tmax,soil_temp_5cm_c\n" + "".join(
        f"{when.date()},{-5 + n % 300 / 20:.1f},{5 + n % 300 / 20:.1f},{2 + n % 300 / 30:.1f}\n"
        for n, when in enumerate(dates)
    )
    readings = "\n".join(record.splitlines()[i] for i in [0, *range(700, 1100)]) + "\n"
    return {
        "site file": Target("site.toml", site, (("plan", *TODAY), ("due", *TODAY))),
        "lots": Target("lots.csv", lots, (("plan", *TODAY), ("due", *TODAY), ("season", *TODAY))),
        "species table": Target(
            "mine.csv",
            species,
            (
                ("species", "check", "mine.csv"),
                ("plan", "--species-file", "mine.csv", "--species", "Testus unus", *TODAY),
            ),
        ),
        "list of names": Target(
            "list.csv", "species,count\nZizia aurea,50\npawpaw,20\n", (("plan", "--list", "list.csv", *TODAY),)
        ),
        "logger": Target("log.csv", logger, (("batch", "reading", "cool box", "--logger", "log.csv", *TODAY),)),
        "page's entries": Target("back.json", json.dumps(page, indent=0), (("batch", "import", "back.json", *TODAY),)),
        "weather": Target("record.csv", record, (("winter", *TODAY),)),
        "soil record": Target("soil.csv", soil, (("soilcheck", "--weather", "soil.csv", *HERE),)),
        "own readings": Target(
            "own.csv",
            readings,
            (("weather", "tie", "--site", "site.toml", "--weather", "record.csv", "--readings", "own.csv"),),
        ),
    }


def damaged(text: str, draw: random.Random) -> str:
    for _ in range(draw.choice([1, 1, 1, 2, 3, 6])):
        lines = text.split("\n")
        begin = draw.randrange(len(text) + 1)
        end = begin + draw.choice([1, 2, 5, 20, 100])
        row = draw.randrange(len(lines))
        cells = lines[row].split("," if "," in lines[row] else "=")
        cells[draw.randrange(len(cells))] = draw.choice(FOUND)
        text = draw.choice(
            [
                text[:begin] + text[end:],
                text[:begin] + draw.choice(FOUND) + text[begin:],
                text[:begin] + draw.choice(FOUND) + text[end:],
                text[:begin],
                text[:begin] + text[begin:end].swapcase() + text[end:],
                "\n".join([*lines[:row], lines[row], *lines[row:]]),
                "\n".join(lines[:row] + lines[row + 1 :]),
                "\n".join([*lines[:row], ("," if "," in lines[row] else "=").join(cells), *lines[row + 1 :]]),
                text.replace(draw.choice(',"=\n.-:'), draw.choice([";", "\t", "", "\r\n", " ", '"'])),
            ]
        )
    return text


def attack(seed: int, count: int) -> tuple[Counter[tuple[str, str]], list[str]]:
    """Outcomes by kind of input, and what must not be."""
    draw = random.Random(seed)
    outcomes: Counter[tuple[str, str]] = Counter()
    faults: list[str] = []
    home = Path.cwd()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        os.chdir(folder)
        os.environ |= {"CHILLPLAN_DATA": str(folder / "data"), "CHILLPLAN_JOURNAL": str(folder / "journal.db")}
        every = targets(folder)
        chillplan("batch", "start", "Zizia aurea", "--seeds", "50", "--place", "cool box", "--today", "2026-11-01")
        journal = (folder / "journal.db").read_bytes()
        for number in range(count):
            for path in folder.glob("journal.db*"):
                path.unlink()
            (folder / "journal.db").write_bytes(journal)
            for target in every.values():
                (folder / target.name).write_text(target.sound, encoding="utf-8")
            kind, target = draw.choice(list(every.items()))
            content = damaged(target.sound, draw).encode("utf-8" if draw.random() < 0.95 else "utf-16")
            (folder / target.name).write_bytes(content)
            command = draw.choice(target.commands)
            told = f"seed {seed}, input {number}, {' '.join(command)}"
            try:
                answer = chillplan(*command)
            except Exception:
                outcomes[kind, "fell over"] += 1
                faults.append(f"{told}: {traceback.format_exc().splitlines()[-1]}")
                continue
            outcomes[kind, "answered" if answer.code == 0 else f"refused with {answer.code}"] += 1
            if answer.code not in CODES or "Traceback" in answer.out + answer.err:
                faults.append(f"{told}: code {answer.code}")
            if answer.code != 0 and not answer.err.strip():
                faults.append(f"{told}: code {answer.code} and not a word")
            if target.name != "lots.csv" and (folder / target.name).read_bytes() != content:
                faults.append(f"{told}: the file was changed")
        os.chdir(home)
    return outcomes, faults


if __name__ == "__main__":
    seed, count = (int(word) for word in [*sys.argv[1:], *("1", "200")[len(sys.argv) - 1 :]])
    outcomes, faults = attack(seed, count)
    kinds = sorted({kind for kind, _ in outcomes})
    for kind in kinds:
        print(f"{kind}: " + ", ".join(f"{how} {n}" for (of, how), n in sorted(outcomes.items()) if of == kind))
    for fault in faults:
        print(fault)
    print(json.dumps({"inputs": count, "faults": len(faults)}))
    sys.exit(bool(faults))
