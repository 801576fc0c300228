"""Places where a picture has nothing to show: no frost, no warmth, no night, no task left."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.visits import Crew, with_visits
from chillplan.report.reader import reader_for
from chillplan.report.record import Source
from chillplan.seasons.cut import cut_seasons
from chillplan.site import Site
from chillplan.web.folder import FILES, write_report
from tests.records import wave_weather
from tests.report.conftest import SPECIES, TODAY, page_of

PLACES = {
    "above the polar circle": (Site(78.2, 15.6, name="Svalbard slope"), {"mean": -4.0, "swing": 9.0}),
    "never a frost": (Site(2.0, 37.0, name="Equator terrace"), {"mean": 24.0, "swing": 1.0, "noise": 0.5}),
    "always frozen": (Site(-80.0, 0.0, name="Ice"), {"mean": -30.0, "swing": 10.0, "southern": True}),
    "south of the equator": (Site(-43.5, 171.0, name="Southern slope"), {"mean": 8.0, "swing": 8.0, "southern": True}),
}


@pytest.mark.parametrize("name", PLACES)
@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_report_of_an_odd_place_is_written(name: str, units: str, source: Source, tmp_path: Path) -> None:
    site, weather = PLACES[name]
    seasons = cut_seasons(wave_weather(**weather), site.southern)
    plan = with_visits(make_plan(seasons, site, SPECIES, Request(TODAY)), Crew())
    written = write_report(plan, source, tmp_path / "plan", reader_for(units, None))
    assert [path.name for path in written] == list(FILES)
    page = written[0].read_text(encoding="utf-8")
    assert (
        "NaN" not in page[: page.index("drawing-library")] and "Infinity" not in page[: page.index("drawing-library")]
    )
    shown = page[page.index('id="winters"') : page.index('id="species"')]
    if name == "never a frost":
        assert "no frost" in shown
    if name == "always frozen":
        assert "never reached" in shown


def test_a_plan_without_a_task_says_so(source: Source) -> None:
    site, weather = PLACES["south of the equator"]
    plan = make_plan(cut_seasons(wave_weather(**weather), True), site, SPECIES[:1], Request(TODAY))
    page = page_of(replace(plan, tasks=(), visits=(), today=date(2027, 1, 30)), source, reader_for("metric", None))
    assert "No task is left in this season" in page


def test_three_winters_are_marked_thin(source: Source) -> None:
    site = Site(44.0, -72.0)
    seasons = cut_seasons(wave_weather(first="2008-01-01", last="2012-12-31"), False)
    page = page_of(make_plan(seasons, site, SPECIES[:2], Request(TODAY)), source, reader_for("metric", None))
    assert "few winters" in page
