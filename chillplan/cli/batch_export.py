"""Where an export goes: standard output, a file or a folder."""

from __future__ import annotations

from pathlib import Path

from chillplan.cli.journal_options import read_only
from chillplan.errors import InputError, quoted
from chillplan.journal.exchange import export_csv, export_json

__all__ = ["export_to"]


def export_to(output: str, out: Path | None, journal: Path | None) -> None:
    """Write the journal.

    Raises
    ------
    InputError
        If the format is not known, a CSV folder is not named, or the target exists or cannot be written.
    """
    if output not in {"json", "csv"}:
        raise InputError(f"--format {quoted(output)} is not known: use json or csv")
    if output == "csv" and out is None:
        raise InputError("CSV needs a folder: pass --out with the name of a new folder")
    with read_only(journal) as opened:
        if output == "csv" and out is not None:
            for path in export_csv(opened, out):
                print(path)
            return
        text = export_json(opened)
    if out is None:
        print(text)
        return
    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise InputError(f"{quoted(out)} is there already: give a new file name") from error
    except OSError as error:
        raise InputError(f"{quoted(out)} cannot be written: {error.strerror}; pass another --out") from error
    print(out)
