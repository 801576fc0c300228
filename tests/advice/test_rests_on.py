"""What an answer rests on that is not measured at the site: the other snow, the cover, the missing thermometer."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.rests_on import AtEdge, rests_on
from chillplan.advice.result import Plan
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.data_files import data_path
from chillplan.report.contract import species_json
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seasons.response import EDGES, response_share
from chillplan.seasons.summary import ground_of, winters_of
from chillplan.seeds.catalogue import parse_catalogue
from chillplan.seeds.recipe import Species
from chillplan.site import Site, read_site
from chillplan.weather.read import read_weather
from tests.records import wave_weather

SITE = Site(44.0, -75.0, "slope of the test", 200.0)


@pytest.fixture(scope="module")
def seasons() -> Seasons:
    daily = wave_weather(mean=4.0)
    daily["precipitation"] = np.where(np.arange(len(daily)) % 3 == 0, 6.0, 0.0)
    return cut_seasons(daily, southern=False)


def median(seasons: Seasons, site: Site) -> float:
    return float(np.median(winters_of(seasons, ground_of(seasons, site)).effective_chill))


def test_nothing_is_said_of_modelled_snow_under_short_grass(seasons: Seasons) -> None:
    found = rests_on(seasons, SITE, winters_of(seasons, ground_of(seasons, SITE)))
    assert (found.snow, found.sentences) == ("modelled", ())
    assert found.as_json["cover_moves_effective_chill_days"] is None


def test_observed_snow_is_said_to_have_spoken_and_how_far_the_other_is(seasons: Seasons) -> None:
    bare = replace(seasons, daily={**seasons.daily, "snow_depth": np.zeros_like(seasons.daily["tmin"])})
    found = rests_on(bare, SITE, winters_of(bare, ground_of(bare, SITE)))
    assert found.snow == "observed"
    assert found.chill_modelled_snow == pytest.approx(median(seasons, SITE))
    assert found.chill == pytest.approx(median(bare, SITE))
    assert abs(found.chill - median(seasons, SITE)) > 5.0
    (said,) = found.sentences
    assert f"{median(seasons, SITE):.0f} days instead of {median(bare, SITE):.0f}" in said


def test_an_assumed_cover_says_how_far_it_moves_the_answer(seasons: Seasons) -> None:
    leaves = replace(SITE, cover="leaf mulch")
    found = rests_on(seasons, leaves, winters_of(seasons, ground_of(seasons, leaves)))
    assert found.chill_cover == pytest.approx(median(seasons, leaves) - median(seasons, SITE))
    assert found.date_cover is not None and found.date_cover > 0.0  # mulch keeps spring away
    assert "leaf mulch" in found.sentences[0] and f"{found.chill_cover:+.0f} days" in found.sentences[0]


def test_a_logger_is_named_where_less_error_would_end_the_doubt() -> None:
    site = read_site(data_path("demo_site.toml"))
    seasons = cut_seasons(read_weather([data_path("demo_weather.csv")])[0].daily, southern=False)
    species, request = built_in_catalogue(), Request(date(2026, 9, 1), changes="none")
    plan = make_plan(seasons, site, species, request)
    doubtful = {advice.species.name for advice in plan.species if advice.borderline}
    assert plan.logger_settles
    assert set(plan.logger_settles) <= doubtful
    assert plan.logger_words.count("logger in the bed for one winter would settle this") == 1
    tuned = make_plan(seasons, replace(site, calibration={"shift": 0.1}), species, request)
    assert (tuned.logger_settles, tuned.logger_words) == ((), "")


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
