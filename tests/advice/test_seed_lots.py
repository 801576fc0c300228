"""A plan for the seed at hand: nothing before it is ripe, nothing that lets it dry, nothing where it would freeze."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from chillplan.advice.outlook import outlook
from chillplan.advice.plan import Request
from chillplan.advice.result import Plan, SpeciesAdvice, Task
from chillplan.advice.seed_lots import plan_for_lots
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.lot import Lot
from chillplan.report.reader import reader_for
from chillplan.report.when_words import advice_line, when_words
from chillplan.seasons.cut import Seasons, cut_seasons
from chillplan.seasons.summary import ground_of
from chillplan.seeds.catalogue import find_species
from chillplan.seeds.recipe import Recipe, Ripening, Species
from chillplan.seeds.requirement import needs_of_lot
from chillplan.seeds.ripening import DAYS_A_DEGREE, growing_warmth, ripe_at, usual_warmth
from chillplan.seeds.two_winters import TwoWinters, two_winters
from chillplan.site import Site
from tests.records import wave_weather

TODAY = date(2026, 8, 1)
SITE = Site(42.4, -76.2, elevation=300.0)
NAMES = ("pawpaw", "bloodroot", "common persimmon", "American plum", "wild bergamot", "sugar maple", "redbud")


@pytest.fixture(scope="module")
def seasons() -> Seasons:
    return cut_seasons(wave_weather(), southern=False)


def planned(seasons: Seasons, species: list[Species], lots: list[Lot] = [], today: date = TODAY) -> Plan:  # noqa: B006
    return plan_for_lots(seasons, SITE, (species, lots), Request(today, changes="none"))


def test_no_task_before_the_seed_is_ripe_and_none_that_lets_it_dry(seasons: Seasons) -> None:
    species = [find_species(built_in_catalogue(), name) for name in NAMES]
    made = planned(seasons, species)
    warmth = growing_warmth(seasons)
    for advice in made.species:
        tasks = [task for task in made.tasks if task.species == advice.species.name]
        assert tasks, advice.species.name
        assert advice.species.ripening is not None and advice.ripe is not None
        year = made.season + (advice.species.name == "Sanguinaria canadensis")  # its seed of June 2026 is gone
        ripe = ripe_at(advice.species.ripening, warmth, year, southern=False)
        assert advice.ripe == (ripe.first, ripe.last)
        assert min(task.date_from for task in tasks) >= max(ripe.first, TODAY)
        assert any(note.startswith("Seed is ripe here about") for note in advice.notes)
        assert advice.outdoors is None or "outdoors" not in advice.ways or advice.outdoors.sow_from >= ripe.first
        if advice.species.storage == "never dry":
            assert not any(task.action.startswith("dry it") for task in tasks)
            begin = min(task.date_from for task in tasks if not task.key.startswith("seed/"))
            kept = any("keep it moist" in task.action for task in tasks)
            assert kept or begin <= max(ripe.first, TODAY)


def test_keeping_is_not_late_while_the_seed_may_still_be_picked() -> None:
    oak = find_species(built_in_catalogue(), "bur oak")
    made = planned(cut_seasons(wave_weather(mean=5.0, swing=13.0), southern=False), [oak])
    tasks = {task.key: task for task in made.tasks}
    pick, keep, sow = tasks["seed/pick/1"], tasks["seed/store/1"], tasks["outdoors/sow/1"]
    assert sow.date_from <= pick.date_to, "sowing must open while seed is picked, or this says nothing"
    assert keep.date_to == pick.date_to


def test_the_way_and_the_day_of_a_lot_decide(seasons: Seasons) -> None:
    plum = find_species(built_in_catalogue(), "American plum")
    picked = date(2026, 12, 20)
    made = planned(seasons, [plum], [Lot(plum.name, picked=picked, way="cold store", state="fresh moist")])
    assert {task.key.split("/")[0] for task in made.tasks} <= {"fridge", "seed"}
    assert min(task.date_from for task in made.tasks) >= picked


def test_a_plant_that_would_freeze_is_never_a_plain_sow(seasons: Seasons) -> None:
    plum = find_species(built_in_catalogue(), "American plum")
    tender = replace(plum, hardiness=-8.0)
    made = planned(seasons, [tender])
    (advice,) = made.species
    lowest = seasons.daily["tmin"][120:].min(axis=0)
    assert advice.frozen == (lowest < -8.0).sum() > 0
    assert advice.notes[0].startswith(f"The plant would freeze here in {advice.frozen} of {lowest.size} winters")
    assert advice.notes[0].endswith(f"; it stands {tender.hardiness:g} °C ({tender.hardiness_source}).")
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


def of(made: Plan, kind: str, way: str = "") -> list[Task]:
    return [task for task in made.tasks if task.key.split("/")[1] == kind and task.key.startswith(way)]


def test_seed_ripe_in_june_is_sown_in_june_and_lives_through_its_warm_and_its_cold(seasons: Seasons) -> None:
    bloodroot = find_species(built_in_catalogue(), "bloodroot")
    (advice,) = (made := planned(seasons, [bloodroot], today=date(2026, 4, 20))).species
    assert bloodroot.ripening is not None and made.season == 2026
    ripe = ripe_at(bloodroot.ripening, growing_warmth(seasons), 2026, southern=False).first
    assert advice.outdoors is not None and advice.outdoors.meets
    (sow,) = of(made, "sow")
    assert ripe <= sow.date_from <= ripe + timedelta(days=3) and sow.date_from < date(2026, 8, 1)
    alone = two_winters(seasons, ground_of(seasons, SITE), lead=True)
    fates = outlook(alone, advice.species, advice.recipe, np.array([-50], dtype=np.int32))
    assert (fates.share_up >= 0.5).mean() >= 0.8  # up in the spring after the summer it was sown in


def test_seed_of_this_year_that_is_gone_is_planned_for_the_next_harvest(seasons: Seasons) -> None:
    bloodroot = find_species(built_in_catalogue(), "bloodroot")
    made = planned(seasons, [bloodroot], today=date(2026, 11, 26))
    assert min(task.date_from for task in made.tasks) >= date(2027, 5, 1)
    held = planned(seasons, [bloodroot], [Lot(bloodroot.name, state="fresh moist")], today=date(2026, 11, 26))
    assert min(task.date_from for task in held.tasks) == date(2026, 11, 26)


def test_fresh_seed_that_wants_warmth_first_goes_into_it_on_the_day_of_picking(seasons: Seasons) -> None:
    bloodroot = find_species(built_in_catalogue(), "bloodroot")
    picked = date(2026, 6, 20)
    lot = Lot(bloodroot.name, picked=picked, state="fresh moist", way="cold store")
    made = planned(seasons, [bloodroot], [lot], today=picked)
    (warm,), (cold,), (out,) = of(made, "warm phase"), of(made, "cold phase"), of(made, "plant out")
    assert warm.date_from == picked
    assert (cold.date_from - picked).days == bloodroot.recipe.phases[0].days[1]
    assert out.date_from > date(2027, 1, 1) and not of(made, "store")
    pawpaw = find_species(built_in_catalogue(), "pawpaw")
    lot = Lot(pawpaw.name, picked=date(2026, 9, 20), state="fresh moist", way="cold store")
    (stored,) = of(planned(seasons, [pawpaw], [lot]), "cold phase")
    assert stored.date_from == date(2026, 9, 20)  # its cold storage is its cold phase


def test_cold_that_is_done_is_credited(seasons: Seasons) -> None:
    plum = find_species(built_in_catalogue(), "American plum")
    today = date(2027, 1, 10)
    whole = Lot(plum.name, way="cold store", state="pre-treated")
    part = Lot(plum.name, way="cold store", state="already stratified", stratified_days=40.0)
    (all_of_it,) = planned(seasons, [plum], [whole], today=today).species
    made = planned(seasons, [plum], [part], today=today)
    (rest,) = made.species
    full, left = all_of_it.recipe.phases[0], rest.recipe.phases[0]
    assert full.days[1] - left.days[1] == 40.0
    assert rest.fridge is not None and rest.fridge.prepare == today and not of(made, "coat")
    assert np.allclose(needs_of_lot(left), np.maximum(needs_of_lot(full) - 40.0, 0.0))
    assert any("40 days of cold are done" in note for note in rest.notes)


def test_the_state_of_the_seed_chooses_the_recipe(seasons: Seasons) -> None:
    spicebush = find_species(built_in_catalogue(), "spicebush")
    lots = [Lot(spicebush.name, state="fresh moist", picked=date(2026, 9, 20))]
    assert [phase.kind for phase in planned(seasons, [spicebush], lots).species[0].recipe.phases] == ["cold"]
    hornbeam = find_species(built_in_catalogue(), "American hornbeam")
    fresh = Lot(hornbeam.name, state="fresh moist", picked=date(2026, 9, 20))
    for lot, kinds in ((Lot(hornbeam.name), ["warm", "cold"]), (fresh, ["cold"])):
        (advice,) = planned(seasons, [hornbeam], [lot]).species
        assert [phase.kind for phase in advice.recipe.phases] == kinds


def test_lots_of_one_species_stand_apart(seasons: Seasons) -> None:
    plum = find_species(built_in_catalogue(), "American plum")
    lots = [
        Lot(plum.name, lot="creek", picked=date(2026, 8, 20), seeds=200, way="outdoors", place="upper terrace"),
        Lot(plum.name, lot="old", picked=date(2025, 9, 1), seeds=50, way="cold store"),
    ]
    made = planned(seasons, [plum], lots)
    assert [advice.species.common_name for advice in made.species] == ["American plum, creek", "American plum, old"]
    assert [advice.latin for advice in made.species] == [plum.name, plum.name]
    (sow,) = of(made, "sow")
    assert sow.species == f"{plum.name}, creek" and sow.action.endswith("(200 seeds, upper terrace)")
    assert {task.species for task in of(made, "cold phase")} == {f"{plum.name}, old"}


def left_outdoors(seasons: Seasons, name: str, **changes: float) -> tuple[Plan, SpeciesAdvice]:
    species = replace(find_species(built_in_catalogue(), name), **changes)  # type: ignore[arg-type]
    made = planned(seasons, [species], [Lot(species.name, way="outdoors")])
    return made, made.species[0]


@pytest.mark.parametrize(("name", "spring"), [("black cohosh", 2), ("American ginseng", 3), ("blackhaw", 3)])
def test_a_lot_left_outdoors_as_chosen_waits_for_the_spring_it_needs(seasons: Seasons, name: str, spring: int) -> None:
    """The refrigerator is the verdict; the tasks and the year are those of the way that was chosen."""
    made, advice = left_outdoors(seasons, name)
    assert advice.verdict == "chill-in-fridge" and advice.ways == ("outdoors",)
    way = advice.outdoors
    assert way is not None and way.meets and way.good >= 0.8 * way.winters
    assert (way.spring, way.up_in) == (spring, made.season + spring)
    (sow,) = of(made, "sow")
    assert sow.key.startswith("outdoors") and f"up by spring {way.up_in}: leave it" in sow.action
    assert {task.key.split("/")[0] for task in made.tasks} <= {"outdoors", "seed"}
    words = f"{('two', 'three')[spring - 2]} winters outdoors: up in spring {way.up_in} in {way.good} of {way.winters}"
    assert words in advice_line(made, advice, reader_for("metric", None)) and words in advice.notes[0]
    assert words in when_words(advice, reader_for("metric", None))
    longer = two_winters(seasons, ground_of(seasons, SITE), springs=3)
    best = np.array([(way.best - date(made.season, 8, 1)).days], dtype=np.int32)
    fates = outlook(longer, advice.species, advice.recipe, best)
    assert (fates.by_spring(spring) >= 0.5).mean() >= 0.8 > (fates.by_spring(spring - 1) >= 0.5).mean()


def test_a_lot_left_outdoors_where_no_spring_serves_is_said_and_planned_as_advised(seasons: Seasons) -> None:
    made, advice = left_outdoors(seasons, "European holly")
    assert advice.outdoors is None and advice.ways == ("fridge",) and of(made, "cold phase")
    assert "Outdoors was chosen: half of it is up in 0 of 13 winters, so it is not planned." in advice.notes


def test_a_spring_is_not_waited_for_where_only_other_winters_are_counted(seasons: Seasons) -> None:
    """Tender sugar maple: 10 of 13 winters in the first spring, 10 of the 12 that another one follows by the second."""
    made, advice = left_outdoors(seasons, "sugar maple", seedling_limit=-5.0)
    assert advice.outdoors is not None and (advice.outdoors.spring, advice.outdoors.meets) == (1, False)
    assert "up in spring 2027 in 10 of 13" in advice_line(made, advice, reader_for("metric", None))
    assert any(note.endswith("10 of 13 winters, fewer than you accept.") for note in advice.notes)


def test_closed_seed_opens_winter_by_winter() -> None:
    tea = find_species(built_in_catalogue(), "New Jersey tea")
    hard = replace(tea, hard_coat=True, trickle_share=0.4, recipes=(Recipe("untreated"),), seedling_limit=-20.0)
    day = np.tile(np.where(np.arange(365) < 200, 0.0, 20.0), 3)[:, None]
    winters = TwoWinters(day, np.ones(day.shape, dtype=bool), day, deadline=330)
    fates = outlook(winters, hard, hard.recipe, np.array([100], dtype=np.int32))
    assert [fates.by_spring(spring)[0, 0] for spring in (1, 2, 3)] == pytest.approx([0.4, 1 - 0.6**2, 1 - 0.6**3])


def test_seed_that_keeps_poorly_dry_is_dried_where_it_is_said_to_be(seasons: Seasons) -> None:
    """Spicebush: dried seed wants warmth before the cold; an acorn would be dead, and that is said."""
    spicebush = find_species(built_in_catalogue(), "spicebush")
    made = planned(seasons, [spicebush], [Lot(spicebush.name)])
    (advice,) = made.species
    assert [phase.kind for phase in advice.recipe.phases] == ["warm", "cold"] and not advice.moist
    assert not of(made, "pick") and not of(made, "store")
    assert "Its seed keeps poorly when dry: use it within the year." in advice.notes
    (fresh,) = planned(seasons, [spicebush], [Lot(spicebush.name, state="fresh on the plant")]).species
    assert [phase.kind for phase in fresh.recipe.phases] == ["cold"] and fresh.moist
    oak = find_species(built_in_catalogue(), "bur oak")
    (acorns,) = planned(seasons, [oak]).species
    assert acorns.moist and any("if yours has been dried, do not sow it" in note for note in acorns.notes)
