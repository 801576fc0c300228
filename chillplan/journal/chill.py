"""Chill done on what was measured: how far a batch is, what warm days cost, when it will be done."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate, pairwise
from typing import NamedTuple

from chillplan.journal.store import Journal
from chillplan.seasons.response import REVERSAL_LOSS, response_share

__all__ = [
    "Ledger",
    "PhasePlan",
    "PhaseProgress",
    "Spell",
    "cold_left",
    "filled_between",
    "ledger_of",
    "phase_progress",
    "place_means",
]

LONGEST_BRIDGE = 7
"""Days without a reading that a straight line may bridge; beyond, the set temperature is assumed. Our choice. [day]"""
ROUNDING = 1e-9
LEAST_PACE = 0.01
"""A phase that gains less in a day is not foreseen to end. Our choice. [-]"""
OUTLOOK_DAYS = 14
"""What the pace of this many last days would come to, if it stayed so, is told beside the finish. Our choice. [day]"""


class PhasePlan(NamedTuple):
    """What a running phase needs."""

    kind: str  # ``cold`` or ``warm``
    days: tuple[float, float]  # [day]
    response: tuple[float, float, float, float]  # [°C]
    temperature: tuple[float, float]  # range to hold [°C]
    reversal: float = math.inf  # daily mean above which chill is undone; infinite where that does not apply [°C]


@dataclass(frozen=True)
class Spell:
    """Days in a row out of the range to hold."""

    first: date
    last: date
    side: str  # ``warm`` or ``cold``
    extreme: float  # highest or lowest daily mean [°C]
    cost: float  # days of the phase it cost [day]


class PhaseProgress(NamedTuple):
    """How far a phase is."""

    elapsed: int  # whole days since it began [day]
    done: float  # days that count [day]
    # days with readings, between readings, and at the set temperature [day]
    measured: int
    bridged: int
    assumed: int
    pace: float  # share of a day gained a day of late [-]
    # when the low and the high end of the days needed are reached, the days to come as the place is set; None where a
    # day at that setting gives nothing
    early: date | None
    finish: date | None
    if_so: date | None  # the finish if the pace of late stayed so; None where that pace is nothing
    planned: date  # when the high end would have been reached had every day counted
    spells: tuple[Spell, ...]
    # days done less what warm days undid since, those after the phase was complete too: finished seed kept warm falls
    # asleep again [day]
    left: float

    @property
    def moved(self) -> int | None:
        """Days by which the finish is later than planned; None where it is not foreseeable."""
        return None if self.finish is None else (self.finish - self.planned).days


def place_means(journal: Journal, first: date) -> dict[str, dict[int, float]]:
    """Daily mean of the readings of every place since a day.

    Returns
    -------
    dict of str to dict of int to float
        By place, then by ordinal of the day. A day's mean is over its readings, however many. [°C]
    """
    rows = journal.rows(
        "SELECT place, substr(at, 1, 10) AS day, avg(temperature) AS mean FROM readings WHERE at >= ? "
        "GROUP BY place, substr(at, 1, 10)",
        (first.isoformat(),),
    )
    means: dict[str, dict[int, float]] = {}
    for place, day, mean in rows:
        means.setdefault(place, {})[date.fromisoformat(day).toordinal()] = mean
    return means


def filled_between(means: Mapping[int, float]) -> dict[int, float]:
    """Days between two readings at most `LONGEST_BRIDGE` apart, on a straight line; measured days are not repeated."""
    days = sorted(means)
    between: dict[int, float] = {}
    for left, right in pairwise(days):
        if 1 < right - left <= LONGEST_BRIDGE:
            slope = (means[right] - means[left]) / (right - left)
            between |= {day: means[left] + slope * (day - left) for day in range(left + 1, right)}
    return between


@dataclass(frozen=True)
class Ledger:
    """The days of one place, from a first day to yesterday, and what each gives a phase."""

    first: int  # ordinal of the first day
    temperatures: list[float]  # measured, bridged or as set [°C]
    gains: list[float]  # share of each day; below zero above the reversal temperature [-]
    total: list[float]  # sum of the gains before each day; one longer than the days [day]
    # days of that kind before each day
    measured: list[int]
    bridged: list[int]
    undone: list[int]  # days above the reversal temperature before each day
    usual: float  # share of a day at the set temperature [-]


def ledger_of(
    response: tuple[float, float, float, float],
    reversal: float,
    first: date,
    today: date,
    means: Mapping[int, float],
    between: Mapping[int, float],
    set_temperature: float,
) -> Ledger:
    """Write down the days of a place.

    Parameters
    ----------
    response : tuple of four floats
        [°C]
    reversal : float
        [°C]
    first, today : datetime.date
        Today itself is not over and does not count yet.
    means, between : mapping of int to float
        Daily means of the place, and the days bridged (`filled_between`). [°C]
    set_temperature : float
        Stands in for every other day. [°C]
    """
    days = range(first.toordinal(), today.toordinal())
    temperatures = [means[day] if day in means else between.get(day, set_temperature) for day in days]
    *gains, usual = (
        -REVERSAL_LOSS if value > reversal else response_share(value, response)
        for value in (*temperatures, set_temperature)
    )
    return Ledger(
        days.start,
        temperatures,
        gains,
        [0.0, *accumulate(gains)],
        [0, *accumulate(day in means for day in days)],
        [0, *accumulate(day in between for day in days)],
        [0, *accumulate(value > reversal for value in temperatures)],
        usual,
    )


def phase_progress(plan: PhasePlan, started_on: date, ledger: Ledger, spells: bool = True) -> PhaseProgress:
    """Add up a phase from its start to the end of a ledger.

    Parameters
    ----------
    plan : PhasePlan
    started_on : datetime.date
        Not before the ledger's first day.
    ledger : Ledger
        Of the plan's response and reversal temperature.
    spells : bool
        Also look for days out of range.
    """
    begin = min(max(started_on.toordinal() - ledger.first, 0), len(ledger.gains))
    gains = ledger.gains[begin:]
    low, high = plan.days
    if ledger.undone[-1] == ledger.undone[begin]:
        done = ledger.total[-1] - ledger.total[begin]
        reached = [bisect_left(ledger.total, ledger.total[begin] + days - ROUNDING) for days in (low, high)]
    else:
        walked = _walked(gains, high)
        done = walked[-1]
        reached = [begin + bisect_left(list(accumulate(walked, max)), days - ROUNDING) for days in (low, high)]
    recent = gains[-OUTLOOK_DAYS:] or [ledger.usual]
    pace = max(0.0, sum(recent) / len(recent))
    today = date.fromordinal(ledger.first + len(ledger.gains))
    measured = ledger.measured[-1] - ledger.measured[begin]
    bridged = ledger.bridged[-1] - ledger.bridged[begin]
    return PhaseProgress(
        len(gains),
        done,
        measured,
        bridged,
        len(gains) - measured - bridged,
        pace,
        _date(ledger.first + reached[0], low - done, ledger.usual, today),
        _date(ledger.first + reached[1], high - done, ledger.usual, today),
        _date(ledger.first + reached[1], high - done, pace, today),
        started_on + timedelta(days=math.ceil(plan.days[1])),
        _spells(plan, ledger, begin) if spells else (),
        cold_left(ledger, started_on, 0.0),
    )


def cold_left(ledger: Ledger, since: date, had: float) -> float:
    """Days of a phase that are left at the end of a ledger.

    Parameters
    ----------
    ledger : Ledger
    since : datetime.date
    had : float
        Days done by then. [day]
    """
    begin = min(max(since.toordinal() - ledger.first, 0), len(ledger.gains))
    if ledger.undone[-1] == ledger.undone[begin]:
        return had + ledger.total[-1] - ledger.total[begin]
    for gain in ledger.gains[begin:]:
        had = max(0.0, had + gain)
    return had


def _walked(gains: list[float], needed: float) -> list[float]:
    """Days done before each day where some were lost again, one longer than the days.

    Never below nothing, and nothing is lost once the phase is complete.
    """
    done = [0.0]
    for gain in gains:
        complete = done[-1] >= needed
        done.append(done[-1] if gain < 0.0 and complete else max(0.0, done[-1] + gain))
    return done


def _spells(plan: PhasePlan, ledger: Ledger, begin: int) -> tuple[Spell, ...]:
    """Spells out of range; a day costs what it would have given and what it undid of what was done by then."""
    low, high = plan.temperature
    walked = _walked(ledger.gains[begin:], plan.days[1])
    found: list[Spell] = []
    for index in range(begin, len(ledger.gains)):
        temperature = ledger.temperatures[index]
        if not low <= temperature <= high:
            side = "warm" if temperature > high else "cold"
            cost = 1.0 - (walked[index - begin + 1] - walked[index - begin])
            _extend(found, ledger.first + index, temperature, side, cost)
    return tuple(found)


def _extend(spells: list[Spell], day: int, temperature: float, side: str, cost: float) -> None:
    today = date.fromordinal(day)
    if spells and spells[-1].side == side and (today - spells[-1].last).days == 1:
        last = spells.pop()
        worse = max if side == "warm" else min
        spells.append(Spell(last.first, today, side, worse(last.extreme, temperature), last.cost + cost))
    else:
        spells.append(Spell(today, today, side, temperature, cost))


def _date(reached: int, owed: float, pace: float, today: date) -> date | None:
    """The day on which enough was done, or is foreseen to be; `reached` lies past the ledger where it is not yet."""
    if reached <= today.toordinal():
        return date.fromordinal(reached)
    if pace < LEAST_PACE:
        return None
    return today + timedelta(days=math.ceil(owed / pace - ROUNDING))
