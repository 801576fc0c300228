"""What is said to a terminal or file that cannot take every letter, and JSON that any of them can take."""

from __future__ import annotations

import codecs
import io
import sys
import unicodedata
from typing import Any

__all__ = ["print_json", "soften_streams"]

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
