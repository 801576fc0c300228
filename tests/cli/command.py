"""Runs the command line in this process and keeps what it said."""

from __future__ import annotations

import contextlib
import io
import sys
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

from chillplan.cli import main
from tests.records import wave_weather

COMPILING = "Compiling the model for this machine: a minute at most, and only once.\n"
"""Said on the first run after installing, whatever is asked."""


@dataclass(frozen=True)
class Answer:
    code: int
    out: str
    err: str


def chillplan(*words: object) -> Answer:
    """Run one command; an exception that is not an exit fails the test with its traceback."""
    out, err = io.StringIO(), io.StringIO()
    argv = ["chillplan", *map(str, words)]
    with mock.patch.object(sys, "argv", argv), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main()
            code = 0
        except SystemExit as stop:
            code = stop.code if isinstance(stop.code, int) else int(stop.code is not None)
    return Answer(code, out.getvalue(), err.getvalue().replace(COMPILING, ""))


def written_record(folder: Path, name: str = "record.csv", **wave: object) -> Path:
    """A plain record of invented weather on disk."""
    path = folder / name
    wave_weather(**wave).round(1).rename_axis("date").to_csv(path)  # type: ignore[arg-type]
    return path
