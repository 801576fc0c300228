"""What was entered on the page, taken into the journal: each entry once, whole or not at all, conflicts by name."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from typing import Any

from chillplan.advice.seed_lots import credited
from chillplan.errors import InputError, quoted
from chillplan.journal.entries import add_checks, add_count, add_readings, add_sowing, next_phase, start_batch
from chillplan.journal.find import find_batch, list_batches
from chillplan.journal.kept import open_tasks, tick
from chillplan.journal.records import BatchStart, Look, Reading, SowingEntry, treatments_of
from chillplan.journal.store import Journal, undo_entry
from chillplan.seeds.recipe import Species
from chillplan.web.page_file import Fields, day_of, moment_of, number_of, text_of, told_of, whole_of

__all__ = ["Brought", "bring_back"]

LONGEST_SPAN = 400
"""Days of one temperature; a longer span is a slip of the finger. [day]"""

FileLot = Callable[[Mapping[str, Any] | None, Mapping[str, Any] | None, str], tuple[str, Callable[[bool], None]]]


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
    lots : int
        Lots entered, changed or taken back among them.
    """

    taken: int = 0
    known: int = 0
    conflicts: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    lots: int = 0


def bring_back(
    journal: Journal,
    content: Fields,
    species_of: Callable[[str], Species],
    now: datetime,
    file_lot: FileLot | None = None,
) -> Brought:
    """Take the entries of a page in the order in which they were made.

    Parameters
    ----------
    content : mapping
        As `chillplan.web.page_file.read_page_file` gives it.
    species_of : callable
        Species by name; raises `InputError` for one that is not known.
    now : datetime.datetime
        Entries of a time to come are refused.
    file_lot : callable or None
        Makes the lots file ready for a lot: as it was and as it is, None where there is none, and the entry's name.
        Gives what should be looked at, and what is to be told once the journal has the entry, or has not; raises
        `InputError` where it cannot, and the entry is not taken then.
    """
    found = Brought()
    entries = [entry for entry in content["entries"] if isinstance(entry, dict)]
    undone = {entry.get("of"): entry for entry in entries if entry.get("kind") == "undo"}
    known = {row["id"] for row in journal.rows("SELECT id FROM brought")}
    together: set[Any] = set()
    sent = {entry.get("id") for entry in entries}
    taker = _Taker(journal, found, species_of, content, file_lot)
    for entry in sorted(entries, key=lambda entry: (str(entry.get("at")), str(entry.get("id")))):
        name, taken_back = entry.get("id"), undone.get(entry.get("id"))
        if name in known:
            found.known += name not in together
            continue
        if entry.get("kind") == "undo" and entry.get("of") not in known:
            if entry.get("of") not in sent:
                found.conflicts.append(f"{told_of(entry)}: what it takes back is not here: bring that file back first")
            continue
        try:
            taker.take(entry, now, taken_back)
        except InputError as error:
            found.conflicts += [f"{told_of(entry)}: {problem}" for problem in error.problems]
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
        self,
        journal: Journal,
        found: Brought,
        species_of: Callable[[str], Species],
        content: Fields,
        file_lot: FileLot | None,
    ) -> None:
        self.journal, self.found, self.species_of, self.file_lot = journal, found, species_of, file_lot
        self.staged: list[Callable[[bool], None]] = []
        self.season, self.site = str(content.get("season", "")), str(content.get("site", ""))
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
        at = moment_of(entry, now)
        kind = self.kinds.get(str(entry.get("kind")))
        if kind is None:
            raise InputError(f"kind {quoted(entry.get('kind'))} is not known: upgrade chillplan")
        both = [entry] if taken_back is None else [entry, taken_back]
        more = {"season": self.season, "site": self.site, "filed": self.file_lot is not None}
        self.journal.brought = tuple(
            (text_of(one, "id"), json.dumps({**one, **more}, ensure_ascii=False)) for one in both
        )
        if taken_back is not None:
            kind = self.keep
        entered = False
        try:
            kind(entry, at)
            entered = True
        finally:
            while self.staged:
                self.staged.pop()(entered)

    def begin(self, entry: Fields, at: datetime) -> None:
        species = self.species_of(text_of(entry, "species"))
        label = text_of(entry, "recipe", "")
        recipe = next((one for one in species.recipes if one.label == label), species.recipe)
        recipe = credited(recipe, number_of(entry, "coldDone") if "coldDone" in entry else 0.0)
        start = BatchStart(
            species.name,
            day_of(entry, "date"),
            treatments_of(recipe, day_of(entry, "date")),
            label=text_of(entry, "label", ""),
            place=text_of(entry, "place"),
            set_temperature=number_of(entry, "set"),
            seeds=whole_of(entry, "seeds", empty=True),
            plant_out=day_of(entry, "plantOut") if entry.get("plantOut") else None,
        )
        twins = [
            batch.code
            for batch in list_batches(self.journal)
            if (batch.species, batch.started_on, batch.seeds) == (start.species, start.started_on, start.seeds)
        ]
        start_batch(self.journal, start, at)
        if twins:
            self.found.notes.append(
                f"{species.name} of {start.started_on} was begun already as {', '.join(twins)}: if it is the same "
                "seed, entered on two phones, close one with `chillplan batch close`"
            )

    def look(self, entry: Fields, at: datetime) -> None:
        reference, day = self._reference(entry, "batch"), day_of(entry, "date")
        finding = text_of(entry, "finding")
        batch = find_batch(self.journal, reference)
        others = self.journal.rows(
            "SELECT finding FROM checks WHERE batch = ? AND date = ? AND finding <> ?",
            (batch.number, day.isoformat(), finding),
        )
        add_checks(self.journal, [Look(reference, finding, whole_of(entry, "sprouted", empty=True))], at, day=day)
        if others:
            self.found.notes.append(
                f"{batch.code} on {day}: the journal had {others[0]['finding']}, the page {finding}; both are kept"
            )

    def reading(self, entry: Fields, at: datetime) -> None:
        first, last = day_of(entry, "from"), day_of(entry, "to")
        if not 0 <= (last - first).days <= LONGEST_SPAN:
            raise InputError(f"temperature from {first} to {last} does not run from an earlier to a later day")
        days = [datetime.combine(first + timedelta(days=day), time(12)) for day in range((last - first).days + 1)]
        celsius = number_of(entry, "celsius")
        place = text_of(entry, "place")
        added = add_readings(self.journal, place, [Reading(min(day, at), celsius) for day in days], at)
        if not added.new:
            self.keep(entry, at)

    def next_phase(self, entry: Fields, at: datetime) -> None:
        next_phase(self.journal, self._reference(entry, "batch"), at, day_of(entry, "date"))

    def sow(self, entry: Fields, at: datetime) -> None:
        batch = find_batch(self.journal, self._reference(entry, "batch")) if entry.get("batch") else None
        promised = entry.get("expected")
        if promised is not None and not (isinstance(promised, list) and len(promised) == 3):
            raise InputError("the promised share is not three numbers: save the file from the page again")
        low, middle, high = (number_of({"expected": share}, "expected") for share in promised or (0.0, 0.0, 0.0))
        sowing = SowingEntry(
            day_of(entry, "date"),
            whole_of(entry, "seeds") or 0,
            batch=batch.number if batch else None,
            species="" if batch else self.species_of(text_of(entry, "species")).name,
            site=self.site,
            expected=(low, middle, high) if promised else None,
            note=text_of(entry, "bed", ""),
        )
        add_sowing(self.journal, sowing, at)

    def count(self, entry: Fields, at: datetime) -> None:
        up = whole_of(entry, "up")
        add_count(self.journal, self._reference(entry, "sowing"), up or 0, at, day_of(entry, "date"))

    def task(self, entry: Fields, at: datetime) -> None:
        code, day = f"{self.season}/{text_of(entry, 'task')}", day_of(entry, "date")
        kept = next((task for task in open_tasks(self.journal) if task.code == code), None)
        with self.journal.entry(f"done: {code}", at) as writer:
            if kept is not None:
                tick(writer, kept, day)

    def lot(self, entry: Fields, at: datetime) -> None:
        if not isinstance(entry.get("lot"), dict):
            raise InputError("the lot says nothing: enter it again")
        with self.journal.entry(f"from the page: {told_of(entry)}", at):
            self._file(entry.get("was"), entry["lot"])

    def _file(self, was: Fields | None, new: Fields | None) -> None:
        self.found.lots += 1
        if self.file_lot is not None:
            note, settle = self.file_lot(was, new, self.journal.brought[0][0])
            self.staged.append(settle)
            self.found.notes += [note] if note else []

    def keep(self, entry: Fields, at: datetime) -> None:
        """Remember an entry that no table of the journal holds; the page written next starts from it."""
        with self.journal.entry(f"from the page: {told_of(entry)}", at):
            pass

    def undo(self, entry: Fields, at: datetime) -> None:
        """Take back an entry that came before; one that was taken back by hand meanwhile needs no more."""
        row = self.journal.rows(
            "SELECT b.body, b.entry, e.undone_by FROM brought b JOIN entries e ON e.id = b.entry WHERE b.id = ?",
            (text_of(entry, "of"),),
        )[0]
        if row["undone_by"] is not None:
            self.keep(entry, at)
            return
        was = json.loads(row["body"])
        if was.get("kind") == "lot":
            self._file(was["lot"], was.get("was"))
        try:
            undo_entry(self.journal, int(row["entry"]), at)
        except InputError as error:
            raise InputError([f"it takes back {told_of(was)}, but {problem}" for problem in error.problems]) from error

    def _reference(self, entry: Fields, name: str) -> str:
        """A batch or sowing by its number in the journal, also where it was begun on the page."""
        said = text_of(entry, name)
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
