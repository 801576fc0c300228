"""What the page sent, into the journal and into the lots file."""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from chillplan.cli.catalogue_files import catalogue_with
from chillplan.cli.home import SITE_FILE, read_grower
from chillplan.cli.journal_options import usual_order, writable
from chillplan.errors import InputError, counted, quoted
from chillplan.lot import LotsTable, lots_beside, read_lot
from chillplan.seeds.catalogue import find_species
from chillplan.seeds.recipe import Species
from chillplan.site import read_site
from chillplan.web.brought_back import bring_back

__all__ = ["LotsFile", "bring_file_back"]


def bring_file_back(page: dict[str, Any], species_file: Path | None, journal: Path | None, now: datetime) -> None:
    """Take a file of the page, say what came of it, and name every conflict.

    Raises
    ------
    InputError
        With the conflicts, after everything else was taken.
    """
    catalogue = catalogue_with(species_file)

    def species_of(name: str) -> Species:
        return find_species(catalogue, name)

    home = Path(SITE_FILE)
    lots_file = LotsFile.beside(home, str(page.get("site")), species_of, now.date()) if home.is_file() else None
    with writable(journal, now.date(), create=True) as opened:
        if lots_file:
            lots_file.recover(row["id"] for row in opened.rows("SELECT id FROM brought"))
        found = bring_back(opened, page, species_of, now, lots_file.take if lots_file else None)
        print(f"{opened.path}: {counted(found.taken, 'entry').replace('entrys', 'entries')} taken, {found.known} known")
    for note in found.notes:
        print(f"  {note}")
    if found.lots and lots_file is None:
        print(f"  {counted(found.lots, 'lot')}: no {SITE_FILE} here, so they stand in the journal and the page only")
    elif lots_file is not None and lots_file.changed:
        print(f"  {lots_file.path}: {counted(lots_file.changed, 'lot')} entered or changed")
    if found.conflicts:
        raise InputError([f"not taken, it stays in the file: {conflict}" for conflict in found.conflicts])
    if found.taken:
        print("Write the page anew with `chillplan page`, and put it on the phone.")


Cells = dict[str, str]

STAGED = ".staged"


class LotsFile:
    """The lots file of a site.

    Attributes
    ----------
    path : pathlib.Path
        Made with the first lot where it is not there.
    changed : int
        Lots entered, changed or taken back so far.
    """

    def __init__(self, path: Path, species_of: Callable[[str], Species], today: date, other: str = "") -> None:
        self.path, self.species_of, self.today, self.other = path, species_of, today, other
        self.changed = 0

    @classmethod
    def beside(cls, site_file: Path, of: str, species_of: Callable[[str], Species], today: date) -> LotsFile:
        """The file that a site file names, else the usual one beside it; it takes no lot of another site's page."""
        here = read_site(site_file).name
        other = "" if of == here else f"the page is of {quoted(of)} and {site_file} here of {quoted(here)}"
        return cls(read_grower(site_file).lots or lots_beside(site_file), species_of, today, other)

    def recover(self, known: Iterable[str]) -> None:
        """Finish what a crash left: a staged file takes its place where the journal has its entry, else it goes."""
        entered = {self._staged(name) for name in known}
        for staged in self.path.parent.glob(f".{self.path.name}.*{STAGED}"):
            if staged in entered and not (
                self.path.is_file() and self.path.stat().st_mtime_ns > staged.stat().st_mtime_ns
            ):
                staged.replace(self.path)
            else:
                staged.unlink()

    def _staged(self, name: str) -> Path:
        return self.path.with_name(f".{self.path.name}.{hashlib.sha256(name.encode()).hexdigest()[:16]}{STAGED}")

    def take(
        self, was: Mapping[str, Any] | None, new: Mapping[str, Any] | None, name: str
    ) -> tuple[str, Callable[[bool], None]]:
        """Enter, change or remove a lot in a staged file, which takes the place of the other once it is in the journal.

        Parameters
        ----------
        was : mapping of str to str or None
            The lot as the page knew it; None for a lot that was added.
        new : mapping of str to str or None
            The lot as it is now; None for one that was taken back.
        name : str
            Of the entry, as the journal remembers it.

        Returns
        -------
        str
            What should be looked at; mostly empty.
        callable
            To be told whether the journal has the entry now.

        Raises
        ------
        InputError
            If the page is of another site, the lot or the file cannot be read, or the file not be written.
        """
        if self.other:
            raise InputError(f"{self.other}: import it in the folder of its site")
        before = None if was is None else self._plain(was, "")
        after = None if new is None else self._plain(new, "")
        mark, table = self._read()
        row = None if before is None else next((one for one in table.rows if self._reads(table, one) == before), None)
        if row is None and after is None:
            return f"{self.path}: the lot that was taken back is not there any more", lambda _: None
        if after is None:
            table.rows = [one for one in table.rows if one is not row]
        elif row is not None and before is not None:
            table.put(row, {key: value for key, value in after.items() if value != before[key]})
        else:
            if not table.header and not table.rows:
                table.header = list(after)
            added = [""] * len(table.columns)
            table.rows.append(added)
            table.put(added, after)
        staged = self._stage(mark + table.text(), name)

        def settle(entered: bool) -> None:
            if entered:
                staged.replace(self.path)
                self.changed += 1
            else:
                staged.unlink(missing_ok=True)

        if before is not None and row is None and after is not None:
            return f"{self.path}: {after['species']} was changed here and on the page; both lots are kept", settle
        return "", settle

    def _plain(self, cells: Mapping[str, Any], order: str) -> Cells:
        """The lot in the words of the program, so that the same lot reads the same."""
        lot = read_lot({key: value for key, value in cells.items() if isinstance(value, str)}, self.today, order)
        return replace(lot, species=self.species_of(lot.species).name).cells()

    def _reads(self, table: LotsTable, row: list[str]) -> Cells | None:
        try:
            return self._plain(table.cells(row), usual_order())
        except InputError:
            return None

    def _read(self) -> tuple[str, LotsTable]:
        if not self.path.exists():
            return "", LotsTable(",", [], [])
        try:
            text = self.path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            why = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
            raise InputError(f"{quoted(self.path)} cannot be read ({why}): save it as CSV, UTF-8") from error
        mark = "\ufeff" if text.startswith("\ufeff") else ""
        return mark, LotsTable.of(text.removeprefix("\ufeff"))

    def _stage(self, text: str, name: str) -> Path:
        staged = self._staged(name)
        try:
            staged.write_text(text, encoding="utf-8")
        except OSError as error:
            with contextlib.suppress(OSError):
                staged.unlink()
            raise InputError(f"{quoted(self.path)} cannot be written: {error.strerror}; check its folder") from error
        return staged
