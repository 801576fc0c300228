"""Fixtures of all tests."""

from __future__ import annotations

import os
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def observations() -> Path:
    """Folder of observed records; the test is skipped where it is not at hand."""
    folder = os.environ.get("CHILLPLAN_OBSERVATIONS", "")
    if not folder or not Path(folder).is_dir():
        pytest.skip("CHILLPLAN_OBSERVATIONS is unset: the observed records are not at hand")
    return Path(folder)
