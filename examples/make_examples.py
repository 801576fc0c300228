"""Makes the three example runs anew: ``python examples/make_examples.py [--check]``.

The weather of every example is invented by a seeded generator and belongs to no real place. For each example the
script writes the weather, runs the commands, and keeps what they said (``run.txt``) and the small files they wrote;
the report itself is left in ``plan/report.html`` and is not kept under version control. With ``--check`` everything
is made in a temporary folder and compared with what is kept.
"""

from __future__ import annotations

import argparse
import filecmp
import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

HERE = Path(__file__).resolve().parent
KEPT = ("weather.csv", "run.txt", "plan/calendar.ics", "plan/tasks.csv")


@dataclass(frozen=True)
class Climate:
    """A yearly wave of temperature with weather on it, and rain.

    Attributes
    ----------
    mean, swing : float
        Of the daily mean over the year. [°C]
    restless : float
        Standard deviation of the weather about the wave; a day keeps 0.75 of the day before. [°C]
    span : float
        Mean distance between night and day. [°C]
    wet : float
        Share of days with rain. [-]
    coldest : int
        Day of the year on which the wave is lowest. [day]
    seed : int
    """

    mean: float
    swing: float
    restless: float
    span: float
    wet: float
    coldest: int
    seed: int


EXAMPLES = {
    "cold-hillside": Climate(5.5, 14.5, 4.2, 11.0, 0.33, 18, 20261),
    "mild-coast": Climate(10.8, 5.2, 2.4, 6.5, 0.48, 30, 20262),
    "southern-slope": Climate(9.2, 6.8, 3.0, 10.0, 0.38, 200, 20263),
}
PLACE = "--site site.toml --weather weather.csv"
COMMANDS = {
    "cold-hillside": (
        f"winter {PLACE} --today 2026-09-01",
        f"plan {PLACE} --list list.csv --today 2026-09-01 --out plan",
        f"visits {PLACE} --list list.csv --today 2026-09-01 --weekdays sat,sun --travel 3",
    ),
    "mild-coast": (
        f"winter {PLACE} --today 2026-09-01 --units us",
        f"plan {PLACE} --list list.csv --today 2026-09-01 --units us --paper letter --out plan",
        f"visits {PLACE} --list list.csv --today 2026-09-01 --units us --people 2",
    ),
    "southern-slope": (
        f"winter {PLACE} --today 2027-02-10",
        f"plan {PLACE} --list list.csv --today 2027-02-10 --dates iso --out plan",
        f"visits {PLACE} --list list.csv --today 2027-02-10 --away 2027-04-01..2027-05-15",
    ),
}


def invented_weather(climate: Climate, first: str = "2006-01-01", last: str = "2026-07-31") -> pd.DataFrame:
    """Daily tmin, tmax [°C] and precipitation [mm]."""
    random = np.random.default_rng(climate.seed)
    dates = pd.date_range(first, last, freq="D")
    angle = 2.0 * np.pi * (dates.day_of_year.to_numpy() - climate.coldest) / 365.25
    weather = np.empty(dates.size)
    state = 0.0
    for day, push in enumerate(random.normal(0.0, climate.restless * np.sqrt(1.0 - 0.75**2), dates.size)):
        state = 0.75 * state + push
        weather[day] = state
    year = random.normal(0.0, 0.5, dates.year.max() - dates.year.min() + 1)[dates.year - dates.year.min()]
    middle = climate.mean - climate.swing * np.cos(angle) + weather + year
    half = np.maximum(climate.span / 2.0 + random.normal(0.0, 1.2, dates.size), 0.8)
    rain = np.where(random.random(dates.size) < climate.wet, random.gamma(0.8, 7.0, dates.size), 0.0)
    table = {"tmin": middle - half, "tmax": middle + half, "precipitation": rain}
    return pd.DataFrame(table, index=dates).round(1).rename_axis("date")


def make(name: str, folder: Path) -> None:
    """Make one example in a folder that holds its site and its list."""
    table = invented_weather(EXAMPLES[name])
    note = "# Invented by a seeded generator (examples/make_examples.py); belongs to no real place.\n"
    (folder / "weather.csv").write_text(note + table.to_csv(lineterminator="\n"), encoding="utf-8")
    said = []
    for command in COMMANDS[name]:
        answer = subprocess.run(
            [sys.executable, "-m", "chillplan", *command.split()],
            cwd=folder,
            env={**os.environ, "PYTHONPATH": str(HERE.parent), "PYTHONUTF8": "1"},
            capture_output=True,
            text=True,
            check=False,
        )
        if answer.returncode:
            raise SystemExit(f"{name}: chillplan {command} ended with {answer.returncode}\n{answer.stderr}")
        said.append(f"$ chillplan {command}\n{answer.stdout}{answer.stderr}")
    # Said on the first run after installing, whatever is asked: not part of the answer.
    lines = [line for line in "\n".join(said).splitlines() if not line.startswith("Compiling the model")]
    (folder / "run.txt").write_text("\n".join(line.rstrip() for line in lines) + "\n", encoding="utf-8")


def photograph(page: Path, picture: Path, width: int = 900, height: int = 2400, scale: float = 0.6) -> bool:
    """Keep the top of a report as a small picture; False where Chromium and its driver are not at hand."""
    browser, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if browser is None or driver is None:
        return False
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = browser
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"):
        options.add_argument(argument)
    with webdriver.Chrome(options=options, service=Service(driver)) as window:
        size = {"width": width, "height": height, "deviceScaleFactor": scale, "mobile": False}
        window.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        window.get(page.as_uri())
        for _ in range(600):
            if window.execute_script("return document.documentElement.dataset.charts") == "drawn":
                break
            time.sleep(0.1)
        window.save_screenshot(str(picture))
    return True


def check(name: str) -> list[str]:
    """Kept files that differ from those made now."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / name
        folder.mkdir()
        for given in ("site.toml", "list.csv"):
            shutil.copy(HERE / name / given, folder)
        make(name, folder)
        return [file for file in KEPT if not filecmp.cmp(folder / file, HERE / name / file, shallow=False)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="compare with what is kept instead of replacing it")
    parser.add_argument("names", nargs="*", metavar="NAME", help=f"one of {', '.join(EXAMPLES)}; else all")
    asked = parser.parse_args()
    unknown = sorted(set(asked.names) - set(EXAMPLES))
    if unknown:
        parser.error(f"no example is called {', '.join(unknown)}: use {', '.join(EXAMPLES)}")
    differing = {}
    for name in asked.names or EXAMPLES:
        if asked.check:
            differing[name] = check(name)
            print(f"{name}: {'as kept' if not differing[name] else 'differs in ' + ', '.join(differing[name])}")
        else:
            make(name, HERE / name)
            pictured = photograph(HERE / name / "plan" / "report.html", HERE / name / "report.png")
            print(f"{name}: made{'' if pictured else '; no picture, Chromium and its driver are not at hand'}")
    if any(differing.values()):
        raise SystemExit("run python examples/make_examples.py and look at what changed")


if __name__ == "__main__":
    main()
