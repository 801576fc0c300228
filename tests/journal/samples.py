"""Values that several tests of the journal start from."""

from __future__ import annotations

from datetime import date, datetime

from chillplan.journal.records import BatchStart, Treatment

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
