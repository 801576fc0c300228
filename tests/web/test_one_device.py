"""What a phone may do to the page: a wrong clock, two windows, a page of another season before this one."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from chillplan.advice.result import Plan
from chillplan.report.record import Source
from tests.web.conftest import PLANNED, facts_of, written
from tests.web.hand import PHONE, hand, needs_browser

pytestmark = needs_browser


def test_a_clock_before_the_page_and_a_page_too_old_are_told(boxed: Path) -> None:
    told = {0: "", -1: "set it right before you enter anything", 300: "", 401: "write a new one on the laptop"}
    for days, words in told.items():
        with hand(boxed, PHONE, (PLANNED + timedelta(days=days)).isoformat()) as opened:
            shown = opened.text("header")
            assert (words in shown) if words else "clock" not in shown, days


def test_what_one_window_enters_the_other_shows(boxed: Path) -> None:
    with hand(boxed, PHONE, PLANNED.isoformat()) as opened:
        first = opened.driver.current_window_handle
        opened.driver.switch_to.new_window("tab")
        opened.open("box")
        opened.tap("All fine: keep")
        opened.kept(10)
        opened.driver.switch_to.window(first)
        opened.js("document.dispatchEvent(new Event('visibilitychange'))")
        opened.tap("More")
        opened.wait("document.querySelector('#back b').textContent.startsWith('10 entries')")
        opened.js("document.dispatchEvent(new Event('visibilitychange'))")
        opened.settle()
        assert "10 entries to bring back" in opened.text("#back"), "each once"


def test_entries_of_another_seasons_page_can_still_be_brought_back(
    autumn: Plan, source: Source, boxed: Path, tmp_path: Path
) -> None:
    profile = tmp_path / "browser"
    with hand(boxed, PHONE, PLANNED.isoformat(), profile) as opened:
        opened.tap("The box")
        opened.tap("All fine: keep")
        looks = opened.kept(10)
    facts = facts_of(autumn, source)
    facts["season"] += 1
    named = f"{facts['site']} {facts['season'] - 1}"
    with hand(written(tmp_path, autumn, source, facts, "next.html"), PHONE, PLANNED.isoformat(), profile) as opened:
        opened.tap("More")
        opened.wait("document.querySelector('#back').innerText.includes('Entries of another page')")
        assert f"{named}: 10 entries that the laptop may not have" in opened.text("#back")
        assert "There is nothing to bring back yet" in opened.text("#back")
        opened.js(
            "window.saved = []; URL.createObjectURL = (file) => {"
            " file.text().then((text) => window.saved.push(text)); return 'data:,'; }"
        )
        opened.tap("Save as a file")
        opened.wait("window.saved.length")
        content = opened.js("return JSON.parse(window.saved[0])")
        assert (content["season"], {one["id"] for one in content["entries"]}) == (
            facts["season"] - 1,
            {one["id"] for one in looks},
        )
    facts["entries"] = [{"id": one["id"], "at": "", "kind": "gone"} for one in looks]
    with hand(written(tmp_path, autumn, source, facts, "next.html"), PHONE, PLANNED.isoformat(), profile) as opened:
        opened.tap("More")
        opened.settle()
        assert "another page" not in opened.text("#back"), "the laptop has them"
