"""A progress bar on standard error, only where somebody watches."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator

__all__ = ["progress_bar"]


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
