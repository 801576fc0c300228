"""The page of a species answers a grower's questions, for every species and shape of recipe."""

from __future__ import annotations

import pytest

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seeds.catalogue import find_species, parse_catalogue
from chillplan.seeds.instructions import coat_instruction, steps_of, storage_instruction, waiting_for
from chillplan.seeds.page import page_of, what_can_go_wrong
from chillplan.seeds.recipe import CoatStep, Species


def species_of(name: str) -> Species:
    return find_species(built_in_catalogue(), name)


@pytest.mark.parametrize("species", built_in_catalogue(), ids=lambda species: species.name)
def test_every_page_says_what_how_and_who_says_so(species: Species) -> None:
    sections = {section.title: section.lines for section in page_of(species, ("caution",))}
    assert {"What the seed is waiting for", "Outdoors", "What can go wrong", "Figures", "Sources"} <= set(sections)
    for lines in sections.values():
        for line in lines:
            assert line.strip() == line
            assert not {"None;", "None,"} & set(line.split())
            assert "  " not in line


@pytest.mark.parametrize("species", built_in_catalogue(), ids=lambda species: species.name)
def test_every_recipe_ends_in_the_ground(species: Species) -> None:
    for recipe in species.recipes:
        steps = steps_of(species, recipe)
        assert len(steps) == len(recipe.coat) + len(recipe.phases) + 1
        assert steps[-1].startswith("Sow ")


def test_strong_acid_is_never_a_step_and_always_for_trained_staff() -> None:
    for species in built_in_catalogue():
        for recipe in species.recipes:
            assert not any("acid" in step.lower() for step in steps_of(species, recipe)), species.name
        if "trong acid" in species.note:
            assert "trained staff" in species.note, species.name


def test_boiling_water_says_how_much_and_off_the_stove() -> None:
    text = coat_instruction(CoatStep("hot water", (12.0, 24.0), (100.0, 100.0)))
    assert "four to five times as much water" in text
    assert "off the stove" in text
    assert "let it cool, 12 to 24 hours" in text


def test_a_short_dip_goes_into_cold_water() -> None:
    assert "1 minute, then into cold water" in coat_instruction(CoatStep("hot water", (1 / 60, 1 / 60), (100.0, 100.0)))


def test_smoke_defers_to_fire_rules() -> None:
    assert "only as local fire rules allow" in coat_instruction(CoatStep("smoke water", (24.0, 24.0)))


def test_a_shoot_that_waits_is_explained() -> None:
    species = species_of("bloodroot")
    assert "wakes the shoot after the root is out" in waiting_for(species, species.recipe)
    assert any("the shoot still needs its cold" in line for line in what_can_go_wrong(species))


def test_seed_that_sprouts_in_the_cold_is_watched_early() -> None:
    species = species_of("sugar maple")
    assert any(
        "from half the time on, since it sprouts in the cold" in step for step in steps_of(species, species.recipe)
    )
    assert any("never back into warmth" in line for line in what_can_go_wrong(species))


def test_seed_that_dies_when_dried_is_never_stored_dry() -> None:
    assert storage_instruction(species_of("pawpaw")).startswith("Dies when it dries")
    assert "5 to 8 % moisture" not in storage_instruction(species_of("pawpaw"))


def test_hard_seed_trickles() -> None:
    species = species_of("redbud")
    assert "comes up over years" in waiting_for(species, species.recipe)


def test_seed_that_waits_for_nothing_says_so() -> None:
    species = species_of("pedunculate oak")
    assert waiting_for(species, species.recipe).startswith("For nothing but moisture and warmth")


def test_a_surface_sower_is_not_covered() -> None:
    species = species_of("wild bergamot")
    assert any("leave it uncovered" in line for line in steps_of(species, species.recipe))


def test_what_the_plant_stands_and_when_seed_is_ripe_have_their_source() -> None:
    figures = {section.title: section.lines for section in page_of(species_of("goldenseal"), ())}["Figures"]
    assert any(line.startswith("Seed is ripe about 1 Aug to 25 Aug at 43° of latitude: ") for line in figures)
    assert any(line.startswith("The plant stands winters down to -") and "USDA zone" in line for line in figures)
    assert (
        "At most 37% of viable seed is known to come up: NC State University grower notes (37 % on average)." in figures
    )


def test_double_dormancy_takes_two_winters() -> None:
    lines = {section.title: section.lines for section in page_of(species_of("great white trillium"), ())}
    assert any("two winters in the ground" in line for line in lines["Outdoors"])


def test_a_users_species_without_anything_else_still_has_a_page() -> None:
    (species,) = parse_catalogue([{"name": "Testus unus", "phases": "none"}], origin="mine.csv")
    text = " ".join(line for section in page_of(species, ()) for line in section.lines)
    assert "No source given." in text
    assert "From your table mine.csv." in text
    assert "from memory" not in text
    assert species.evidence == "your table"


def test_every_caution_is_on_the_page() -> None:
    hazards = ("seed is deadly poisonous", "sap blisters the skin", "protected: check your own")
    (care,) = [section for section in page_of(built_in_catalogue()[0], hazards) if section.title == "Take care"]
    assert [line.lower().rstrip(".") for line in care.lines] == list(hazards)


def test_peroxide_is_handled_with_gloves_and_eye_protection() -> None:
    """Common practice, no source: even 3 % irritates skin and eyes."""
    text = coat_instruction(CoatStep("peroxide rinse", (0.5, 0.5)))
    assert "gloves" in text and "eye protection" in text


@pytest.mark.parametrize(
    ("hours", "time", "fresh"), [(12.0, "12 hours", False), (24.0, "24 hours", True), (48.0, "2 days", True)]
)
def test_a_soak_of_a_day_gets_fresh_water_and_an_end(hours: float, time: str, fresh: bool) -> None:
    """Common practice, no source: water is changed daily, and soaked seed left longer suffocates."""
    text = coat_instruction(CoatStep("soak", (hours, hours)))
    assert ("change the water every day" in text) == fresh
    assert f", {time};" in text and "do not leave it longer" in text
