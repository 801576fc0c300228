"""Rows become species; faults name their rows; a user's rows go over ours; names are found."""

from __future__ import annotations

import pytest

from chillplan.errors import InputError
from chillplan.seeds.catalogue import find_species, merge_rows, parse_catalogue

PLUM = {
    "name": "Testus prunus",
    "common_name": "test plum",
    "other_names": "Testus domesticus; proof plum",
    "phases": "cold moist, 90 to 160 days, 1 to 4 °C",
    "base_temperature_c": "5",
    "base_low_c": "2",
    "base_high_c": "8",
    "thermal_time_low": "60",
    "thermal_time_high": "150",
    "source": "Bulletin 1",
    "source_url": "https://example.org/1",
    "read": "cold_days_min; cold_days_max",
}
PEA = {"name": "Testus pisum", "common_name": "test pea", "phases": "none", "hard_coat": "yes", "coat": "scarify"}


def test_only_name_and_phases_are_needed_and_blanks_are_class_defaults() -> None:
    (species,) = parse_catalogue([{"name": "Testus minimus", "phases": "cold moist, 30 to 60 days"}])
    assert species.germination.assumed
    assert (species.germination.base_temperature, species.germination.base_range) == (5.0, (2.0, 8.0))
    assert species.light == "unknown"
    assert species.evidence == "from memory"


def test_all_faults_are_said_at_once_with_their_rows() -> None:
    rows = [
        {**PLUM, "phases": "cold moist, 90 to 60 days", "light": "bright"},
        {"name": "", "phases": ""},
        {**PEA, "seedling_limit_c": "-60", "depth_low_cm": "3", "depth_high_cm": "1", "shoot_waits": "maybe"},
        PEA,
    ]
    with pytest.raises(InputError) as caught:
        parse_catalogue(rows)
    text = str(caught.value)
    for part in (
        "row 2 ('Testus prunus'): phase 'cold moist, 90 to 60 days': the least, 90 days, is above the most, 60",
        "row 2 ('Testus prunus'): light 'bright' is not understood: write one of needed, not needed, dark, unknown",
        "row 3 ('no name'): the name is missing",
        "row 3 ('no name'): phases is missing",
        "row 4 ('Testus pisum'): seedling_limit_c '-60' is outside -25 to 5",
        "row 4 ('Testus pisum'): depth_low_cm 3 is above depth_high_cm 1: swap them",
        "row 4 ('Testus pisum'): shoot_waits 'maybe' is not understood: write yes or no",
        "row 5 ('Testus pisum'): the same name stands in row 4; keep one of them",
    ):
        assert part in text


@pytest.mark.parametrize(
    ("column", "value", "message"),
    [
        ("base_temperature_c", "nan", "outside -5 to 20"),
        ("base_temperature_c", "12", "outside its own range 2 to 8"),
        ("thermal_time_low", "quick", "'quick' is not a number"),
        ("thermal_time_low", "900", "thermal_time_low 900 is above thermal_time_high 150"),
        ("germination_c", "30 to 10", "is not a rising range"),
        ("germination_evidence", "sworn", "write one of published, assumed"),
        ("seeds_per_gram", "0", "outside 0.001 to"),
        ("trickle_share", "3", "outside 0 to 1"),
        ("name", "=HYPERLINK(1)", "does not begin with a letter"),
        ("name", "T" * 200, "longer than 120 characters"),
        ("note", "n" * 5000, "note holds 5000 characters, more than 4000"),
        ("cold_response", "4, 3, 2, 1", "cold_response: response '4, 3, 2, 1' is not four rising temperatures"),
    ],
)
def test_absurd_cells_are_refused(column: str, value: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_catalogue([{**PLUM, column: value}])
    assert message in str(caught.value)


def test_a_light_needing_seed_without_a_depth_lies_on_the_surface() -> None:
    bright = {"name": "Testus lucis", "phases": "none", "light": "needed"}
    assert parse_catalogue([bright])[0].depth_cm == (0.0, 0.0)
    assert parse_catalogue([{**bright, "depth_low_cm": "0.2"}])[0].depth_cm == (0.2, 1.3)


def test_published_needs_its_figures() -> None:
    with pytest.raises(InputError, match="says published, but base_temperature_c or a thermal time is blank"):
        parse_catalogue([{**PLUM, "thermal_time_low": "", "germination_evidence": "published"}])


def test_a_users_row_overrides_filled_cells_and_takes_over_the_source() -> None:
    merged = merge_rows([PLUM, PEA], [{"name": "testus PRUNUS", "phases": "cold moist, 60 days", "origin": "mine.csv"}])
    plum, pea = parse_catalogue(merged)
    assert plum.recipe.phases[0].days == (36.0, 60.0)
    assert plum.common_name == "test plum"
    assert (plum.source, plum.source_url, plum.read) == ("your table mine.csv", "", ())
    assert plum.origin == "mine.csv"
    assert pea.origin == "built in"


def test_a_users_row_without_figures_keeps_our_source() -> None:
    (plum,) = parse_catalogue(merge_rows([PLUM], [{"name": "Testus prunus", "uses": "edible"}]))
    assert plum.source == "Bulletin 1"
    assert plum.uses == ("edible",)


def test_a_users_base_temperature_replaces_the_range_too() -> None:
    (plum,) = parse_catalogue(merge_rows([PLUM], [{"name": "Testus prunus", "base_temperature_c": "12"}]))
    assert plum.germination.base_range == (9.0, 15.0)


def test_a_users_new_species_is_added() -> None:
    assert [species.name for species in parse_catalogue(merge_rows([PLUM], [PEA]))] == ["Testus prunus", "Testus pisum"]


@pytest.mark.parametrize("name", ["testus prunus", "Test  Plum", "PROOF PLUM", "Testus domesticus"])
def test_any_name_in_any_case_is_found(name: str) -> None:
    assert find_species(parse_catalogue([PLUM, PEA]), name).name == "Testus prunus"


def test_an_unknown_name_offers_near_ones() -> None:
    with pytest.raises(InputError, match="species 'tset plum' is not in the catalogue: did you mean test plum"):
        find_species(parse_catalogue([PLUM, PEA]), "tset plum")


def test_a_shared_name_asks_which() -> None:
    rows = [{**PLUM, "other_names": "proof"}, {**PEA, "other_names": "proof"}]
    with pytest.raises(
        InputError, match="'proof' is the name of several species: say which of Testus prunus, Testus pisum"
    ):
        find_species(parse_catalogue(rows), "proof")


def test_evidence_says_how_far_the_figures_were_read() -> None:
    rows = [PLUM, {**PLUM, "name": "A", "read": "cold_days_max"}, {**PLUM, "name": "B", "read": ""}]
    assert [species.evidence for species in parse_catalogue(rows)] == ["read", "partly read", "from memory"]
