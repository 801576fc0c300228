"""Words of the page: one table, each word used, dates that cannot be mistaken, the spelling of the reader."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from chillplan.advice.result import Plan
from chillplan.lot import STATES, WAYS
from chillplan.report.reader import reader_for
from chillplan.report.record import Source
from chillplan.web.facts import page_facts
from chillplan.web.page import page_html
from tests.web.conftest import PLANNED, facts_of, written
from tests.web.hand import PHONE, hand, needs_browser

APP = Path(__file__).parents[2] / "chillplan/web/app"
TABLE = json.loads((APP / "words.json").read_text(encoding="utf-8"))
FROM_PLAN = {*STATES, *WAYS, "hill", "shed", "refrigerator"}
"""Said by the plan, and looked up as they are."""


def test_every_word_is_used_and_every_word_of_the_plan_is_there() -> None:
    sources = "".join(path.read_text(encoding="utf-8") for path in (*APP.glob("*.js"), *APP.glob("*.jsx")))
    british = TABLE["en-GB"]
    assert set(british) >= FROM_PLAN
    assert [key for key in british if key not in FROM_PLAN and not re.search(rf"""["']{key}["']""", sources)] == []
    assert set(TABLE["en-US"]) <= set(british)
    filled = {key: set(re.findall(r"\{\w+\}", british[key])) for key in TABLE["en-US"]}
    assert filled == {key: set(re.findall(r"\{\w+\}", words)) for key, words in TABLE["en-US"].items()}


BRITISH = re.compile(r"\b(?:mould\w*|grey|colour\w*|modelled|metres?|centre|neighbour\w*)\b", re.IGNORECASE)


@needs_browser
def test_an_american_reads_american_and_a_briton_british(autumn: Plan, source: Source, tmp_path: Path) -> None:
    us = reader_for("us", None)
    path = tmp_path / "us.html"
    path.write_text(page_html(autumn, source, us, page_facts(autumn, source, us)), encoding="utf-8")
    for page, spelled in ((path, False), (written(tmp_path, autumn, source, facts_of(autumn, source)), True)):
        with hand(page, PHONE, PLANNED.isoformat()) as opened:
            shown = ""
            for screen in ("today", "seed", "box", "beds", "more"):
                opened.js("location.hash = arguments[0]", screen)
                opened.settle()
                shown += opened.text()
            shown += opened.js("return document.querySelector('.wall').textContent")
            assert bool(BRITISH.search(shown)) is spelled
            assert ("°F" in shown) is not spelled and ("°C" in shown) is spelled


@needs_browser
@pytest.mark.parametrize(
    ("dates", "near", "far"),
    [
        ("dmy", "Sun 13 Dec", "Sun 24 Oct 2027"),
        ("mdy", "Sun Dec 13", "Sun Oct 24, 2027"),
        ("iso", "Sun 12-13", "Sun 2027-10-24"),
    ],
)
def test_a_date_that_is_far_has_its_year(
    autumn: Plan, source: Source, tmp_path: Path, dates: str, near: str, far: str
) -> None:
    facts = {**facts_of(autumn, source), "dates": dates}
    with hand(written(tmp_path, autumn, source, facts), PHONE, PLANNED.isoformat()) as opened:
        shown = opened.js("return ['2026-12-13', '2027-10-24'].map(chillplan.words.day)")
        assert shown == [near, far]


@needs_browser
def test_one_is_not_many(autumn: Plan, source: Source, tmp_path: Path) -> None:
    with hand(written(tmp_path, autumn, source, facts_of(autumn, source)), PHONE, PLANNED.isoformat()) as opened:
        said = "return [1, 2, 31].map((n) => chillplan.words.t('entries', { n }))"
        assert opened.js(said) == ["1 entry to bring back", "2 entries to bring back", "31 entries to bring back"]
        said = "return ['56.699 g', '35 g', '200 seeds', ''].map(chillplan.words.weight)"
        assert opened.js(said) == ["56.7 g", "35 g", "200 seeds", ""]
