"""Fewest days that cover windows of work, exactly.

Windows that touch are solved together. Where all the work can be done, whole days are chosen by an integer program
over days alone, whose rows are added as they are found broken:

- the work that must lie within an interval of days needs that much room on the days visited in it (Hall's condition,
  which decides for intervals whether divisible work can be placed);
- the same divided by the longest day and rounded up is a number of visits;
- days on which the indivisible jobs cannot be packed need one more day from outside.

Each row holds for every possible roster, so a choice of days that also packs is the best there is. Where the work
cannot all be done, one integer program over jobs and days decides what is left over.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from chillplan.advice.visit_packing import EARLIER, Job, JobsAndDays

__all__ = ["Roster", "roster"]

FloatArray = NDArray[np.floating]
WHOLE = 0.5
ROUNDS = 200  # questions asked over days alone before the program over jobs and days takes over
ROWS_A_ROUND = 20


@dataclass(frozen=True)
class Roster:
    """Which job is done on which day.

    Attributes
    ----------
    day_of : tuple of int
        Day position by job; -1 where the job finds no room.
    proven : bool
        The solver proved that no other choice of days is better.
    """

    day_of: tuple[int, ...]
    proven: bool


def roster(jobs: Sequence[Job], room: NDArray[np.int_], risk: FloatArray, seconds: float = 60.0) -> Roster:
    """Do as many jobs as can be done, on as few days as can be, at the lowest sum of risk, in this order.

    Parameters
    ----------
    room : numpy.ndarray of int, shape (day,)
        Working minutes of each day; 0 closes it. [minute]
    risk : numpy.ndarray, shape (day,)
        0 to 1. [-]
    seconds : float
        Time after which the solver gives its best answer so far, for each of its questions.
    """
    day_of = [-1] * len(jobs)
    proven = True
    for members in _touching(jobs):
        part = [jobs[number] for number in members]
        found, sure = _solve(part, room, risk, seconds)
        proven &= sure
        for number, day in zip(members, found, strict=True):
            day_of[number] = day
    return Roster(tuple(day_of), proven)


def _touching(jobs: Sequence[Job]) -> list[list[int]]:
    """Groups of jobs whose windows overlap, directly or through others."""
    groups: list[list[int]] = []
    reach = -1
    for number in sorted(range(len(jobs)), key=lambda number: (jobs[number].first, jobs[number].last)):
        if not groups or jobs[number].first > reach:
            groups.append([])
        groups[-1].append(number)
        reach = max(reach, jobs[number].last)
    return groups


def _solve(jobs: list[Job], room: NDArray[np.int_], risk: FloatArray, seconds: float) -> tuple[list[int], bool]:
    """Day by job of one group, and whether it is proven."""
    days = [day for day in range(min(j.first for j in jobs), max(j.last for j in jobs) + 1) if room[day] > 0]
    if _packed(jobs, days, room) is not None:
        days = _worthwhile(days, jobs, room, risk)
        found = _Days(jobs, days, room, risk, seconds).choose()
        if found is not None:
            return found, True
    return JobsAndDays(jobs, _worthwhile(days, jobs, room, risk), room, risk, seconds).solve()


def _packed(jobs: Sequence[Job], days: Sequence[int], room: NDArray[np.int_]) -> list[int] | None:
    """Put the job whose window closes first on the earliest day with room; None where that fails."""
    left = {day: int(room[day]) for day in days}
    places = [-1] * len(jobs)
    for number in sorted(range(len(jobs)), key=lambda number: (jobs[number].last, -jobs[number].minutes)):
        job = jobs[number]
        fits = (day for day in days if job.first <= day <= job.last and left[day] >= job.minutes)
        places[number] = next(fits, -1)
        if places[number] < 0:
            return None
        left[places[number]] -= job.minutes
    return places


class _Days:
    """The integer program over days alone."""

    def __init__(
        self, jobs: list[Job], days: list[int], room: NDArray[np.int_], risk: FloatArray, seconds: float
    ) -> None:
        self.jobs, self.room, self.seconds = jobs, room, seconds
        self.days = np.array(days)
        self.rooms = room[self.days].astype(float)
        self.risk = np.asarray(risk, dtype=float)[self.days] + EARLIER * np.arange(len(days))
        self.starts = np.unique([job.first for job in jobs])
        self.ends = np.unique([job.last for job in jobs])
        self.work = self._work()
        self.low = np.searchsorted(self.days, self.starts)
        self.high = np.searchsorted(self.days, self.ends, side="right")
        self.rows: list[FloatArray] = []
        self.least: list[float] = []
        self._add_counts()

    def choose(self) -> list[int] | None:
        """Day by job, or None where the questions run out."""
        for _ in range(ROUNDS):
            fewest = self._ask(np.ones(self.days.size))
            if fewest is None:
                return None
            if self._mend(fewest):
                continue
            visits = LinearConstraint(np.ones((1, self.days.size)), 0, fewest.sum() + WHOLE)
            safest = self._ask(self.risk, visits)
            if safest is None:
                return None
            if self._mend(safest):
                continue
            chosen = self.days[safest].tolist()
            places = (
                _packed(self.jobs, chosen, self.room)
                or JobsAndDays(self.jobs, chosen, self.room, np.zeros(self.room.size), self.seconds).all_done()
            )
            if places is not None:
                return places
            self._add((~safest).astype(float), 1.0)
        return None

    def _work(self) -> FloatArray:
        """Minutes of work that must be done from each start to each end; shape (start, end). [minute]"""
        table = np.zeros((self.starts.size, self.ends.size))
        for job in self.jobs:
            table[np.searchsorted(self.starts, job.first), np.searchsorted(self.ends, job.last)] += job.minutes
        return np.asarray(np.cumsum(np.cumsum(table[::-1], axis=0)[::-1], axis=1))

    def _add_counts(self) -> None:
        """Visits each interval needs at least, where no smaller interval says as much."""
        longest = np.ones_like(self.work)
        for row, low in enumerate(self.low):
            running = np.maximum.accumulate(self.rooms[low:]) if low < self.days.size else np.zeros(0)
            for column, high in enumerate(self.high):
                longest[row, column] = running[high - low - 1] if high > low else 1.0
        need = np.ceil(self.work / longest - 1e-9)
        said = np.zeros_like(need)
        said[:-1] = need[1:]
        said[:, 1:] = np.maximum(said[:, 1:], need[:, :-1])
        for row, column in np.argwhere(need > said):
            self._add(self._between(row, column), need[row, column])

    def _between(self, row: int, column: int) -> FloatArray:
        inside = np.zeros(self.days.size)
        inside[self.low[row] : self.high[column]] = 1.0
        return inside

    def _mend(self, chosen: NDArray[np.bool_]) -> bool:
        """Add the intervals whose work does not fit into the days chosen; False where all fits."""
        total = np.concatenate([[0.0], np.cumsum(self.rooms * chosen)])
        high = np.maximum(self.high[None, :], self.low[:, None])
        missing = self.work - (total[high] - total[self.low[:, None]])
        worst = np.argsort(missing, axis=None)[::-1][:ROWS_A_ROUND]
        broken = [index for index in worst if missing.flat[index] > 1e-6]
        for index in broken:
            row, column = divmod(int(index), self.ends.size)
            self._add(self._between(row, column) * self.rooms, self.work[row, column])
        return bool(broken)

    def _add(self, row: FloatArray, least: float) -> None:
        self.rows.append(row)
        self.least.append(float(least))

    def _ask(self, cost: FloatArray, *more: LinearConstraint) -> NDArray[np.bool_] | None:
        answer = milp(
            cost,
            constraints=[LinearConstraint(np.array(self.rows), np.array(self.least), np.inf), *more],
            integrality=np.ones(cost.size, dtype=int),
            bounds=Bounds(0, 1),
            options={"mip_rel_gap": 0.0, "time_limit": self.seconds},
        )
        return None if answer.status != 0 else np.asarray(answer.x > WHOLE)


def _worthwhile(days: list[int], jobs: Sequence[Job], room: NDArray[np.int_], risk: FloatArray) -> list[int]:
    """Drop a day beside which as many days stand, at least as good for the same jobs, as could ever be visited.

    A best choice uses no more days of such a set than it has jobs, and no two of them are both less than half full
    (they would be joined), so one of the better days is free and can take the place of the dropped one.
    """
    groups: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for day in days:
        groups[tuple(number for number, job in enumerate(jobs) if job.first <= day <= job.last)].append(day)
    kept: list[int] = []
    for members, group in groups.items():
        minutes = sum(jobs[number].minutes for number in members)
        smallest = min(int(room[day]) for day in group)
        needed = min(len(members), 2 * -(-minutes // smallest) + 1)
        kept += [day for day in group if _betters(day, group, room, risk) < needed]
    return sorted(kept)


def _betters(day: int, group: list[int], room: NDArray[np.int_], risk: FloatArray) -> int:
    """Days of a group at least as good as a day, ties going to the earlier one."""
    mine = (float(risk[day]), day)
    return sum(1 for other in group if room[other] >= room[day] and (float(risk[other]), other) < mine)
