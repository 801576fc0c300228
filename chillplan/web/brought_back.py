"""What was entered on the page, taken into the journal: each entry once, whole or not at all, conflicts by name."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from chillplan.errors import InputError, quoted
from chillplan.journal.entries import add_checks, add_count, add_readings, add_sowing, next_phase, start_batch
from chillplan.journal.find import find_batch
from chillplan.journal.kept import open_tasks, tick
from chillplan.journal.records import BatchStart, Look, Reading, SowingEntry, treatments_of
from chillplan.journal.store import Journal
from chillplan.journal.undo import undo_entry
from chillplan.seeds.recipe import Species
from chillplan.web.facts import MARK

__all__ = ["Brought", "bring_back", "read_page_file"]

FORMAT = 1
LONGEST_FILE = 20_000_000
"""Of a file of entries; 300 entries take 60 kB. [byte]"""
LONGEST_SPAN = 400
"""Days of one temperature; a longer span is a slip of the finger. [day]"""
AHEAD = timedelta(days=1)
"""A phone's clock may be this much ahead of the laptop's."""
PART = re.compile(r"chillplan ([0-9a-f]+) (\d+)/(\d+) (.*)", re.DOTALL)

Fields = Mapping[str, Any]


@dataclass
class Brought:
    """What came of a file.

    Attributes
    ----------
    taken, known : int
        Entries recorded now, and those that the journal had.
    conflicts : list of str
        One sentence for each entry that could not be taken; it stays in the file.
    notes : list of str
        What was taken and should be looked at.
    lots : list of dict
        Lots as they were entered: ``lot``, None for one that was taken back, and ``was`` where an earlier one goes.
    """

    taken: int = 0
    known: int = 0
    conflicts: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    lots: list[Fields] = field(default_factory=list)


def read_page_file(path: Path) -> dict[str, Any] | None:
    """The content of a file of the page; None where it is another kind of file.

    Parameters
    ----------
    path : pathlib.Path
        JSON, or the parts of its QR codes in any order, one a line.

    Raises
    ------
    InputError
        If it is of the page but damaged or incomplete.
    """
    try:
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
    for line in text.splitlines():
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
    return "".join(parts[number] for number in sorted(parts))


def bring_back(journal: Journal, content: Fields, species_of: Callable[[str], Species], now: datetime) -> Brought:
    """Take the entries of a page in the order in which they were made.

    Parameters
    ----------
    journal : Journal
    content : mapping
        As `read_page_file` gives it.
    species_of : callable
        Species by name; raises `InputError` for one that is not known.
    now : datetime.datetime
        Entries of a time to come are refused.
    """
    found = Brought()
    entries = [entry for entry in content["entries"] if isinstance(entry, dict)]
    undone = {entry.get("of"): entry for entry in entries if entry.get("kind") == "undo"}
    known = {row["id"] for row in journal.rows("SELECT id FROM brought")}
    together: set[Any] = set()
    taker = _Taker(journal, found, species_of, str(content.get("season", "")), str(content.get("site", "")))
    for entry in sorted(entries, key=lambda entry: (str(entry.get("at")), str(entry.get("id")))):
        name, taken_back = entry.get("id"), undone.get(entry.get("id"))
        if name in known:
            found.known += name not in together
            continue
        if entry.get("kind") == "undo" and entry.get("of") not in known:
            continue
        try:
            taker.take(entry, now, taken_back)
        except InputError as error:
            found.conflicts += [f"{_told(entry)}: {problem}" for problem in error.problems]
        else:
            taken = {name} if taken_back is None else {name, taken_back.get("id")}
            found.taken += len(taken)
            known |= taken
            together |= taken
        finally:
            journal.brought = ()
    return found


class _Taker:
    """Takes one entry after the other."""

    def __init__(
        self, journal: Journal, found: Brought, species_of: Callable[[str], Species], season: str, site: str
    ) -> None:
        self.journal, self.found, self.species_of, self.season, self.site = journal, found, species_of, season, site
        self.kinds: dict[str, Callable[[Fields, datetime], None]] = {
            "begin": self.begin,
            "look": self.look,
            "reading": self.reading,
            "next": self.next_phase,
            "sow": self.sow,
            "count": self.count,
            "task": self.task,
            "lot": self.lot,
            "plant": self.keep,
            "crew": self.keep,
            "undo": self.undo,
        }

    def take(self, entry: Fields, now: datetime, taken_back: Fields | None) -> None:
        """Record an entry with its identifier; one that was taken back on the page is only remembered."""
        at = _moment(entry, now)
        kind = self.kinds.get(str(entry.get("kind")))
        if kind is None:
            raise InputError(f"kind {quoted(entry.get('kind'))} is not known: upgrade chillplan")
        both = [entry] if taken_back is None else [entry, taken_back]
        self.journal.brought = tuple((_text(one, "id"), json.dumps(one, ensure_ascii=False)) for one in both)
        if taken_back is not None:
            kind = self.keep
        kind(entry, at)

    def begin(self, entry: Fields, at: datetime) -> None:
        species = self.species_of(_text(entry, "species"))
        label = _text(entry, "recipe", "")
        recipe = next((one for one in species.recipes if one.label == label), species.recipe)
        start = BatchStart(
            species.name,
            _day(entry, "date"),
            treatments_of(recipe, _day(entry, "date")),
            label=_text(entry, "label", ""),
            place=_text(entry, "place"),
            set_temperature=_number(entry, "set"),
            seeds=_whole(entry, "seeds", empty=True),
            plant_out=_day(entry, "plantOut") if entry.get("plantOut") else None,
        )
        start_batch(self.journal, start, at)

    def look(self, entry: Fields, at: datetime) -> None:
        reference, day = self._reference(entry, "batch"), _day(entry, "date")
        finding = _text(entry, "finding")
        batch = find_batch(self.journal, reference)
        others = self.journal.rows(
            "SELECT finding FROM checks WHERE batch = ? AND date = ? AND finding <> ?",
            (batch.number, day.isoformat(), finding),
        )
        add_checks(self.journal, [Look(reference, finding, _whole(entry, "sprouted", empty=True))], at, day=day)
        if others:
            self.found.notes.append(
                f"{batch.code} on {day}: the journal had {others[0]['finding']}, the page {finding}; both are kept"
            )

    def reading(self, entry: Fields, at: datetime) -> None:
        first, last = _day(entry, "from"), _day(entry, "to")
        if not 0 <= (last - first).days <= LONGEST_SPAN:
            raise InputError(f"temperature from {first} to {last} does not run from an earlier to a later day")
        days = [datetime.combine(first + timedelta(days=day), time(12)) for day in range((last - first).days + 1)]
        celsius = _number(entry, "celsius")
        place = _text(entry, "place")
        added = add_readings(self.journal, place, [Reading(min(day, at), celsius) for day in days], at)
        if not added.new:
            self.keep(entry, at)

    def next_phase(self, entry: Fields, at: datetime) -> None:
        next_phase(self.journal, self._reference(entry, "batch"), at, _day(entry, "date"))

    def sow(self, entry: Fields, at: datetime) -> None:
        batch = find_batch(self.journal, self._reference(entry, "batch")) if entry.get("batch") else None
        promised = entry.get("expected")
        if promised is not None and not (isinstance(promised, list) and len(promised) == 3):
            raise InputError("the promised share is not three numbers: save the file from the page again")
        low, middle, high = (_number({"expected": share}, "expected") for share in promised or (0.0, 0.0, 0.0))
        sowing = SowingEntry(
            _day(entry, "date"),
            _whole(entry, "seeds") or 0,
            batch=batch.number if batch else None,
            species="" if batch else self.species_of(_text(entry, "species")).name,
            site=self.site,
            expected=(low, middle, high) if promised else None,
            note=_text(entry, "bed", ""),
        )
        add_sowing(self.journal, sowing, at)

    def count(self, entry: Fields, at: datetime) -> None:
        up = _whole(entry, "up")
        add_count(self.journal, self._reference(entry, "sowing"), up or 0, at, _day(entry, "date"))

    def task(self, entry: Fields, at: datetime) -> None:
        code, day = f"{self.season}/{_text(entry, 'task')}", _day(entry, "date")
        kept = next((task for task in open_tasks(self.journal) if task.code == code), None)
        with self.journal.entry(f"done: {code}", at) as writer:
            if kept is not None:
                tick(writer, kept, day)

    def lot(self, entry: Fields, at: datetime) -> None:
        if not isinstance(entry.get("lot"), dict):
            raise InputError("the lot says nothing: enter it again")
        self.keep(entry, at)
        self.found.lots.append(entry)

    def keep(self, entry: Fields, at: datetime) -> None:
        """Remember an entry that no table of the journal holds; the page written next starts from it."""
        with self.journal.entry(f"from the page: {_told(entry)}", at):
            pass

    def undo(self, entry: Fields, at: datetime) -> None:
        """Take back an entry that came before; one that was taken back by hand meanwhile needs no more."""
        row = self.journal.rows(
            "SELECT b.body, b.entry, e.undone_by FROM brought b JOIN entries e ON e.id = b.entry WHERE b.id = ?",
            (_text(entry, "of"),),
        )[0]
        if row["undone_by"] is not None:
            self.keep(entry, at)
            return
        was = json.loads(row["body"])
        try:
            undo_entry(self.journal, int(row["entry"]), at)
        except InputError as error:
            raise InputError([f"it takes back {_told(was)}, but {problem}" for problem in error.problems]) from error
        if was.get("kind") == "lot":
            self.found.lots.append({"lot": was.get("was"), "was": was["lot"]})

    def _reference(self, entry: Fields, name: str) -> str:
        """A batch or sowing by its number in the journal, also where it was begun on the page."""
        said = _text(entry, name)
        if not said.startswith("@"):
            return said
        table = {"batch": "batches", "sowing": "sowings"}[name]
        rows = self.journal.rows(
            "SELECT c.row FROM brought b JOIN changes c ON c.entry = b.entry AND c.subject = ? AND c.before IS NULL "
            "WHERE b.id = ?",
            (table, said[1:]),
        )
        if not rows:
            raise InputError(f"the {name} it belongs to was not taken: see the conflict named for that")
        return f"{'B' if name == 'batch' else 'S'}{rows[0]['row']}"


def _told(entry: Fields) -> str:
    lot = entry.get("lot")
    about = entry.get("species") or (lot.get("species") if isinstance(lot, dict) else None)
    about = about or entry.get("batch") or entry.get("sowing") or entry.get("place") or entry.get("task") or ""
    return f"{str(entry.get('at', ''))[:10]} {entry.get('kind', 'entry')} {about}".strip()


def _moment(entry: Fields, now: datetime) -> datetime:
    """When it was entered, by the clock of the device, to the second."""
    try:
        at = datetime.fromisoformat(_text(entry, "at")).replace(tzinfo=None, microsecond=0)
    except ValueError as error:
        raise InputError(f"time {quoted(entry.get('at'))} is not a time: save the file from the page again") from error
    if at > now + AHEAD:
        raise InputError(f"it was entered at {at}, after this computer's {now:%Y-%m-%d %H:%M}: set the clock right")
    return at


def _text(entry: Fields, name: str, empty: str | None = None) -> str:
    value = entry.get(name, empty)
    if value is None and empty is not None:
        return empty
    if not isinstance(value, str) or (empty is None and not value):
        raise InputError(f"{name} {quoted(value)} is not a text: save the file from the page again")
    return value


def _day(entry: Fields, name: str) -> date:
    try:
        return date.fromisoformat(_text(entry, name))
    except ValueError as error:
        raise InputError(
            f"{name} {quoted(entry.get(name))} is not a date: save the file from the page again"
        ) from error


def _number(entry: Fields, name: str) -> float:
    value = entry.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(f"{name} {quoted(value)} is not a number: save the file from the page again")
    return float(value)


def _whole(entry: Fields, name: str, empty: bool = False) -> int | None:
    value = entry.get(name)
    if value is None and empty:
        return None
    if isinstance(value, bool) or not isinstance(value, int):
        raise InputError(f"{name} {quoted(value)} is not a whole number: save the file from the page again")
    return value
