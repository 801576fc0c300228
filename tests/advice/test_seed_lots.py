"""A plan for the seed at hand: nothing before it is ripe, nothing that lets it dry, nothing where it would freeze."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.seed_lots import for_lots
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.lot import Lot
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seeds.catalogue import find_species
from chillplan.seeds.recipe import Ripening
from chillplan.seeds.ripening import DAYS_A_DEGREE, growing_warmth, ripe_at, usual_warmth
from chillplan.site import Site
from tests.records import wave_weather

TODAY = date(2026, 8, 1)
SITE = Site(42.4, -76.2, elevation=300.0)
NAMES = ("pawpaw", "bloodroot", "common persimmon", "American plum", "wild bergamot", "sugar maple", "redbud")


@pytest.fixture(scope="module")
def seasons() -> Seasons:
    return cut_seasons(wave_weather(), southern=False)


def test_no_task_before_the_seed_is_ripe_and_none_that_lets_it_dry(seasons: Seasons) -> None:
    species = [find_species(built_in_catalogue(), name) for name in NAMES]
    made = for_lots(make_plan(seasons, SITE, species, Request(TODAY, changes="none")), ())
    warmth = growing_warmth(seasons)
    for advice in made.species:
        tasks = [task for task in made.tasks if task.species == advice.species.name]
        assert tasks, advice.species.name
        assert advice.species.ripening is not None
        ripe = ripe_at(advice.species.ripening, warmth, made.season, southern=False)
        assert min(task.date_from for task in tasks) >= max(ripe.first, TODAY)
        assert any(note.startswith("Seed is ripe here about") for note in advice.notes)
        assert advice.outdoors is None or "outdoors" not in advice.ways or advice.outdoors.sow_from >= ripe.first
        if advice.species.storage != "dry":
            assert not any(task.action.startswith("dry it") for task in tasks)
            begin = min(task.date_from for task in tasks if not task.key.startswith("seed/"))
            kept = any("keep it moist" in task.action for task in tasks)
            assert kept or begin <= max(ripe.first, TODAY)


def test_the_way_and_the_day_of_a_lot_decide(seasons: Seasons) -> None:
    plum = find_species(built_in_catalogue(), "American plum")
    plain = make_plan(seasons, SITE, [plum], Request(TODAY, changes="none"))
    picked = date(2026, 12, 20)
    made = for_lots(plain, [Lot(plum.name, picked=picked, way="cold store", state="fresh moist")])
    assert {task.key.split("/")[0] for task in made.tasks} <= {"fridge", "seed"}
    assert min(task.date_from for task in made.tasks) >= picked


def test_a_plant_that_would_freeze_is_never_a_plain_sow(seasons: Seasons) -> None:
    plum = find_species(built_in_catalogue(), "American plum")
    tender = replace(plum, hardiness=-8.0)
    made = for_lots(make_plan(seasons, SITE, [tender], Request(TODAY, changes="none")), ())
    (advice,) = made.species
    lowest = seasons.daily["tmin"][120:].min(axis=0)
    assert advice.frozen == (lowest < -8.0).sum() > 0
    assert advice.notes[0].startswith(f"The plant would freeze here in {advice.frozen} of {lowest.size} winters")
    assert advice.killed and made.tasks == ()


def test_ripening_is_moved_by_the_warmth_of_the_site() -> None:
    autumn = Ripening((9, 10), (10, 20), 42.0, "a source")
    usual = ripe_at(autumn, usual_warmth(42.0), 2026, southern=False)
    assert (usual.first, usual.last, usual.later) == (date(2026, 9, 10), date(2026, 10, 20), 0)
    warm = ripe_at(autumn, usual_warmth(42.0) + 4.0, 2026, southern=False)
    assert (usual.first - warm.first).days == 4 * DAYS_A_DEGREE == -warm.later
    south = ripe_at(autumn, usual_warmth(42.0), 2026, southern=True)
    assert south.first == date(2026, 3, 11) and south.last == date(2026, 4, 20)


def test_the_usual_warmth_is_that_of_known_places() -> None:
    """April to September means 1991 to 2020, U.S. climate normals (from memory): Albany NY 17.6, Raleigh NC 22.3 °C."""
    assert usual_warmth(42.7) == pytest.approx(17.6, abs=1.7)
    assert usual_warmth(35.8) == pytest.approx(22.3, abs=1.7)
