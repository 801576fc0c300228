"""What was entered on the page comes back: into the journal, and the lots into the lots file."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from chillplan.cli.catalogue_files import catalogue_with
from chillplan.cli.home import SITE_FILE
from chillplan.cli.journal_options import counted, writable
from chillplan.cli.lots_back import LotsFile
from chillplan.errors import InputError
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
    elif found.lots and lots_file is not None:
        print(f"  {lots_file.path}: {counted(found.lots, 'lot')} entered or changed")
    if found.conflicts:
        raise InputError([f"not taken, it stays in the file: {conflict}" for conflict in found.conflicts])
    if found.taken:
        print("Write the page anew with `chillplan page`, and put it on the phone.")
