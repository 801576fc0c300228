"""Cells that a spreadsheet would run are text."""

from __future__ import annotations

import pytest

from chillplan.report.rows import safe_cell


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\t", "\r"])
def test_no_text_runs_as_a_formula(begins: str) -> None:
    """The characters are those of the OWASP page on CSV injection (from memory)."""
    assert safe_cell(f"{begins}cmd|' /C calc'!A0").startswith("'")


def test_numbers_stay_numbers() -> None:
    assert safe_cell(-2.5) == "-2.5"
    assert safe_cell(None) == ""
