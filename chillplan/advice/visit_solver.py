"""The fewest days on which all that can be done is done: jobs packed into days, days alone as an integer program."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

__all__ = ["Job", "Roster", "roster"]

FloatArray = NDArray[np.floating]
EARLIER = 1e-7  # preference for an earlier day among days of equal risk, too small to outweigh one
WHOLE = 0.5


@dataclass(frozen=True)
class Job:
    """Indivisible work that may be done on any open day from `first` to `last`.

    Attributes
    ----------
    first, last : int
        Positions of days, ends included.
    minutes : int
        [minute]
    """

    first: int
    last: int
    minutes: int


class JobsAndDays:
    """The integer program over jobs and days; jobs of equal window and length are one kind with a count."""

    def __init__(
        self, jobs: Sequence[Job], days: Sequence[int], room: NDArray[np.int_], risk: FloatArray, seconds: float
    ) -> None:
        self.jobs, self.seconds = jobs, seconds
        self.kinds: dict[Job, list[int]] = defaultdict(list)
        for number, job in enumerate(jobs):
            self.kinds[job].append(number)
        self.room, self.risk = room, risk
        self.days = list(days)
        self.pairs = [
            (kind, place)
            for kind, job in enumerate(self.kinds)
            for place, day in enumerate(self.days)
            if job.first <= day <= job.last and job.minutes <= room[day]
        ]

    def solve(self) -> tuple[list[int], bool]:
        """Day by job, and whether every answer was proven."""
        counts = np.array([len(numbers) for numbers in self.kinds.values()], dtype=float)
        if not self.pairs:
            return [-1] * len(self.jobs), True
        pairs, days, kinds = len(self.pairs), len(self.days), len(self.kinds)
        work = -np.concatenate([np.ones(pairs), np.zeros(days)])
        visits = np.concatenate([np.zeros(pairs), np.ones(days)])
        risk = np.array([self.risk[day] + EARLIER * place for place, day in enumerate(self.days)])
        rules = [self._done(np.zeros(kinds), counts), *self._fits(counts)]
        most, sure_of_work = self._ask(work, rules)
        done = round(float(most[:pairs].sum()))
        rules.append(LinearConstraint(_row(work), -np.inf, -done + WHOLE))
        if done == counts.sum():
            rules[0] = self._done(counts, counts)
        fewest, sure_of_visits = self._ask(visits, rules)
        limit = round(float(fewest[pairs:].sum()))
        rules.append(LinearConstraint(_row(visits), 0, limit + WHOLE))
        safest, sure_of_risk = self._ask(np.concatenate([np.zeros(pairs), risk]), rules)
        return self._spread(safest[:pairs]), sure_of_work and sure_of_visits and sure_of_risk

    def all_done(self) -> list[int] | None:
        """Day by job with every job done on the days given, or None."""
        counts = np.array([len(numbers) for numbers in self.kinds.values()], dtype=float)
        if not self.pairs:
            return None
        work = -np.concatenate([np.ones(len(self.pairs)), np.zeros(len(self.days))])
        most, _ = self._ask(work, [self._done(np.zeros(counts.size), counts), *self._fits(counts)])
        places = self._spread(most[: len(self.pairs)])
        return None if -1 in places else places

    def _done(self, low: FloatArray, high: FloatArray) -> LinearConstraint:
        """Every job of a kind is done at most, or exactly, once."""
        rows = [kind for kind, _ in self.pairs]
        return LinearConstraint(
            self._matrix(rows, range(len(self.pairs)), np.ones(len(rows)), len(self.kinds)), low, high
        )

    def _fits(self, counts: FloatArray) -> list[LinearConstraint]:
        """The day's work fits into the day, and is done only on a day of a visit."""
        pairs, days = len(self.pairs), len(self.days)
        jobs = list(self.kinds)
        rooms = np.array([self.room[day] for day in self.days], dtype=float)
        minutes = np.array([jobs[kind].minutes for kind, _ in self.pairs], dtype=float)
        places = np.array([place for _, place in self.pairs])
        load = self._matrix([*places, *range(days)], range(pairs + days), np.concatenate([minutes, -rooms]), days)
        most = np.minimum(counts[[kind for kind, _ in self.pairs]], rooms[places] // minutes)
        link = self._matrix(
            [*range(pairs), *range(pairs)],
            [*range(pairs), *(pairs + places)],
            np.concatenate([np.ones(pairs), -most]),
            pairs,
        )
        return [LinearConstraint(load, -np.inf, 0.0), LinearConstraint(link, -np.inf, 0.0)]

    def _matrix(
        self, rows: Sequence[int], columns: Sequence[int] | range, values: FloatArray, height: int
    ) -> coo_array:
        return coo_array(
            (values, (np.asarray(rows), np.asarray(columns))), shape=(height, len(self.pairs) + len(self.days))
        )

    def _ask(self, cost: FloatArray, rules: list[LinearConstraint]) -> tuple[FloatArray, bool]:
        kinds = list(self.kinds.values())
        high = [len(kinds[kind]) for kind, _ in self.pairs] + [1] * len(self.days)
        answer = milp(
            cost,
            constraints=rules,
            integrality=np.ones(cost.size, dtype=int),
            bounds=Bounds(0, high),
            options={"mip_rel_gap": 0.0, "time_limit": self.seconds},
        )
        if answer.x is None:
            raise RuntimeError(f"the solver gave no answer: {answer.message}")
        return np.round(answer.x), answer.status == 0

    def _spread(self, amounts: FloatArray) -> list[int]:
        left = {kind: list(numbers) for kind, numbers in enumerate(self.kinds.values())}
        day_of = [-1] * len(self.jobs)
        for (kind, place), amount in zip(self.pairs, amounts, strict=True):
            for _ in range(round(float(amount))):
                day_of[left[kind].pop(0)] = self.days[place]
        return day_of


def _row(values: FloatArray) -> FloatArray:
    return values[None, :]


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
