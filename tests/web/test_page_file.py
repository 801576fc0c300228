"""The page as a file: safe, small, built from its sources, and whole on paper."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from chillplan.advice.result import Plan
from chillplan.advice.wording import FOR_ALL
from chillplan.data_files import data_path
from chillplan.report.contract import plan_json
from chillplan.report.markup import embedded_json
from chillplan.report.reader import Reader, reader_for
from chillplan.report.record import Source
from chillplan.seasons.chance import percentiles
from chillplan.web.facts import page_facts
from chillplan.web.page import page_html
from tests.web.conftest import PLANNED, facts_of, written
from tests.web.hand import DESK, PHONE, hand, needs_browser

APP = Path(__file__).parents[2] / "chillplan/web/app"
TOOLS = APP / "node_modules/.bin"
needs_tools = pytest.mark.skipif(
    not TOOLS.is_dir() or shutil.which("node") is None,
    reason="the page's tools are not at hand: npm ci in chillplan/web/app",
)
SCREEN = PHONE[1]


@needs_tools
def test_what_ships_is_what_the_sources_make(tmp_path: Path) -> None:
    command = json.loads((APP / "package.json").read_text(encoding="utf-8"))["scripts"]["build"]
    made = tmp_path / "page.js"
    words = command.replace("../../../data/page.js", str(made)).split()
    subprocess.run([TOOLS / words[0], *words[1:]], cwd=APP, check=True, capture_output=True)
    assert made.read_text(encoding="utf-8") == data_path("page.js").read_text(encoding="utf-8"), "npm run build is due"


@needs_tools
def test_the_javascript_keeps_its_types() -> None:
    found = subprocess.run(
        [TOOLS / "tsc", "--project", "jsconfig.json"], cwd=APP, capture_output=True, text=True, check=False
    )
    assert found.returncode == 0, found.stdout


def test_every_library_ships_with_its_licence_and_one_version() -> None:
    package = json.loads((APP / "package.json").read_text(encoding="utf-8"))
    said = data_path("page-LICENSES.txt").read_text(encoding="utf-8")
    for name, version in package["dependencies"].items():
        assert re.fullmatch(r"\d+\.\d+\.\d+", version), "pinned"
        assert f"{name} {version}" in said


def test_every_word_of_the_page_is_in_the_table_and_used() -> None:
    words = json.loads((APP / "words.json").read_text(encoding="utf-8"))
    sources = "\n".join(path.read_text(encoding="utf-8") for path in [*APP.glob("*.jsx"), *APP.glob("*.js")])
    asked = set(re.findall(r'\bt\("(\w+)"', sources))
    assert asked and asked <= set(words["en-GB"])
    assert set(words["en-US"]) <= set(words["en-GB"])


def test_only_the_three_scripts_of_the_page_may_run(autumn: Plan, source: Source) -> None:
    page = page_html(autumn, source, Reader(), facts_of(autumn, source))
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy is not None
    told = policy[1].replace("&#39;", "'")
    allowed = set(re.findall(r"'sha256-([^']+)'", told))
    run = re.findall(r"<script>(.*?)</script>", page, re.S)
    run += re.findall(r'<script type="text/plain"[^>]*>(.*?)</script>', page, re.S)
    assert {base64.b64encode(hashlib.sha256(one.encode()).digest()).decode() for one in run} == allowed
    assert len(allowed) == 3
    assert "default-src 'none'" in told and "connect-src" not in told and "unsafe-eval" not in told
    assert "'unsafe-inline'" not in told.split("script-src")[1].split(";")[0]


NASTY = "</script><script>alert(1)</script><!--"


def test_nothing_from_outside_ends_a_script(autumn: Plan, source: Source) -> None:
    named = replace(autumn, site=replace(autumn.site, name=NASTY))
    held: dict[str, Any] = {"refs": {}, "batches": [], "places": {NASTY: {}}, "sowings": [], "entries": [{"id": NASTY}]}
    facts = facts_of(named, source, held=held)
    page = page_html(named, source, Reader(), facts)
    assert NASTY not in page and "<script>alert" not in page
    inside = page[page.index('id="facts">') + len('id="facts">') :]
    shown = inside[: inside.index("</script>")]
    assert "<" not in shown
    assert json.loads(shown) == json.loads(json.dumps(facts))
    assert embedded_json({"<": "<"}) == '{"\\u003c":"\\u003c"}'
    for drawing in re.findall(r'<script type="application/json"[^>]*>(.*?)</script>', page, re.S):
        assert "<" not in drawing and json.loads(drawing)


@needs_browser
def test_names_with_markup_run_nothing_and_are_shown_as_typed(autumn: Plan, source: Source, tmp_path: Path) -> None:
    one = autumn.species[0]
    odd = replace(one, species=replace(one.species, common_name=f"<img src=x onerror=alert(1)> {NASTY}"))
    named = replace(autumn, species=(odd, *autumn.species[1:]))
    with hand(written(tmp_path, named, source, facts_of(named, source)), PHONE, PLANNED.isoformat()) as opened:
        opened.tap("My seed")
        assert "<img src=x" in opened.text()
        assert opened.js("return document.querySelectorAll('#app img').length") == 0
        assert opened.faults() == []


def test_every_caution_is_on_the_page(autumn: Plan, source: Source) -> None:
    """Each of them, and in the long report beside the species too."""
    hazards = ("Seed is poisonous.", "Sap burns skin in the sun.", "Protected in places: ask before picking.")
    one = autumn.species[0]
    cautions = (*one.cautions, *(hazard for hazard in hazards if hazard not in one.cautions))
    plan = replace(autumn, species=(replace(one, cautions=cautions), *autumn.species[1:]))
    facts = facts_of(plan, source)
    assert facts["species"][0]["cautions"] == list(cautions)
    assert one.species.cautions and all(
        any(hazard in told for told in found["cautions"])
        for advice, found in zip(autumn.species, facts_of(autumn, source)["species"], strict=True)
        for hazard in advice.species.cautions
    )
    report = page_html(plan, source, Reader(), facts).split('id="species-1"')[1].split('id="species-2"')[0]
    assert all(hazard in report for hazard in hazards)


def test_low_and_high_stand_where_their_names_say(autumn: Plan, source: Source) -> None:
    answer = plan_json(autumn, source)
    facts = facts_of(autumn, source)
    seen = False
    for advice, told, shown in zip(autumn.species, answer["species"], facts["species"], strict=True):
        low, middle, high = (float(one) for one in percentiles(list(advice.by_winter)))
        assert shown["shareUp"] == pytest.approx({"p10": low, "p50": middle, "p90": high})
        assert [told["share_up"][key] for key in ("p10", "p50", "p90")] == pytest.approx([low, middle, high], abs=1e-3)
        seen |= low < high
    assert seen, "one species at least must differ between winters"
    chill = answer["winter"]["chill_days"]
    low, middle, high = (float(one) for one in percentiles(autumn.winters.chill_days))
    assert [chill["p10"], chill["p50"], chill["p90"]] == pytest.approx([low, middle, high], abs=0.5) and low < high


def test_american_readers_get_their_units_words_and_dates(autumn: Plan, source: Source) -> None:
    reader = reader_for("us", None)
    facts = page_facts(autumn, source, reader)
    page = page_html(autumn, source, reader, facts)
    assert (facts["units"], facts["dates"]) == ("us", "mdy") and '<html lang="en-US">' in page
    assert "°C" not in json.dumps([one["reason"] for one in facts["species"]], ensure_ascii=False)


@needs_browser
def test_thirty_species_take_less_than_four_megabytes_and_their_overview_four_screens(
    autumn: Plan, source: Source, tmp_path: Path
) -> None:
    many = [
        replace(one, species=replace(one.species, name=f"Multa planta{n}", common_name=f"plant number {n}"))
        for n in range(30)
        for one in (autumn.species[n % len(autumn.species)],)
    ]
    plan = replace(autumn, species=tuple(replace(one, chosen=frozenset()) for one in many), tasks=(), visits=())
    path = written(tmp_path, plan, source, facts_of(plan, source))
    assert path.stat().st_size < 4_000_000
    with hand(path, PHONE, PLANNED.isoformat()) as opened:
        opened.js("window.print = () => {}")
        opened.tap("More")
        for paper in ("A4", "Letter"):
            opened.tap(paper, "#wall")
            opened.tap("Print the wall sheet")
            printed = opened.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
            assert len(PdfReader(io.BytesIO(base64.b64decode(printed["data"]))).pages) == 1
            opened.js("window.dispatchEvent(new Event('afterprint'))")
        opened.js("location.hash = 'report'")
        opened.wait("!document.getElementById('report').hidden")
        overview = opened.js(
            "return document.querySelectorAll('#report > .sheet > details')[1].getBoundingClientRect().top"
            " - document.getElementById('report').getBoundingClientRect().top"
        )
        assert overview <= 4 * SCREEN


@needs_browser
@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_the_wall_sheet_is_one_page(boxed: Path, paper: str, size: tuple[int, int]) -> None:
    with hand(boxed, DESK, PLANNED.isoformat()) as opened:
        opened.js("window.print = () => {}")
        opened.tap("More")
        opened.tap(paper, "#wall")
        opened.tap("Print the wall sheet")
        printed = opened.driver.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": True})
        pages = PdfReader(io.BytesIO(base64.b64decode(printed["data"]))).pages
        assert len(pages) == 1
        assert (float(pages[0].mediabox.width), float(pages[0].mediabox.height)) == pytest.approx(size, abs=2)
        words = pages[0].extract_text()
        assert "Looking days, Sundays" in words and "☐" in words and "short quest" in words
        assert all(caution in " ".join(words.split()) for caution in FOR_ALL), "cautions hang on the wall too"
        assert "Add seed" not in words and "Verdicts" not in words
