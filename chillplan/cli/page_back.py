"""What was entered on the page comes back: into the journal, and the lots into the lots file."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from chillplan.cli.catalogue_files import catalogue_with
from chillplan.cli.home import SITE_FILE, read_grower
from chillplan.cli.journal_options import counted, writable
from chillplan.errors import InputError, quoted
from chillplan.lot import Lot, lots_beside, parse_lots, read_lot, write_lots
from chillplan.seeds.catalogue import find_species
from chillplan.seeds.recipe import Species
from chillplan.web.brought_back import bring_back

__all__ = ["bring_file_back"]


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

    with writable(journal, now.date(), create=True) as opened:
        found = bring_back(opened, page, species_of, now)
        print(f"{opened.path}: {counted(found.taken, 'entry').replace('entrys', 'entries')} taken, {found.known} known")
    for note in found.notes:
        print(f"  {note}")
    if found.lots:
        _take_lots(found.lots, species_of, now.date())
    if found.conflicts:
        raise InputError([f"not taken, it stays in the file: {conflict}" for conflict in found.conflicts])
    if found.taken:
        print("Write the page anew with `chillplan page`, and put it on the phone.")


def _take_lots(entries: Sequence[Mapping[str, Any]], species_of: Callable[[str], Species], today: date) -> None:
    """Add lots to the lots file of the folder one stands in, or change them there."""
    home = Path(SITE_FILE)
    if not home.is_file():
        print(f"  {counted(len(entries), 'lot')}: no {SITE_FILE} here, so they stand in the journal and the page only")
        return
    path = read_grower(home).lots or lots_beside(home)
    lots = list(parse_lots(path.read_text(encoding="utf-8"), today, what=str(path))) if path.is_file() else []

    def scientific(lot: Lot) -> Lot:
        return replace(lot, species=species_of(lot.species).name)

    for entry in entries:
        new = scientific(read_lot(entry["lot"], today)) if entry.get("lot") else None
        was = scientific(read_lot(entry["was"], today)) if isinstance(entry.get("was"), dict) else None
        known = [scientific(lot) for lot in lots]
        if new in known:
            continue
        if was is not None and was in known:
            lots[known.index(was) : known.index(was) + 1] = [new] if new else []
        elif new is not None:
            lots.append(new)
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        temporary.write_text(write_lots(lots), encoding="utf-8")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise InputError(
            f"{quoted(path)} cannot be written: {error.strerror}; the lots stand in the journal"
        ) from error
    print(f"  {path}: {counted(len(entries), 'lot')} entered or changed")
