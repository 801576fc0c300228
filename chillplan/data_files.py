"""Finds the data that ship with the program, from a checkout and from an installed wheel, and the user's folder."""

from __future__ import annotations

import os
from pathlib import Path

__all__ = ["data_folder", "data_path"]


def data_folder() -> Path:
    """Folder of what the program keeps, the weather fetched and the journal; ``CHILLPLAN_DATA`` names another one."""
    named = os.environ.get("CHILLPLAN_DATA")
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("chillplan", appauthor=False)


def data_path(name: str) -> Path:
    """Path of a shipped data file.

    Parameters
    ----------
    name : str
        File name, for example ``species.csv``.

    Raises
    ------
    FileNotFoundError
        If the file is in neither place: the installation is damaged.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "_data", package.parent / "data"):
        if (folder / name).is_file():
            return folder / name
    raise FileNotFoundError(f"data file {name} is missing from the installation: install chillplan again")
