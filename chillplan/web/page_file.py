"""A file of the page: its parts put together, its entries field by field, each checked."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from chillplan.errors import InputError, quoted

__all__ = ["MARK", "Fields", "day_of", "moment_of", "number_of", "read_page_file", "text_of", "told_of", "whole_of"]

MARK = "chillplan page"
"""Kind of the file that the page gives back."""
FORMAT = 1
LONGEST_FILE = 20_000_000
"""Of a file of entries; 300 entries take 60 kB. [byte]"""
AHEAD = timedelta(days=1)
"""A phone's clock may be this much ahead of the laptop's."""
PART = re.compile(r"chillplan ([0-9a-f]+) (\d+)/(\d+) (.*)", re.DOTALL)

Fields = Mapping[str, Any]


def read_page_file(path: Path) -> dict[str, Any] | None:
    """The content of a file of the page; None where it is another kind of file.

    Parameters
    ----------
    path : pathlib.Path
        JSON, or the parts of its QR codes in any order, one a line.

    Raises
    ------
    InputError
        If it is not there, or of the page but damaged or incomplete.
    """
    try:
        if not path.exists():
            raise InputError(f"{quoted(path)} is not there: check the name of the file and the folder you stand in")
        if not path.is_file() or path.stat().st_size > LONGEST_FILE:
            return None
        text = path.read_text(encoding="utf-8-sig").strip()
    except (OSError, UnicodeDecodeError):
        return None
    if PART.match(text):
        text = _joined(text, path)
    elif MARK not in text[:200]:
        return None
    try:
        content = json.loads(text)
    except json.JSONDecodeError as error:
        raise InputError(f"{quoted(path)} is cut short or damaged ({error}): save it from the page again") from error
    if not isinstance(content, dict) or content.get("kind") != MARK:
        return None
    entries = content.get("entries")
    if content.get("format") != FORMAT or not isinstance(entries, list):
        raise InputError(f"{quoted(path)} is of another version of the page: write the page anew, or upgrade")
    return content


def _joined(text: str, path: Path) -> str:
    """The parts of QR codes put together."""
    parts: dict[int, str] = {}
    marks = set()
    count = 0
    for line in text.split("\n"):
        if found := PART.fullmatch(line.strip("\r\n")):
            marks.add(found[1])
            count = int(found[3])
            parts[int(found[2])] = found[4]
    missing = [str(number) for number in range(1, count + 1) if number not in parts]
    if len(marks) > 1:
        raise InputError(
            f"{quoted(path)} holds parts of {len(marks)} different sendings: put each in a file of its own"
        )
    if missing:
        raise InputError(f"{quoted(path)} lacks part {', '.join(missing)} of {count}: read that code too")
    whole = "".join(parts[number] for number in sorted(parts))
    if _mark(whole) not in marks:
        raise InputError(f"{quoted(path)} was changed on the way (a space lost, for example): read the codes again")
    return whole


def _mark(text: str) -> str:
    """The mark of the whole that stands in each part, as ``app/back.jsx`` makes it."""
    mark = 7
    for letter in text:
        mark = (mark * 31 + ord(letter)) % 0xFFFFFF
    return f"{mark:x}"


def told_of(entry: Fields) -> str:
    """An entry in a few words: day, kind and what it is about."""
    lot = entry.get("lot")
    about = entry.get("species") or (lot.get("species") if isinstance(lot, dict) else None)
    about = about or entry.get("batch") or entry.get("sowing") or entry.get("place") or entry.get("task") or ""
    return f"{str(entry.get('at', ''))[:10]} {entry.get('kind', 'entry')} {about}".strip()


def moment_of(entry: Fields, now: datetime) -> datetime:
    """When it was entered, by the clock of the device, to the second."""
    try:
        at = datetime.fromisoformat(text_of(entry, "at")).replace(tzinfo=None, microsecond=0)
    except ValueError as error:
        raise InputError(f"time {quoted(entry.get('at'))} is not a time: save the file from the page again") from error
    if at > now + AHEAD:
        raise InputError(f"it was entered at {at}, after this computer's {now:%Y-%m-%d %H:%M}: set the clock right")
    return at


def text_of(entry: Fields, name: str, empty: str | None = None) -> str:
    """A field that must be text; ``empty`` stands for one that says nothing."""
    value = entry.get(name, empty)
    if value is None and empty is not None:
        return empty
    if not isinstance(value, str) or (empty is None and not value):
        raise InputError(f"{name} {quoted(value)} is not a text: save the file from the page again")
    return value


def day_of(entry: Fields, name: str) -> date:
    """A field that must be a date, as ISO 8601 says."""
    try:
        return date.fromisoformat(text_of(entry, name))
    except ValueError as error:
        raise InputError(
            f"{name} {quoted(entry.get(name))} is not a date: save the file from the page again"
        ) from error


def number_of(entry: Fields, name: str) -> float:
    """A field that must be a number."""
    value = entry.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(f"{name} {quoted(value)} is not a number: save the file from the page again")
    return float(value)


def whole_of(entry: Fields, name: str, empty: bool = False) -> int | None:
    """A field that must be a whole number; with ``empty`` it may say nothing."""
    value = entry.get(name)
    if value is None and empty:
        return None
    if isinstance(value, bool) or not isinstance(value, int):
        raise InputError(f"{name} {quoted(value)} is not a whole number: save the file from the page again")
    return value
