"""What would change a verdict: the sentences agree with plans made the long way round."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import SpeciesAdvice
from chillplan.advice.wording import verdict_words
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seeds.catalogue import parse_catalogue
from chillplan.seeds.recipe import Species
from chillplan.seeds.requirement import lot_needing
from chillplan.site import Site
from tests.records import wave_weather

TODAY = date(2020, 9, 1)
SITE = Site(42.0, -75.0, "slope of the test", 200.0)


def species(days: str = "90 to 150", **cells: str) -> Species:
    """A species whose lot was measured: a tenth is ready after the first of the days, nine tenths after the second."""
    low, high = map(float, days.split(" to "))
    lot = {"lot_days_10": f"{low}", "lot_days_50": f"{(low + high) / 2.0}", "lot_days_90": f"{high}"}
    row = {"name": "Testus unus", "phases": f"cold moist, {days} days", "seedling_limit_c": "-6", **lot}
    return parse_catalogue([{**row, "trials_source": "made for the test", **cells}])[0]


@pytest.fixture(scope="module")
def seasons() -> Seasons:
    return cut_seasons(wave_weather(mean=8.0), southern=False)


def advice(seasons: Seasons, one: Species, site: Site = SITE, warming: float = 0.0) -> SpeciesAdvice:
    return make_plan(seasons, site, [one], Request(TODAY, 2020, warming=warming)).species[0]


def test_a_plain_case_says_only_how_much_chill_is_spare(seasons: Seasons) -> None:
    found = advice(seasons, species("20 to 30"))
    assert found.good == found.winters
    assert found.changes
    assert found.changes[0].startswith("Even a poor winter (one in ten) has ")
    assert not any("warmer" in sentence for sentence in found.changes)


@pytest.fixture(scope="module")
def near(seasons: Seasons) -> str:
    """A requirement that the winters of the test only just meet."""
    spans = (f"{low} to {low + 40}" for low in range(100, 180, 8))
    return next(days for days in spans if advice(seasons, species(days)).borderline)


def test_scenarios_agree_with_plans_of_their_own(seasons: Seasons, near: str) -> None:
    here = advice(seasons, species(near))
    text = " ".join(here.changes)
    mulched = replace(SITE, cover="straw mulch")
    north = replace(SITE, slope=15.0, aspect=0.0)
    for words, site, warming in (
        ("1 °C warmer", SITE, 1.0),
        ("2 °C warmer", SITE, 2.0),
        ("under straw mulch", mulched, 0.0),
        ("on a north slope of 15 degrees", north, 0.0),
    ):
        other = advice(seasons, species(near), site, warming)
        count = f"{words} ({other.good} of {other.winters} winters)"
        assert (count if other.verdict == here.verdict else f"{other.verdict} {count}") in text


def test_a_need_beyond_the_winter_is_short_by_its_days(seasons: Seasons) -> None:
    texts = [advice(seasons, species(f"{days} to {days}")).changes[0] for days in (300, 310)]
    short = [float(text.split("winter is ")[1].split(" days")[0]) for text in texts]
    assert short[1] - short[0] == pytest.approx(10.0, abs=1.0)


def test_the_base_temperature_is_tried_over_its_range_where_it_is_assumed(seasons: Seasons, near: str) -> None:
    assumed = advice(seasons, species(near, base_low_c="2", base_high_c="8"))
    assert "assumed, 2 to 8 °C" in assumed.changes[-1]
    figures = {"base_temperature_c": "5", "thermal_time_low": "60", "thermal_time_high": "150"}
    published = advice(seasons, species(near, germination_evidence="published", **figures))
    assert not any("base temperature" in sentence for sentence in published.changes)


def test_a_base_temperature_that_matters_is_said_to_turn_the_verdict() -> None:
    cool = cut_seasons(wave_weather(mean=4.0, swing=9.0), southern=False)
    one = species("20 to 40", base_temperature_c="8", base_low_c="0", base_high_c="12", thermal_time_high="400")
    found = make_plan(cool, SITE, [one], Request(TODAY, 2020, changes="all")).species[0]
    low = advice(cool, replace(one, germination=replace(one.germination, base_temperature=0.0)))
    high = advice(cool, replace(one, germination=replace(one.germination, base_temperature=12.0)))
    assert found.verdict not in {low.verdict, high.verdict}
    first, second = verdict_words(low.verdict), verdict_words(high.verdict)
    assert f"it would turn to {first} at 0 °C, {second} at 12 °C" in found.changes[-1]


def test_a_mulched_site_is_tried_without_mulch(seasons: Seasons) -> None:
    site = replace(SITE, cover="straw mulch", slope=25.0)
    spans = (f"{low} to {low + 40}" for low in range(80, 240, 8))
    near = next(days for days in spans if advice(seasons, species(days), site).borderline)
    text = " ".join(advice(seasons, species(near), site).changes)
    assert "without mulch (" in text
    assert "on a south slope of 25 degrees (" in text


def test_warm_spells_that_cost_good_winters_are_told() -> None:
    lasting = cut_seasons(wave_weather(mean=9.0, swing=12.0, noise=6.0), southern=False)

    def told(one: Species) -> list[str]:
        changes = make_plan(lasting, SITE, [one], Request(TODAY, 2020, changes="all")).species[0].changes
        return [text for text in changes if text.startswith("If warm spells undid no chill it would ")]

    assert told(species("60 to 90")) == []
    assert told(species("100 to 130", reversal_c="5")) != []


def test_lots_that_need_more_or_less_are_planned_for_as_such(seasons: Seasons) -> None:
    """A lot a standard deviation apart, planned as a species of its own, has the verdict and winters that are told."""

    def of_lot(one: Species, lot: float) -> Species:
        return replace(one, recipes=tuple(lot_needing(recipe, lot) for recipe in one.recipes))

    spans = (f"cold moist, {low} to {low + 30} days" for low in range(180, 260, 20))
    usuals = (parse_catalogue([{"name": "Testus unus", "phases": span, "seedling_limit_c": "-6"}])[0] for span in spans)
    lots = ((one, [advice(seasons, of_lot(one, lot)) for lot in (-1.0, 1.0)]) for one in usuals)
    usual, planned = next((one, two) for one, two in lots if two[0].verdict != two[1].verdict)
    here = make_plan(seasons, SITE, [usual], Request(TODAY, 2020, changes="all")).species[0]
    text = next(change for change in here.changes if "lots" in change.lower())
    for lot, side, other in zip((-1.0, 1.0), ("less", "more"), planned, strict=True):
        factor = of_lot(usual, lot).recipe.phases[0].factor
        words = f"with seed that needs {abs(factor - 1.0):.0%} {side} cold than usual"
        count = f"({other.good} of {other.winters} winters)"
        told = f"to {verdict_words(other.verdict)} {words} {count}" in text
        assert told == (other.verdict != here.verdict) and (words in text) == told
