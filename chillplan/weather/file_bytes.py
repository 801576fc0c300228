"""The content of a weather file: only regular files, unpacked up to a stated size, as bytes or as text."""

from __future__ import annotations

import gzip
import stat
import zlib
from pathlib import Path

from chillplan.errors import InputError, quoted

__all__ = ["LARGEST_BYTES", "bytes_of", "is_grid", "text_of"]

LARGEST_BYTES = 500_000_000
"""Largest weather file, also after unpacking; all stations of a country fit. [byte]"""

_KINDS = {stat.S_IFIFO: "a pipe", stat.S_IFCHR: "a device", stat.S_IFBLK: "a device", stat.S_IFSOCK: "a socket"}
_UTF_16 = (b"\xff\xfe", b"\xfe\xff")


def bytes_of(path: Path, largest: int = LARGEST_BYTES) -> bytes:
    """Content of a file, unpacked where it is gzip.

    Parameters
    ----------
    path : pathlib.Path
    largest : int
        Size that neither the file nor what it unpacks to may exceed. [byte]

    Raises
    ------
    InputError
        If it is no regular file, too large, damaged or empty.
    """
    if not path.exists():
        raise InputError(f"weather file {quoted(path)} does not exist: check the path")
    found = path.stat()
    if not stat.S_ISREG(found.st_mode):
        kind = _KINDS.get(stat.S_IFMT(found.st_mode), "no regular file")
        raise InputError(f"weather file {quoted(path)} is {kind}: save the record to a file and give that")
    if found.st_size > largest:
        raise InputError(f"weather file {quoted(path)} is larger than {_in_mb(largest)}: keep the stations you need")
    content = path.read_bytes()
    if content[:2] == b"\x1f\x8b":
        content = _unpacked(path, largest)
    if not content.strip():
        raise InputError(f"weather file {quoted(path)} is empty: fetch or save it again")
    return content


def is_grid(path: Path) -> bool:
    """Whether a path looks like a gridded file: NetCDF by ending or content, Zarr as a folder."""
    if path.is_dir():
        return any((path / name).exists() for name in (".zgroup", ".zmetadata", "zarr.json", ".zattrs"))
    if path.suffix.lower() in {".nc", ".nc4", ".netcdf", ".cdf"}:
        return True
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(4).startswith((b"CDF", b"\x89HDF"))


def _unpacked(path: Path, largest: int) -> bytes:
    try:
        with gzip.open(path) as packed:
            content = packed.read(largest + 1)
    except (OSError, EOFError, zlib.error) as error:
        raise InputError(f"{quoted(path)} is a damaged gzip file: fetch it again") from error
    if len(content) > largest:
        raise InputError(
            f"weather file {quoted(path)} unpacks to more than {_in_mb(largest)}: keep the stations you need"
        )
    return content


def _in_mb(size: int) -> str:
    return f"{size / 1e6:g} MB"


def text_of(content: bytes, path: Path) -> str:
    """Text of a table, whatever its encoding and line ends.

    Parameters
    ----------
    content : bytes
    path : pathlib.Path
        For messages.

    Raises
    ------
    InputError
        If it is not text, or holds nothing beside a byte-order mark.
    """
    if content[:4] in {b"CDF\x01", b"CDF\x02", b"\x89HDF"}:
        raise InputError(
            f"{quoted(path.name)} is a gridded file: it needs the coordinates of the site to be read at a point"
        )
    if content[:2] == b"PK":
        raise InputError(
            f"{quoted(path.name)} is a spreadsheet or an archive, not a weather file: save the table as CSV"
        )
    text = _decoded(content, path).replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise InputError(f"weather file {quoted(path)} is empty: fetch or save it again")
    return text


def _decoded(content: bytes, path: Path) -> str:
    if content.startswith(_UTF_16):
        return content.decode("utf-16", errors="replace")
    if b"\x00" in content[:4096]:
        raise InputError(
            f"{quoted(path.name)} is not text, so it is not a weather file: give CSV, parquet or a NOAA daily file"
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")
