"""A grower's year on real records, by the commands alone; the example of the same name prints it for all its places."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

from tests.records import observations

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "grower_year"


@pytest.mark.parametrize(("name", "fewest"), [("northern plains", 5), ("mild coast", 10)])
def test_the_year_of_a_grower(name: str, fewest: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(EXAMPLE))
    year = importlib.import_module("year")
    place = next(one for one in year.PLACES if one.name == name)
    spent = year.spend(place, observations())
    assert (spent.unripe, spent.dry, spent.killed) == ([], [], [])
    assert spent.commands <= 2 and spent.looks == 1
    assert spent.entries < 60
    assert spent.batches >= fewest
    assert spent.planned + spent.not_planned == 21
    assert (spent.not_planned > 0) == (name == "northern plains")
