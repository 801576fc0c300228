"""The errors chillplan raises on purpose.

::

    ChillplanError        exit 1
    ├── InputError        exit 2   a value the user gave is wrong
    ├── DataGapError      exit 3   the data are right but too few
    └── SourceError       exit 4   a source of weather could not be reached

Each message says what value, what is wrong and what to do. One error carries all the
problems of one request, so that a user corrects them in one go.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import PurePath

__all__ = ["ChillplanError", "DataGapError", "InputError", "Problems", "SourceError", "counted"]


class ChillplanError(Exception):
    """Base of all errors raised on purpose.

    Parameters
    ----------
    problems : str or iterable of str
        One sentence a problem.
    """

    exit_code = 1

    def __init__(self, problems: str | Iterable[str]) -> None:
        self.problems = (problems,) if isinstance(problems, str) else tuple(problems)
        super().__init__("\n".join(self.problems))


class InputError(ChillplanError):
    """A value the user gave is wrong."""

    exit_code = 2


class DataGapError(ChillplanError):
    """There is too little data to answer."""

    exit_code = 3


class SourceError(ChillplanError):
    """A source of weather could not be reached or answered nonsense."""

    exit_code = 4


class Problems:
    """Collects problems so that all of them are raised at once.

    Examples
    --------
    >>> problems = Problems()
    >>> problems.add("latitude 120 is outside -90 to 90: check the sign and the order")
    >>> problems.raise_if_any()
    Traceback (most recent call last):
    chillplan.errors.InputError: latitude 120 is outside -90 to 90: check the sign and the order
    """

    def __init__(self) -> None:
        self.found: list[str] = []

    def add(self, problem: str) -> None:
        """Note one problem; the same sentence is kept once."""
        if problem not in self.found:
            self.found.append(problem)

    def extend(self, error: ChillplanError) -> None:
        """Take over the problems of an error that was caught."""
        for problem in error.problems:
            self.add(problem)

    def raise_if_any(self) -> None:
        """Raise `InputError` with every problem found, or return."""
        if self.found:
            raise InputError(self.found)


def counted(number: float, noun: str) -> str:
    """A number, rounded to a whole one, with its noun: ``1 day``, ``2 days``."""
    shown = f"{number:.0f}"
    return f"{shown} {noun}{'' if shown == '1' else 's'}"


def quoted(value: object, limit: int = 60) -> str:
    """A user's value made safe and short for a message: one line, no control characters.

    Parameters
    ----------
    value : object
        Anything the user gave.
    limit : int
        Longest text shown; the rest is counted, of a path its end is kept. [characters]
    """
    text = str(value)
    clean = "".join(letter if letter.isprintable() else " " for letter in text)
    if isinstance(value, PurePath) and len(clean) > limit:
        return f"'…{clean[-limit:]}'"
    if len(clean) > limit:
        return f"'{clean[:limit]}' … ({len(text)} characters)"
    return f"'{clean}'"
