"""Chill that a batch had when its seed was sown."""

from __future__ import annotations

from datetime import date

import pytest

from chillplan.journal.entries import add_count, add_sowing, next_phase, start_batch
from chillplan.journal.outcomes import outcomes_of
from chillplan.journal.records import SowingEntry
from chillplan.journal.store import Journal
from tests.journal.samples import NOW, a_batch

BEGUN, SOWN = date(2026, 12, 1), date(2027, 1, 20)


@pytest.mark.parametrize(
    ("ended", "days"), [(None, 50.0), (date(2027, 2, 8), 50.0), (SOWN, 50.0), (date(2027, 1, 10), 40.0)]
)
def test_days_in_the_cold_count_until_the_seed_is_sown_and_no_longer(
    journal: Journal, ended: date | None, days: float
) -> None:
    """The rest of the batch stays at 4 °C, where every day counts; the day of sowing itself is not over."""
    batch = start_batch(journal, a_batch(), NOW)
    sowing = add_sowing(journal, SowingEntry(SOWN, 40, batch=batch), NOW)
    if ended is not None:
        next_phase(journal, f"B{batch}", NOW, ended)
    add_count(journal, f"S{sowing}", 12, NOW)
    (outcome,) = outcomes_of(journal, "")
    assert (SOWN - BEGUN).days == 50
    assert outcome.credit == pytest.approx((days,))
