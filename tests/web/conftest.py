"""A plan made from invented weather as the page shows it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest

from chillplan.advice.plan import Request
from chillplan.advice.result import Plan
from chillplan.advice.seed_lots import plan_for_lots
from chillplan.advice.visits import Crew, with_visits
from chillplan.journal.entries import start_batch
from chillplan.journal.records import BatchStart, treatments_of
from chillplan.journal.store import open_journal
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.seasons.cut import cut_seasons
from chillplan.web.facts import held_by, page_facts
from chillplan.web.page import page_html
from tests.records import wave_weather
from tests.report.conftest import SPECIES, plan, seasons, site, source  # noqa: F401 - fixtures
from tests.web.hand import PHONE, Hand, hand

PLANNED = date(2026, 11, 28)
BEGUN = date(2026, 11, 20)


def facts_of(made: Plan, said: Source, **more: Any) -> dict[str, Any]:
    return page_facts(made, said, Reader(), **more)


def written(folder: Path, made: Plan, said: Source, facts: dict[str, Any], name: str = "page.html") -> Path:
    path = folder / name
    path.write_text(page_html(made, said, Reader(), facts), encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def autumn(site) -> Plan:  # noqa: F811
    """Planned late in November, so that something is due."""
    winters = cut_seasons(wave_weather(mean=9.0, swing=13.0), southern=False)
    return with_visits(plan_for_lots(winters, site, (SPECIES, ()), Request(PLANNED)), Crew())


@pytest.fixture
def ten_batches(tmp_path: Path) -> Path:
    """A journal in which ten bags of the plan's species lie in the cold."""
    path = tmp_path / "journal.db"
    with open_journal(path, BEGUN, create=True) as journal:
        for number in range(10):
            species = SPECIES[number % 3]
            start = BatchStart(
                species.name, BEGUN, treatments_of(species.recipe, BEGUN), label=f"bag {number}", seeds=100 + number
            )
            start_batch(journal, start, datetime(2026, 11, 20, 9))
    return path


@pytest.fixture
def boxed(autumn: Plan, source: Source, ten_batches: Path, tmp_path: Path) -> Path:  # noqa: F811
    """The page of a grower with ten bags in the cold."""
    with open_journal(ten_batches, PLANNED) as journal:
        held = held_by(journal, PLANNED)
    return written(tmp_path, autumn, source, facts_of(autumn, source, held=held))


@pytest.fixture
def grower(boxed: Path) -> Iterator[Hand]:
    with hand(boxed, PHONE, PLANNED.isoformat()) as opened:
        yield opened


@pytest.fixture(scope="session")
def honest(source: Source) -> Source:  # noqa: F811
    return replace(source, invented=False)
