"""Writes a table into a site file and leaves all else in it as it is."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from chillplan.errors import InputError, quoted

__all__ = ["write_site_table"]


def write_site_table(path: Path, name: str, values: Mapping[str, float]) -> Path:
    """Put a table such as ``[tie]`` or ``[calibration]`` into a site file, whole or not at all.

    Parameters
    ----------
    path : pathlib.Path
    name : str
        Of the table; one that is there is replaced.
    values : mapping of str to float

    Returns
    -------
    pathlib.Path
        The file.

    Raises
    ------
    InputError
        If the file cannot be written.
    """
    import tomlkit

    document = tomlkit.parse(path.read_text(encoding="utf-8"))
    table = tomlkit.table()
    for key, value in values.items():
        table[key] = value
    document[name] = table
    temporary = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        temporary.write_text(tomlkit.dumps(document), encoding="utf-8")
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise InputError(f"site file {quoted(path)} cannot be written: {error.strerror}; check its folder") from error
    return path
