"""What is said beside the answer, in letters that the terminal or file can take: JSON, how far a piece of work is."""

from __future__ import annotations

import codecs
import contextlib
import functools
import io
import sys
import time
import unicodedata
from collections.abc import Callable, Iterator
from types import TracebackType
from typing import Any

__all__ = ["ProgressLine", "print_json", "progress_bar", "say_when_compiling", "soften_streams"]

# One letter for one, so that columns stay under one another.
STAND_INS = {"°": "o", "–": "-", "—": "-", "─": "-", "…": ".", "’": "'", "×": "x", "²": "2", "│": "|"}
NAME = "chillplan-plain"


def soften_streams() -> None:
    """Let standard output and error write the nearest plain letter where theirs is not to be had."""
    codecs.register_error(NAME, _nearest)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and not _takes_all(stream):
            stream.reconfigure(errors=NAME)


def print_json(answer: Any) -> None:
    """Print an answer as JSON; where the output cannot take every letter, letters beyond ASCII are escaped."""
    import json

    print(json.dumps(answer, ensure_ascii=not _takes_all(sys.stdout), indent=1))


def _takes_all(stream: Any) -> bool:
    return (getattr(stream, "encoding", None) or "utf-8").lower().replace("_", "-").startswith("utf")


def _nearest(error: UnicodeError) -> tuple[str, int]:
    """Stand-ins for letters that cannot be encoded: a plain sign, the letter without its accent, or ``?``."""
    assert isinstance(error, UnicodeEncodeError)
    letters = error.object[error.start : error.end]
    return "".join(STAND_INS.get(letter, _bare(letter)) for letter in letters), error.end


def _bare(letter: str) -> str:
    base = unicodedata.normalize("NFKD", letter)[0]
    return base if base.isascii() else "?"


@contextlib.contextmanager
def progress_bar(title: str) -> Iterator[Callable[[int, int, str], None]]:
    """Give a function that is told how many of how many steps are done, and what is going on."""
    if not sys.stderr.isatty():
        yield lambda done, count, what: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=None)
        yield lambda done, count, what: bar.update(task, completed=done, total=count, description=f"{title}: {what}")


SILENT_SECONDS = 1.0  # nothing is shown for work shorter than this
WIDTH = 70


class ProgressLine:
    """Shows the text it is called with, once a second has passed, where standard error is a terminal.

    Parameters
    ----------
    silent : float
        For so long nothing is shown. [s]

    Examples
    --------
    >>> with ProgressLine() as progress:
    ...     progress("1 of 2")
    """

    def __init__(self, silent: float = SILENT_SECONDS) -> None:
        self.begun = time.monotonic()
        self.silent = silent
        self.shown = False

    def __call__(self, text: str) -> None:
        """Show a text in place of the one before."""
        if sys.stderr.isatty() and time.monotonic() - self.begun >= self.silent:
            self.shown = True
            print(f"\r{text[:WIDTH]:<{WIDTH}}", end="", file=sys.stderr, flush=True)

    def __enter__(self) -> ProgressLine:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.shown:
            print(f"\r{'':<{WIDTH}}\r", end="", file=sys.stderr, flush=True)


@functools.cache
def say_when_compiling() -> None:
    """Say once on standard error when loops are compiled, which happens on the first run after installing."""
    from numba.core import event

    class Saying(event.Listener):
        said = False

        def on_start(self, _: object) -> None:
            if not self.said:
                self.said = True
                print("Compiling the model for this machine: a minute at most, and only once.", file=sys.stderr)

        def on_end(self, _: object) -> None:
            """Nothing to say."""

    event.register("numba:compile", Saying())  # type: ignore[no-untyped-call]
