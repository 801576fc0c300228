"""Plants faults of each kind into real daily records and counts how many the quality checks find.

    python examples/quality_checks/planted_faults.py [RECORD ...]

Without a record the two station files of the package aquacrop are used (Champion, Nebraska, and Brussels). The
thresholds of the checks are the published ones; nothing here is fitted. Each trial plants one fault at a random day
of a fresh copy of the record; a fault counts as found when any check flags a day that was planted. Days flagged that
were not planted and were not flagged before are false alarms; of a copy the original is flagged too, which no
check on one station can avoid, and is not counted.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from chillplan.weather.quality import quality_findings
from chillplan.weather.read import read_weather

TRIALS = 20
Days = np.ndarray
Fault = Callable[[pd.DataFrame, np.random.Generator], Days]


def _start(daily: pd.DataFrame, random: np.random.Generator, length: int = 1) -> int:
    """A random day after which ``length`` days are known."""
    known = daily[["tmin", "tmax"]].notna().all(axis=1).to_numpy()
    while True:
        at = int(random.integers(5, len(daily) - length - 40))
        if known[at - 2 : at + length + 2].all():
            return at


def _set(daily: pd.DataFrame, name: str, at: int, values: object) -> Days:
    column = daily.columns.get_loc(name)
    count = len(np.atleast_1d(values))
    daily.iloc[at : at + count, column] = values
    return np.arange(at, at + count)


def fahrenheit_week(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random, 7)
    for name in ("tmin", "tmax"):
        days = _set(daily, name, at, (daily[name].iloc[at : at + 7] * 1.8 + 32).to_numpy())
    return days


def shifted_decimal(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random)
    return _set(daily, "tmax", at, [daily["tmax"].iloc[at] * 10])


def lost_minus(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    cold = np.flatnonzero((daily["tmin"] < -12.0).to_numpy())
    if cold.size == 0:
        return np.array([], dtype=int)
    at = int(random.choice(cold))
    return _set(daily, "tmin", at, [-daily["tmin"].iloc[at]])


def spike_of_30(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random)
    return _set(daily, "tmax", at, [daily["tmax"].iloc[at] + 30.0])


def spike_of_15(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random)
    return _set(daily, "tmax", at, [daily["tmax"].iloc[at] + 15.0])


def exchanged_day(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random)
    low, high = daily["tmin"].iloc[at], daily["tmax"].iloc[at]
    _set(daily, "tmin", at, [high])
    return _set(daily, "tmax", at, [low])


def stuck_25_days(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random, 25)
    return _set(daily, "tmin", at, np.full(25, daily["tmin"].iloc[at]))


def stuck_10_days(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random, 10)
    return _set(daily, "tmin", at, np.full(10, daily["tmin"].iloc[at]))


def zeros_for_missing(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random, 3)
    _set(daily, "tmin", at, np.zeros(3))
    return _set(daily, "tmax", at, np.zeros(3))


def copied_month(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    dates = pd.DatetimeIndex(daily.index)
    full = daily.groupby([dates.year, dates.month])["tmin"].count()
    months = [key for key, count in full.items() if count >= 28]
    source, target = (months[int(at)] for at in random.choice(len(months), 2, replace=False))
    return _copy(daily, *((dates.year == year) & (dates.month == month) for year, month in (source, target)), 28)


def copied_year(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    dates = pd.DatetimeIndex(daily.index)
    full = daily.groupby(dates.year)["tmin"].count()
    source, target = random.choice(full.index[full >= 365].to_numpy(), 2, replace=False)
    return _copy(daily, dates.year == source, dates.year == target, 59)


def _copy(daily: pd.DataFrame, source: np.ndarray, target: np.ndarray, count: int) -> Days:
    where = [np.flatnonzero(mask)[:count] for mask in (source, target)]
    for name in ("tmin", "tmax"):
        values = daily[name].to_numpy().copy()
        values[where[1]] = values[where[0]]
        daily[name] = values
    return where[1]


def day_of_another_season(daily: pd.DataFrame, random: np.random.Generator) -> Days:
    at = _start(daily, random, 183)
    for name in ("tmin", "tmax"):
        days = _set(daily, name, at, [daily[name].iloc[at + 182]])
    return days


FAULTS: dict[str, Fault] = {
    "a week in Fahrenheit": fahrenheit_week,
    "decimal point lost (times ten)": shifted_decimal,
    "minus sign lost below -12": lost_minus,
    "one day 30 degrees too warm": spike_of_30,
    "one day 15 degrees too warm": spike_of_15,
    "tmin and tmax exchanged": exchanged_day,
    "stuck for 25 days": stuck_25_days,
    "stuck for 10 days": stuck_10_days,
    "zeros for missing (3 days)": zeros_for_missing,
    "a month copied over another": copied_month,
    "a year's start copied over another's": copied_year,
    "a day of the other half-year": day_of_another_season,
}


def flagged(daily: pd.DataFrame) -> set[int]:
    dates = pd.DatetimeIndex(daily.index)
    return {int(at) for finding in quality_findings(daily) for at in dates.get_indexer(finding.dates)}


def measure(record: Path, units: str | None = None) -> pd.DataFrame:
    daily = read_weather([record], units=units, repair=False)[0].daily[["tmin", "tmax"]]
    before = flagged(daily)
    random = np.random.default_rng(2026)
    rows = []
    for name, fault in FAULTS.items():
        found = planted = alarms = 0
        for _ in range(TRIALS):
            copy = daily.copy()
            days = fault(copy, random)
            if not len(days):
                continue
            now = flagged(copy)
            planted += 1
            found += bool(now & set(days.tolist()))
            alarms += 0 if "copied" in name else len(now - before - set(days.tolist()))
        rows.append((name, planted, found, alarms))
    table = pd.DataFrame(rows, columns=["fault", "planted", "found", "false alarms, days"])
    known = int(daily.notna().all(axis=1).sum())
    print(f"\n{record.name}: {known} days; flagged as they are: {len(before)} ({len(before) / known:.3%})")
    print(table.to_string(index=False))
    return table.set_index("fault")


def default_records() -> list[Path]:
    import aquacrop

    folder = Path(aquacrop.__file__).parent / "data"
    return [folder / "champion_climate.txt", folder / "brussels_climate.txt"]


if __name__ == "__main__":
    tables = [measure(Path(name)) for name in sys.argv[1:]] or [measure(path) for path in default_records()]
    total = sum(tables[1:], tables[0])
    total["found, share"] = (total["found"] / total["planted"]).round(2)
    print("\nAll records together")
    print(total.to_string())
