"""Verdicts that hang on the edges of the response to cold: the same as plans of species with such a response."""

from __future__ import annotations

from datetime import date

import pytest

from chillplan.advice.edges import AtEdge
from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.report.contract import species_json
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seasons.response import EDGES, response_share
from chillplan.seeds.catalogue import parse_catalogue
from chillplan.seeds.recipe import Species
from chillplan.site import Site
from tests.records import wave_weather

USUAL = (-2.0, 1.0, 7.0, 12.0)
RESPONSES = {
    "chill counted down to -5 °C": "-5, 0, 7, 12",
    "8 to 10 °C counted in full": "-2, 1, 10, 12",
    "8 to 10 °C counted little": "-2, 1, 7, 9",
}


def species(days: float, response: str = "") -> Species:
    """A species of which half of the seed needs these days of cold."""
    lot = {"lot_days_10": f"{days - 15}", "lot_days_50": f"{days}", "lot_days_90": f"{days + 15}"}
    row = {"name": "Testus unus", "phases": "cold moist, 60 to 90 days", "seedling_limit_c": "-6", **lot}
    return parse_catalogue([{**row, "trials_source": "made for the test", "cold_response": response}])[0]


def plan(seasons: Seasons, one: Species) -> Plan:
    site = Site(42.0, -75.0, "slope of the test", 200.0)
    return make_plan(seasons, site, [one], Request(date(2020, 9, 1), 2020))


@pytest.mark.parametrize("mean", [2.0, 8.0])
def test_what_hangs_is_what_the_plan_of_such_a_species_says(mean: float) -> None:
    seasons = cut_seasons(wave_weather(mean=mean), southern=False)
    hung = 0
    for days in range(60, 220, 10):
        said = plan(seasons, species(days)).species[0]
        if not any("warmer" in words for words in said.changes):
            assert said.hangs_on == ()  # far from the line nothing is tried
            continue
        others = {words: plan(seasons, species(days, response)).species[0] for words, response in RESPONSES.items()}
        turned = {at.edge.words: (at.verdict, at.good, at.winters) for at in said.hangs_on}
        assert turned == {
            words: (other.verdict, other.good, other.winters)
            for words, other in others.items()
            if other.verdict != said.verdict
        }
        hung += len(turned)
    assert hung


def first_hanging(seasons: Seasons) -> Plan:
    plans = (plan(seasons, species(days)) for days in range(60, 220, 10))
    return next(found for found in plans if found.species[0].hangs_on)


def test_the_plan_says_so_in_one_line_and_in_json() -> None:
    found = first_hanging(cut_seasons(wave_weather(mean=8.0), southern=False))
    (one,) = found.species
    assert found.edge_words.endswith("it decides for Testus unus.") and "\n" not in found.edge_words
    assert any(words.startswith("It hangs on edges of chill") for words in one.changes)
    told = species_json(one)["hangs_on_edges"]
    assert [each["verdict"] for each in told] == [at.verdict for at in one.hangs_on]
    assert all(each["edge"] in {"cold", "warm"} and each["verdict"] != one.verdict for each in told)


def test_a_published_response_has_no_edges_to_hang_on() -> None:
    seasons = cut_seasons(wave_weather(mean=8.0), southern=False)
    published = (plan(seasons, species(days, "-2, 1, 7, 12.5")) for days in range(60, 220, 10))
    assert all(found.species[0].hangs_on == () and found.edge_words == "" for found in published)


def test_edges_move_one_side_only() -> None:
    shares = {edge.words: [response_share(t, edge.moved(USUAL)) for t in (-3.5, 4.0, 9.5)] for edge in EDGES}
    assert shares["chill counted down to -5 °C"] == pytest.approx([0.3, 1.0, 0.5])
    assert shares["8 to 10 °C counted in full"] == pytest.approx([0.0, 1.0, 1.0])
    assert shares["8 to 10 °C counted little"] == pytest.approx([0.0, 1.0, 0.0])


def test_words_of_an_edge() -> None:
    at = AtEdge(EDGES[0], "either", 30, 40)
    assert at.words == "to either if chill counted down to -5 °C (30 of 40 winters)"
