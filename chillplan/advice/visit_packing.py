"""Which job is done on which day where days are short: one integer program over jobs and days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

__all__ = ["EARLIER", "Job", "JobsAndDays"]

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
