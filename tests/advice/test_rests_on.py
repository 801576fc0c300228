"""What an answer rests on that is not measured at the site: the other snow, the cover, the missing thermometer."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.rests_on import rests_on
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.data_files import data_path
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seasons.summary import ground_of, winters_of
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
