"""What the printed lines say is what the plan holds: where, of what record, how many, and when."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from rich.table import Table

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan, SpeciesAdvice
from chillplan.advice.visits import VisitPlan
from chillplan.advice.wording import verdict_words
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.report.tables import print_plan, print_visits, print_winter
from chillplan.report.when_words import advice_line, shown_verdict, when_words
from chillplan.seasons.cut import Seasons
from chillplan.site import Site
from tests.report.conftest import cold, species_of, warm
from tests.report.test_tables import lines_of

READER = Reader()


def one_line(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def advice_of(plan: Plan, common: str) -> SpeciesAdvice:
    return next(advice for advice in plan.species if advice.species.common_name == common)


@pytest.mark.parametrize(
    ("latitude", "longitude", "said"),
    [(44.2, -72.5, "44.200 N, 72.500 W"), (-41.3, 174.8, "41.300 S, 174.800 E"), (0.0, 0.0, "0.000 N, 0.000 E")],
)
def test_the_place_is_told_by_its_side_of_the_equator_and_of_greenwich(
    plan: Plan, source: Source, capsys: pytest.CaptureFixture[str], latitude: float, longitude: float, said: str
) -> None:
    place = replace(plan.site, latitude=latitude, longitude=longitude)
    print_winter(place, source, plan.seasons, plan.winters, 2026, READER)
    assert f"Test Bank: {said}, 420 m, short grass, seed 2 cm deep" in one_line(capsys)


def test_the_record_is_told_with_its_distance_and_height(
    plan: Plan, source: Source, capsys: pytest.CaptureFixture[str]
) -> None:
    print_winter(plan.site, replace(source, invented=False), plan.seasons, plan.winters, 2026, READER)
    out = one_line(capsys)
    assert "INVENTED" not in out
    assert "station Invented 1, 3 km away, site +40 m; 1999-01-01 to 2012-12-31, 99.8% of days observed" in out
    assert f"{plan.winters.years.size} winters used" in out and "note: Temperatures are taken as °C." in out
    lower = replace(source, height_difference_m=-40.0, distance_km=None)
    print_winter(replace(plan.site, elevation=None), lower, plan.seasons, plan.winters, 2026, READER)
    out = one_line(capsys)
    assert "height not stated" in out and "away" not in out and "station Invented 1, site -40 m;" in out


def test_a_plant_that_would_freeze_is_said_to(plan: Plan, source: Source, capsys: pytest.CaptureFixture[str]) -> None:
    advice = plan.species[0]
    sound = advice_line(plan, advice, READER)
    assert "freeze" not in sound and sound.startswith(("sow on ", "begin indoors on "))
    frozen, killed = replace(advice, frozen=2), replace(advice, frozen=9, killed=True)
    assert advice_line(plan, frozen, READER) == f"{sound}; the plant would freeze here in 2 winters"
    assert advice_line(plan, killed, READER).startswith("not planned: the plant would freeze here in 9 of ")
    for one, said in ((frozen, ", but it freezes in 2"), (killed, "too cold for the plant")):
        print_plan(replace(plan, species=(one,)), source, READER)
        assert said.split()[-1] in one_line(capsys)


def test_the_line_of_advice_keeps_within_the_dates_of_the_tasks(plan: Plan) -> None:
    seen = set()
    for advice in plan.species:
        own = {task.key.split("/")[1]: task for task in plan.tasks if task.species == advice.species.name}
        line = advice_line(plan, advice, READER)
        if "sow" in own:
            sow = own["sow"]
            assert f"({READER.span(sow.date_from, sow.date_to)} works)" in line
            days = [sow.date_from + timedelta(days=n) for n in range((sow.date_to - sow.date_from).days + 1)]
            named = [day for day in days if f"the weekend of {READER.day(day)} (" in line]
            assert named and named[0].weekday() == 5
            assert abs((named[0] - advice.outdoors.best).days) <= 6
            seen.add("sow")
        begun = [task for task in plan.tasks if task.species == advice.species.name and task.key.startswith("fridge/")]
        if begun:
            assert f"begin indoors on {READER.day(min(task.date_from for task in begun))}" in line
            seen.add("fridge")
        assert ("plant out" in own) == (", plant out " in line)
    assert seen == {"sow", "fridge"}


def test_warmth_is_told_first_only_where_it_comes_first(seasons: Seasons, site: Site) -> None:
    after = species_of("Bina frigida", "cold quest", cold(30, 40), warm(60, 90))
    advice = make_plan(seasons, site, [after], Request(date(2026, 3, 1), season=2026)).species[0]
    words = when_words(replace(advice, verdict="chill-in-fridge"), READER)
    assert words.startswith(f"into the cold {READER.day(advice.fridge.into_cold)}, plant out ")
    warmth = next(step.date_from for step in advice.fridge.steps if step.kind == "warm phase")
    same_day = replace(advice, verdict="chill-in-fridge", fridge=replace(advice.fridge, into_cold=warmth))
    assert when_words(same_day, READER).startswith("into the cold "), "begun on one day, the cold is named"


def test_a_name_stays_on_one_line_beside_sentences() -> None:
    table = Table(box=None, pad_edge=False)
    for heading in ("Species", "When", "What"):
        table.add_column(heading)
    when = "sow 17 Nov 2026 to 6 Feb 2027; or into the cold 29 Nov 2026"
    table.add_row("blue flag iris", when, "mark the bed with its name and the date of sowing")
    assert any("blue flag iris" in line for line in lines_of(table, 80))


def test_visits_of_invented_weather_say_so_first(
    plan: Plan, source: Source, capsys: pytest.CaptureFixture[str]
) -> None:
    for invented in (True, False):
        print_visits(plan, VisitPlan((), (), proven=True), replace(source, invented=invented), READER)
        assert one_line(capsys).startswith("The weather is INVENTED (embedded demo)") == invented


def test_the_ways_that_serve_beside_spring_are_named(plan: Plan) -> None:
    sown = next(advice for advice in plan.species if advice.outdoors is not None and advice.fridge is not None)
    spring = replace(sown, verdict="sow-in-spring", outdoors=replace(sown.outdoors, autumn=None), fridge=None)
    autumn = (date(2026, 10, 1), date(2026, 11, 1))
    both = replace(spring, outdoors=replace(spring.outdoors, autumn=autumn))
    assert shown_verdict(plan, spring) == verdict_words("sow-in-spring") and "serve" not in shown_verdict(plan, spring)
    assert shown_verdict(plan, both) == "autumn or spring: both serve"
    assert shown_verdict(plan, replace(spring, fridge=sown.fridge)) == "refrigerator or spring: both serve"
    assert shown_verdict(plan, replace(both, fridge=sown.fridge)) == "autumn, refrigerator or spring: all serve"
    assert "in autumn, " in when_words(both, READER) and "in autumn" not in when_words(spring, READER)


def test_fresh_seed_is_sown_when_ripe_only_in_summer(plan: Plan) -> None:
    """Before the end of a season's first month: August here."""
    sown = next(advice for advice in plan.species if advice.outdoors is not None)
    for day, verdict, moist, said in (
        (date(2026, 8, 31), "sow-in-autumn", True, "sow when ripe"),
        (date(2026, 8, 31), "either", True, "sow when ripe, or fridge"),
        (date(2026, 9, 1), "sow-in-autumn", True, verdict_words("sow-in-autumn")),
        (date(2026, 8, 31), "sow-in-autumn", False, verdict_words("sow-in-autumn")),
    ):
        one = replace(sown, verdict=verdict, moist=moist, outdoors=replace(sown.outdoors, sow_from=day))
        assert shown_verdict(plan, one) == said
