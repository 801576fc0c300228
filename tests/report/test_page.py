"""The page as text: complete, safe, small, and readable without seeing it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser

import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.report.pictures_timeline import KINDS, steps_shown
from chillplan.report.reader import Reader, reader_for
from chillplan.report.record import Source
from chillplan.report.when_words import full_verdict
from chillplan.seasons.cut import Seasons
from chillplan.site import Site
from chillplan.web.facts import page_facts
from tests.report.conftest import NASTY_NAMES, SPECIES, TODAY, page_of
from tests.report.handmade import OUT, hand_plan

VOID = {"meta", "link", "br", "img", "hr", "input"}


class Outline(HTMLParser):
    """Elements, ids and headings of a page; raises where tags do not close in order."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.ids: list[str] = []
        self.targets: list[str] = []
        self.headings: list[int] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        self.tags.append((tag, found))
        if found.get("id"):
            self.ids.append(str(found["id"]))
        if tag == "a":
            self.targets.append(str(found.get("href")))
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def outline(page: str) -> Outline:
    found = Outline()
    found.feed(page)
    assert not found.open
    return found


@pytest.fixture(scope="module")
def page(plan: Plan, source: Source) -> str:
    return page_of(plan, source, Reader())


def test_every_tag_closes_and_every_link_has_its_place(page: str) -> None:
    found = outline(page)
    assert len(found.ids) == len(set(found.ids))
    assert found.targets
    for target in found.targets:
        assert target.startswith("#") and target[1:] in found.ids


def test_landmarks_headings_and_pictures_are_there_for_a_screen_reader(page: str) -> None:
    found = outline(page)
    tags = [tag for tag, _ in found.tags]
    assert tags.count("h1") == tags.count("footer") == 1, "main and header are the page's own, see tests/web"
    assert found.headings[0] == 1
    assert all(after - before <= 1 for before, after in zip(found.headings, found.headings[1:], strict=False))
    pictures = [attributes for tag, attributes in found.tags if attributes.get("role") == "img"]
    assert len(pictures) == 5 + len(SPECIES)
    for attributes in pictures:
        assert attributes["aria-label"] and attributes["aria-describedby"] in found.ids
    assert tags.count("table") == tags.count("caption")
    assert ("html", {"lang": "en-GB"}) in found.tags


def test_nothing_is_fetched_and_the_drawing_library_is_inside_once(page: str) -> None:
    found = outline(page)
    for tag, attributes in found.tags:
        assert not attributes.get("src"), tag
        assert tag not in {"iframe", "object", "embed", "img"}
        if tag == "link":
            assert attributes["href"] == "data:,"
    assert page.count('id="drawing-library"') == 1
    targets = re.findall(r"url\(([^)]*)\)", page[: page.index("drawing-library")])
    assert all(target.startswith("#") for target in targets), "patterns of the page itself, nothing fetched"


def test_the_bundle_is_of_the_version_whose_figures_are_tested() -> None:
    from plotly.offline import get_plotlyjs_version

    from chillplan.data_files import data_path

    first = data_path("plotly-basic.min.js").read_text(encoding="utf-8")[:200]
    assert f"v{get_plotlyjs_version().split('.')[0]}." in first


def test_the_verdict_of_every_species_is_said_in_words_before_its_picture(page: str, plan: Plan) -> None:
    summary = page[page.index('id="verdicts"') : page.index('id="work"')]
    for advice in plan.species:
        assert full_verdict(plan, advice) in summary
        assert f"{advice.good} of {advice.winters}" in summary


def test_a_plant_that_would_freeze_gets_no_verdict_and_no_dates_on_the_page(plan: Plan, source: Source) -> None:
    first, *others = plan.species
    assert not any(one.killed for one in plan.species)
    killed = replace(first, frozen=first.winters, killed=True)
    page = page_of(replace(plan, species=(killed, *others)), source, Reader())
    summary = page[page.index('id="verdicts"') : page.index('id="work"')]
    assert summary.count('<span class="chip not-here">too cold for the plant</span>') == 1
    assert f"freeze here in {first.winters} of {first.winters} winters" in summary
    assert "1 not planned, too cold for the plant" in summary


def chip(words: str, key: str) -> str:
    return f'<span class="chip {key}">{words}</span>'


def test_the_ways_that_serve_are_said_where_the_verdict_stands_and_where_it_is_counted(source: Source) -> None:
    """Of seed that autumn, refrigerator and spring serve alike a grower would else read: sow in spring."""
    plan = hand_plan()
    page = page_of(plan, source, Reader())
    summary = page[page.index('id="verdicts"') : page.index('id="work"')]
    assert chip("autumn, refrigerator or spring: all serve", "sow-in-spring") in summary
    assert "1 for which autumn, refrigerator or spring all serve, 1 to leave outdoors" in summary
    assert page.count(chip("autumn, refrigerator or spring: all serve", "sow-in-spring")) == 2, "and at the species"
    told = {one["name"]: one["words"] for one in page_facts(plan, source, Reader())["species"]}
    assert told["Carex clara"] == "autumn, refrigerator or spring: all serve"
    assert told["Erica errans"] == "too cold for the plant" and told["Ficus ficta"] == "not here"
    fresh = replace(plan.species[0], moist=True, outdoors=replace(OUT, sow_from=date(2026, 8, 20)))
    both = replace(plan.species[2], fridge=None)
    page = page_of(replace(plan, species=(fresh, both, both), tasks=(), visits=()), source, Reader())
    assert chip("sow when ripe, or fridge", "either") in page
    assert "Of 3 species: 1 to sow when ripe or chill in the fridge, 2 for which autumn or spring both serve." in page


def test_a_plant_that_would_freeze_has_no_steps_on_the_page(source: Source) -> None:
    page = page_of(hand_plan(), source, Reader())
    parts = page[page.index('<section id="species"') :].split('<details class="species-one"')
    (frozen,) = [part for part in parts if "<h3" in part and "tender heath" in part.partition("</h3>")[0]]
    assert chip("too cold for the plant", "not-here") in frozen and "<h4>Outdoors</h4>" not in frozen
    (sown,) = [part for part in parts if "<h3" in part and "slow dirca" in part.partition("</h3>")[0]]
    assert "<h4>Outdoors</h4>" in sown


def test_the_key_to_the_year_names_what_its_picture_shows_and_no_more(page: str, plan: Plan) -> None:
    key = re.search(r'aria-label="Key to the picture">(.*?)</ul>', page, re.DOTALL)
    assert key is not None
    shown = {step.kind for advice in plan.species for step in steps_shown(advice)}
    assert shown and shown != set(KINDS)
    assert {kind for kind, look in KINDS.items() if look.words in key[1]} == shown


def test_invented_weather_is_announced_and_observed_weather_is_not(plan: Plan, source: Source, page: str) -> None:
    assert "INVENTED" in page
    honest = page_of(plan, replace(source, invented=False), Reader())
    assert '"invented":false' in honest
    assert "INVENTED" not in re.sub(r"<script>.*?</script>", "", honest, flags=re.S), "nothing but the table of words"


def test_pictures_are_data_the_drawing_library_takes(page: str) -> None:
    import plotly.graph_objects as go

    drawings = re.findall(r'<script type="application/json" id="chart-[\w-]+-data">(.*?)</script>', page, re.S)
    assert len(drawings) == 5 + len(SPECIES)
    for drawing in drawings:
        found = json.loads(drawing)
        go.Figure(found["data"], found["layout"])  # raises at any property the library does not know


def test_names_cannot_become_markup(nasty_plan: Plan, source: Source) -> None:
    page = page_of(nasty_plan, source, Reader())
    found = outline(page)
    assert not [tag for tag, _ in found.tags if tag in {"img", "b"} and tag == "img"]
    assert len([tag for tag, _ in found.tags if tag == "script"]) == 4 + 5 + len(NASTY_NAMES)
    facts = json.loads(page[page.index('id="facts">') + 11 : page.index("</script>", page.index('id="facts">'))])
    assert [one["name"] for one in facts["species"]] == list(NASTY_NAMES)
    assert "<b>bold</b>" not in page
    for drawing in re.findall(r'<script type="application/json" id="chart-[\w-]+-data">(.*?)</script>', page, re.S):
        assert "<" not in drawing
    assert "<bdi>ورد جوري</bdi>" in page
    assert "\x00" not in page


def test_us_units_leave_no_metric_figure_in_sentences(plan: Plan, source: Source) -> None:
    page = page_of(plan, source, reader_for("us", None))
    shown = re.sub(r"<(style|script)\b.*?</\1>", "", page, flags=re.S)
    assert "°F" in shown and "°C" not in shown.replace("Temperatures are taken as °C.", "")
    assert not re.search(r"\d[\s\u00a0](cm|mm)\b", shown)
    assert re.search(r"[A-Z][a-z]{2} \d{1,2}, 20\d\d", shown)


def test_120_species_stay_below_five_megabytes(seasons: Seasons, site: Site, source: Source) -> None:
    many = [replace(SPECIES[n % 5], name=f"Multa planta{n}", common_name=f"plant number {n}") for n in range(120)]
    page = page_of(make_plan(seasons, site, many, Request(TODAY)), source, Reader())
    assert len(page.encode()) <= 5_000_000
    assert page.count('class="species-one"') == 120


def test_every_caution_of_a_species_is_on_the_page(plan: Plan, source: Source) -> None:
    hazards = ("seeds are deadly poisonous", "sap blisters the skin", "protected: check your own")
    first, *others = plan.species
    warned = replace(plan, species=(replace(first, cautions=hazards), *others))
    page = page_of(warned, source, Reader())
    for hazard in hazards:
        assert hazard[0].upper() + hazard[1:] in page


@pytest.mark.parametrize(
    ("higher", "away", "said"),
    [
        (40.0, 3.2, "station Invented 1, 3 km from the site, the site 40 m higher; "),
        (-40.0, None, "station Invented 1, the site 40 m lower; "),
        (0.4, None, "station Invented 1; "),
        (None, None, "station Invented 1; "),
    ],
)
def test_the_page_says_how_far_and_how_much_higher_the_site_lies(
    plan: Plan, source: Source, higher: float | None, away: float | None, said: str
) -> None:
    page = page_of(plan, replace(source, height_difference_m=higher, distance_km=away), Reader())
    assert said in page.replace("\N{NO-BREAK SPACE}", " ")


def test_on_paper_charts_are_lower_but_rows_of_text_keep_their_height(plan: Plan, source: Source) -> None:
    page = page_of(plan, source, Reader())
    charts = re.findall(r'id="chart-([a-z0-9-]+)"[^>]* data-print="(\d+)" style="min-height:(\d+)px"', page)
    assert {"timeline", "frost", "chill", "zone"} <= {key for key, _, _ in charts}
    for key, paper, screen in charts:
        whole = key in {"timeline", "frost"}
        assert int(paper) == int(screen) if whole else 0.7 * int(screen) < int(paper) < 0.8 * int(screen), key
