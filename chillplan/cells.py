"""Text for spreadsheet cells that a spreadsheet shows and never runs."""

from __future__ import annotations

__all__ = ["safe_cell"]

_STARTERS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def safe_cell(value: object) -> str:
    """A value as text for a CSV cell; text that a spreadsheet would take for a formula gets an apostrophe before it.

    Numbers stay as they are, negative ones too. NUL characters are left out.

    Parameters
    ----------
    value : object
        None becomes an empty cell.

    References
    ----------
    The characters are those of the OWASP page on CSV injection, from memory.
    """
    if value is None:
        return ""
    text = str(value).replace("\0", "")
    if text.lstrip(" ").startswith(_STARTERS) and not _is_number(text):
        return f"'{text}"
    return text


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
