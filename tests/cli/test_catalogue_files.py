"""Species tables from disk: ours is whole, a user's comes from any spreadsheet, bad files are refused."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from chillplan.cli.catalogue_files import built_in_catalogue, catalogue_with, read_catalogue, read_rows, unknown_columns
from chillplan.data_files import data_path
from chillplan.errors import InputError
from chillplan.seeds.catalogue import find_species
from chillplan.seeds.columns import COLUMN_NAMES
from chillplan.seeds.recipe_text import parse_coat, parse_phases


def test_our_table_is_whole() -> None:
    catalogue = built_in_catalogue()
    assert len(catalogue) >= 185
    for species in catalogue:
        assert species.source, species.name
        assert species.recipes, species.name
        if species.hard_coat:
            assert any(recipe.opens_coat for recipe in species.recipes), species.name
        if species.shoot_waits:
            assert species.recipe.phases[-1].kind == "cold", species.name


def test_the_readme_counts_our_table() -> None:
    catalogue = built_in_catalogue()
    standing = Counter(species.evidence for species in catalogue)
    readme = " ".join((Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8").split())
    assert f"{len(catalogue)} species: edible, medicinal" in readme
    assert (
        f"were read for {standing['read']} species, partly for {standing['partly read']}, and are from memory for "
        f"{standing['from memory']})" in readme
    )


def test_our_table_says_of_every_species_when_it_ripens_and_what_frost_it_stands() -> None:
    for row in read_rows(data_path("species.csv")):
        assert row["ripe_source"], row["name"]
        assert row["hardiness_source"], row["name"]
        if "USDA zone" in row["hardiness_source"]:
            # USDA Agricultural Research Service, plant hardiness zones: 10 °F a zone, zone 3 down to -40 °F.
            zone = int(row["hardiness_source"].removeprefix("USDA zone ").split(":")[0])
            assert round((10 * zone - 70 - 32) / 1.8) == int(row["hardiness_c"]), row["name"]


def test_no_name_of_our_table_means_two_species() -> None:
    counts = Counter(name for species in built_in_catalogue() for name in {each.casefold() for each in species.names()})
    assert [name for name, count in counts.items() if count > 1] == []


def test_our_table_covers_every_shape_of_recipe() -> None:
    catalogue = built_in_catalogue()
    shapes = {tuple(phase.kind for phase in recipe.phases) for species in catalogue for recipe in species.recipes}
    assert {(), ("cold",), ("warm", "cold"), ("cold", "warm", "cold")} <= shapes
    assert any(species.storage == "never dry" for species in catalogue)
    assert any(species.light == "needed" and species.depth_cm == (0.0, 0.0) for species in catalogue)


def test_our_table_runs_nothing_in_a_spreadsheet() -> None:
    for row in read_rows(data_path("species.csv")):
        for column, cell in row.items():
            assert not cell.startswith(("=", "+", "@", "\t")), (row["name"], column)


# Published figures beside the row they were read for.
@pytest.mark.parametrize(
    ("name", "days", "temperature"),
    [
        ("Asclepias syriaca", (14, 63), (5, 5)),  # Baskin and Baskin 1977, Bulletin of the Torrey Botanical Club
        ("Lewisia rediviva", (60, 90), (1, 3)),  # Native Plant Network protocol 132
        ("Penstemon speciosus", (52, 89), (1, 1)),  # Meyer et al. 1994, American Midland Naturalist 132
        (
            "Sarracenia purpurea",
            (28, 42),
            (1, 5),
        ),  # Gotsch and Ellison 1998, Northeastern Naturalist 5:175 (4 and 6 weeks)
    ],
)
def test_published_lengths_of_cold(name: str, days: tuple[float, float], temperature: tuple[float, float]) -> None:
    (phase,) = find_species(built_in_catalogue(), name).recipe.phases
    assert (phase.days, phase.temperature) == (days, temperature)


# What a trial found for a length is kept beside the row, not taken for what the quickest tenth needs.
@pytest.mark.parametrize(
    ("name", "worked"),
    [
        # Native Plant Network protocol 195 (168 d); Rowley et al. 2007 (90 d)
        ("Prunus virginiana", [(90, 3.0, 0.8), (168, 3.0, 0.6)]),
        # Mortensen and Eriksen 2004; Leon-Lobos and Ellis 2002
        ("Fagus sylvatica", [(70, 5.0, 0.94), (119, 4.0, 0.82)]),
        ("Cornus sericea", [(30, 3.0, 0.91)]),  # Acharya et al. 1992, Canadian Journal of Botany 70:1012
        ("Penstemon strictus", [(168, 1.0, 0.61)]),  # Meyer et al. 1994, American Midland Naturalist 132
    ],
)
def test_published_trials_of_cold(name: str, worked: list[tuple[float, float, float]]) -> None:
    trials = find_species(built_in_catalogue(), name).trials
    assert [(each.days, each.temperature, each.share) for each in trials.worked] == worked


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_reads_what_spreadsheets_write(tmp_path: Path, mark: str) -> None:
    table = tmp_path / "mine.csv"
    lines = [
        mark.join(["Name", "phases", "my remark"]),
        mark.join(["Testus unus", "cold moist 30 to 60 days", "x"]),
        mark * 2,
    ]
    table.write_bytes(b"\xef\xbb\xbf" + "\r\n".join(lines).encode())
    (species,) = read_catalogue(table)
    assert species.recipe.phases[0].days == (30, 60)
    assert species.origin == "mine.csv"
    assert unknown_columns(read_rows(table)) == ["my_remark"]


def test_a_users_table_goes_over_ours(tmp_path: Path) -> None:
    table = tmp_path / "mine.csv"
    table.write_text('name,phases\nAsclepias syriaca,"cold moist, 20 to 30 days"\nTestus unus,none\n', encoding="utf-8")
    catalogue = catalogue_with(table)
    assert len(catalogue) == len(built_in_catalogue()) + 1
    milkweed = find_species(catalogue, "common milkweed")
    assert milkweed.recipe.phases[0].days == (20, 30)
    assert milkweed.source == "your table mine.csv"


def test_faults_of_a_users_table_carry_its_row_numbers(tmp_path: Path) -> None:
    table = tmp_path / "mine.csv"
    table.write_text("name,phases\nTestus unus,a while\n\nTestus unus,none\n,none\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        catalogue_with(table)
    text = str(caught.value)
    assert "row 4 ('Testus unus'): the same name stands in row 2" in text
    assert "row 5 ('no name'): the name is missing" in text


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"name,phases\n" + b"x" * 10_000_000, "10.0 MB, more than 2 MB"),
        (b"PK\x03\x04rest", "is a spreadsheet workbook: save the sheet as CSV"),
        (b"name,phases\n\0", "is not a text file"),
        (b"name,phases\nTestus\xe9,none", "is not UTF-8 text"),
        (b"", "has no column 'name'"),
        (b"species,phases\nTestus,none\n", "has no column 'name'"),
        (b"name,phases\n", "holds a header but no species"),
        (b"name,phase\nTestus,none\n", "column 'phase' is not known; did you mean 'phases'?"),
        (b"name,phases,phases\nTestus,none,none\n", "has the column 'phases' more than once"),
        (b'name,phases\nTestus,"' + b"y" * 200_000, "cannot be read as a table"),
    ],
)
def test_bad_files_are_refused_in_words(tmp_path: Path, content: bytes, message: str) -> None:
    table = tmp_path / "bad.csv"
    table.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_catalogue(table)
    assert message in str(caught.value)


def test_a_missing_table_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is not a file: check the path"):
        read_catalogue(tmp_path / "none.csv")


def test_texts_of_our_table_are_in_the_grammar() -> None:
    rows = read_rows(data_path("species.csv"))
    assert set(rows[0]) == {*COLUMN_NAMES, "row", "origin"}
    for row in rows:
        assert parse_phases(row["phases"])
        assert parse_coat(row["coat"])
