"""One line on standard error that tells how far a longer piece of work is."""

from __future__ import annotations

import sys
import time
from types import TracebackType

__all__ = ["ProgressLine", "say_when_compiling"]

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


def say_when_compiling() -> None:
    """Say once on standard error when loops are compiled, which happens on the first run after installing."""
    from numba.core import event

    class Saying(event.Listener):
        said = False

        def on_start(self, _: object) -> None:
            if not Saying.said:
                Saying.said = True
                print("Compiling the model for this machine: a minute at most, and only once.", file=sys.stderr)

        def on_end(self, _: object) -> None:
            """Nothing to say."""

    event.register("numba:compile", Saying())  # type: ignore[no-untyped-call]
