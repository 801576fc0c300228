"""Options of the commands that use a journal, and how they open it."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli.options import Only, TodayOption

if TYPE_CHECKING:
    from chillplan.journal.store import Journal

__all__ = [
    "DateOption",
    "JournalOption",
    "NoteOption",
    "clock",
    "day_option",
    "past_day",
    "read_only",
    "usual_order",
    "writable",
]

JournalOption = Annotated[
    Path | None,
    typer.Option(
        "--journal",
        envvar="CHILLPLAN_JOURNAL",
        help="Journal file; else the environment variable, else journal.db in your data folder (CHILLPLAN_DATA).",
    ),
]
DateOption = Annotated[
    str | None, typer.Option("--date", help="When it happened: YYYY-MM-DD, yesterday, 28 Oct, 10/28; else today.")
]
NoteOption = Annotated[str, typer.Option("--note", help="Anything worth remembering.")]


@dataclass(frozen=True)
class Entry:
    """When something happened, what was noted, and in which journal."""

    note: NoteOption = ""
    on: DateOption = None
    journal: JournalOption = None
    today: TodayOption = None

    @cached_property
    def now(self) -> datetime:
        """The local clock, or noon of the day that ``--today`` names."""
        return clock(self.today)

    @property
    def day(self) -> date | None:
        """The day it happened; None where it is not said."""
        return past_day("--date", self.on, self.now)

    def opened(self, create: bool = False) -> Journal:
        """The journal, to write in it."""
        return writable(self.journal, self.now.date(), create)


JOURNAL = Only("journal", "today")
"""What a command takes that enters nothing of its own."""
UNNOTED = Only(but=("note",))


def clock(today: str | None) -> datetime:
    """The local clock, or noon of the day that ``--today`` names.

    Raises
    ------
    InputError
        If it is not a date.
    """
    named = day_option("--today", today)
    return datetime.now() if named is None else datetime.combine(named, time(12))


def past_day(option: str, text: str | None, now: datetime) -> date | None:
    """A day that is over, as the grower says it: ``yesterday``, ``10/28`` by the reader's order of dates.

    Raises
    ------
    InputError
        If it is not a date.
    """
    from chillplan.cli.values import day
    from chillplan.errors import Problems

    problems = Problems()
    found = day(problems, option, text, now.date(), usual_order())
    problems.raise_if_any()
    return found


def usual_order() -> str:
    """Order of day and month where the reader lives, by the locale; empty where it says nothing."""
    import os

    place = next((os.environ[name] for name in ("LC_ALL", "LC_TIME", "LANG") if os.environ.get(name)), "")
    if place.startswith("en_US"):
        return "mdy"
    return "dmy" if "_" in place else ""


def day_option(option: str, text: str | None) -> date | None:
    """The day an option names, or None where it is not given.

    Raises
    ------
    InputError
        If it is not a date.
    """
    from chillplan.cli.values import day
    from chillplan.errors import Problems

    problems = Problems()
    found = day(problems, option, text)
    problems.raise_if_any()
    return found


def journal_path(journal: Path | None) -> Path:
    """The file that is meant."""
    if journal is not None:
        return journal
    from chillplan.data_files import data_folder

    return data_folder() / "journal.db"


def writable(journal: Path | None, today: date, create: bool = False) -> Journal:
    """Open the journal to write in it; what the user should know goes to standard error."""
    from chillplan.journal.store import open_journal

    path = journal_path(journal)
    if create and not path.exists():
        _tell(f"new journal {path}")
    opened = open_journal(path, today, create)
    for note in opened.notes:
        _tell(note)
    return opened


def _tell(text: str) -> None:
    print(f"chillplan: {text}", file=sys.stderr)


def read_only(journal: Path | None) -> Journal:
    """Open the journal to read it."""
    from chillplan.journal.store import read_journal

    return read_journal(journal_path(journal))
