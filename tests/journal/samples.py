"""Values that several tests of the journal start from."""

from __future__ import annotations

from datetime import date, datetime

from chillplan.journal.entries import add_checks
from chillplan.journal.records import BatchStart, Look, Treatment
from chillplan.journal.store import Journal

NOW = datetime(2027, 2, 10, 9, 30)
TODAY = NOW.date()
COLD = Treatment(
    "cold",
    date(2026, 12, 1),
    days=(60.0, 90.0),
    temperature=(1.0, 5.0),
    response=(-2.0, 1.0, 7.0, 12.0),
    reversal=20.0,
)


def a_batch(**changes: object) -> BatchStart:
    values: dict[str, object] = {
        "species": "Asimina triloba",
        "started_on": date(2026, 12, 1),
        "treatments": (Treatment("soak", date(2026, 12, 1), date(2026, 12, 1)), COLD),
        "seeds": 200,
        "plant_out": date(2027, 4, 20),
    }
    return BatchStart(**(values | changes))  # type: ignore[arg-type]


def add_check(
    journal: Journal, reference: str, finding: str, now: datetime, sprouted: int | None = None, stage: str = "", **more
) -> int:
    """Record a look at one batch; returns its number."""
    return add_checks(journal, [Look(reference, finding, sprouted, stage)], now, **more)[0]
