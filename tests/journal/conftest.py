from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import pytest

from chillplan.journal.entries import add_count, add_readings, add_sowing, start_batch
from chillplan.journal.records import Reading, SowingEntry
from chillplan.journal.store import Journal, open_journal
from tests.journal.samples import NOW, TODAY, a_batch, add_check


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    with open_journal(tmp_path / "journal.db", TODAY, create=True) as opened:
        yield opened


@pytest.fixture
def filled(journal: Journal) -> Journal:
    """A journal with something in every table but ``learned``."""
    batch = start_batch(journal, a_batch(label="paw paw", note='said "wet",\nthen =1+1'), NOW)
    add_check(journal, f"B{batch}", "fine", NOW, day=date(2026, 12, 8))
    add_check(journal, "paw paw", "sprouted", NOW, sprouted=7, stage="root tip", note="нормально")
    add_readings(
        journal, "fridge", [Reading(datetime(2026, 12, 5, 8), -4.25), Reading(datetime(2026, 12, 6, 8), 0.1)], NOW
    )
    sowing = add_sowing(journal, SowingEntry(date(2027, 2, 1), 40, batch=batch, expected=(0.2, 0.5, 0.8)), NOW)
    add_count(journal, f"S{sowing}", 12, NOW)
    return journal
