"""What is said of invented species and of odd entries, whole, as a grower reads it: no word or figure moves unseen.

The texts stand in ``recorded``. ``CHILLPLAN_WRITE_RECORDED=1 pytest tests/seeds/test_recorded.py`` writes them anew;
what differs is read against `handmade.py` and the entries below before it is kept.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from pathlib import Path

from chillplan.errors import InputError
from chillplan.seeds.catalogue import find_species, merge_rows, near_names, parse_catalogue, parse_row
from chillplan.seeds.page import NEEDS, needs_of, page_of
from chillplan.seeds.recipe import Phase, Recipe
from chillplan.seeds.recipe_text import parse_coat, parse_phases, parse_recipes, parse_response
from tests.seeds.handmade import SPECIES, invented

RECORDED = Path(__file__).parent / "recorded"


def same(name: str, lines: list[str]) -> None:
    """A text is what was recorded of it, line by line."""
    path = RECORDED / name
    if os.environ.get("CHILLPLAN_WRITE_RECORDED"):
        path.parent.mkdir(exist_ok=True)
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert lines == path.read_text(encoding="utf-8").splitlines()


def refused(entry: str, read: Callable[[], object]) -> list[str]:
    """An entry and every fault that is named in it; what is taken as it stands is no refusal."""
    try:
        read()
    except InputError as error:
        return [entry, *(f"  {problem}" for problem in error.problems)]
    return [entry, "  is taken"]


def test_a_species_page_is_its_figures_in_words() -> None:
    said = []
    for species in SPECIES:
        said += [f"== {species.name}: {', '.join(needs_of(species))}"]
        for section in page_of(species, ("toxic seed.", "dust")):
            said += ["", section.title]
            said += [f"{number}. {line}" for number, line in enumerate(section.lines, 1)] if section.numbered else []
            said += list(section.lines) if not section.numbered else []
        said += [""]
    same("pages.txt", said)


def test_every_word_of_need_is_used_of_some_species_and_explained() -> None:
    assert {word for species in SPECIES for word in needs_of(species)} == set(NEEDS)
    nothing_left = Recipe("", (), (Phase("cold", (0.0, 0.0)), Phase("warm", (0.0, 30.0))))
    assert needs_of(invented("sera", nothing_left)) == ("warm",), "of cold that is over nothing is needed"
    same("needs.txt", [f"{word}: {meaning}" for word, meaning in NEEDS.items()])


PHASES = (
    "cold moist",
    "cold moist, a while",
    "cold moist, 90 to 60 days",
    "cold moist, -5 days",
    "cold moist, 0 days",
    "cold moist, 1 days",
    "cold moist, 730 days",
    "cold moist, 731 days",
    "cold dry, 60 days",
    "60 days",
    "cold warm, 60 days",
    "warm moist, 30 days, 10 to 40 °C",
    "warm moist, 30 days, 9.9 °C",
    "warm moist, 30 days, 40.1 °C",
    "cold moist, 30 days, -5 to 16 °C",
    "cold moist, 30 days, -5.1 to 3 °C",
    "cold moist, 30 days, 3 to 16.1 °C",
    "cold moist, 30 days, 5 to 1 °C",
    "cold moist, 30 days (mostly",
    "; ".join(["cold moist, 5 days"] * 8),
    "; ".join(["cold moist, 5 days"] * 9),
    " or ".join(["cold moist, 5 days"] * 6),
    " or ".join(["cold moist, 5 days"] * 7),
    "optional stratification phase of cold moist, then up to about 30 days or longer at least temperature",
)
COATS = (
    "strong acid 20 minutes",
    "sulphuric 20 minutes",
    "soak",
    "rinse",
    "smoke water",
    "peroxide rinse",
    "hot water",
    "dry heat",
    "hot water 0 °C",
    "hot water -1 °C",
    "hot water 150 °C",
    "hot water 151 °C",
    "hot water 90 to 80 °C",
    "soak 0 hours",
    "soak 14 days",
    "soak 14.1 days",
    "soak 4 to 2 days",
    "wave at it",
    "soak 24 hours joyfully",
    "boiling water",
    "file",
    "sand",
    "rinse for a day and let it cool in cold running water, then up to 1 hour",
)
RESPONSES = (
    "1, 2, 3",
    "a, b, c, d",
    "3, 3, 6, 9",
    "0, 3, 3, 9",
    "0, 4, 3, 9",
    "0, 3, 6, 6",
    "0;3;6;9 °C",
    "−1, 3, 6, 9",
)


def test_a_refusal_of_a_recipe_says_what_to_write_instead() -> None:
    said = [line for text in PHASES for line in refused(text, lambda text=text: parse_phases(text))]
    said += [line for text in COATS for line in refused(text, lambda text=text: parse_coat(text))]
    said += [line for text in RESPONSES for line in refused(text, lambda text=text: parse_response(text))]
    said += refused(
        "scarify or none, three ways", lambda: parse_recipes("scarify or none", " or ".join(PHASES[5:6] * 3))
    )
    same("refusals.txt", said)


CELLS: tuple[dict[str, str], ...] = (
    {"cold_worked": "90 days"},
    {"cold_failed": "90 days"},
    {"untreated_share": "0.1"},
    {"lot_days_10": "10", "lot_days_50": "10", "lot_days_90": "10"},
    {"cold_longest_advised_days": "90", "cold_measured_c": "4"},
    *(
        {"cold_worked": text, "trials_source": "x"}
        for text in (
            "a while",
            "30 to 60 days",
            "90 days gladly",
            "cold moist for 730 days at -5 to 16 °C: 100 %",
            "731 days",
            "-1 days",
            "90 days at -5.1 °C",
            "90 days at 16.1 °C",
            "90 days at 5 to 1 °C",
            "90 days: 100.1 %",
            "90 days: most",
            "90 days:",
        )
    ),
    {"lot_days_10": "40", "trials_source": "x"},
    {"lot_days_10": "40", "lot_days_50": "30", "lot_days_90": "60", "trials_source": "x"},
    {"lot_days_10": "40", "lot_days_50": "60", "lot_days_90": "50", "trials_source": "x"},
    {"ripe_from": "08-15"},
    {"ripe_from": "15 Aug", "ripe_to": "02-30", "ripe_latitude": "76", "ripe_source": "x"},
    {"ripe_from": "02-29", "ripe_to": "10-01", "ripe_latitude": "-60", "ripe_source": "x"},
    {"hardiness_c": "-20"},
    {"ceiling_share": "0.5"},
    {"hardiness_c": "cold", "hardiness_source": "x"},
    *(
        {name: value}
        for name, values in {
            "base_temperature_c": ("-6", "warm", "-5", "-5.1", "20", "20.1"),
            "base_low_c": ("-5.1",),
            "base_high_c": ("20.1",),
            "thermal_time_low": ("0.9", "2000.1"),
            "thermal_time_high": ("0.9", "3000.1"),
            "germination_evidence": ("guess",),
            "germination_c": ("warm", "20 to 15", "15 to 20", "-1", "51"),
            "light": ("some",),
            "storage": ("wet",),
            "hard_coat": ("perhaps",),
            "shoot_waits": ("no", "1"),
            "depth_low_cm": ("-0.1", "2"),
            "depth_high_cm": ("0.5", "20.1"),
            "seedling_limit_c": ("-25.1", "5.1"),
            "seeds_per_gram": ("0", "2000001"),
            "trickle_share": ("-0.1", "1.1"),
            "untreated_share": ("1.1",),
            "reversal_c": ("4.9", "35.1"),
            "cold_response": ("5, 3, 6, 9",),
            "cold_longest_advised_days": ("731",),
            "cold_measured_c": ("-5.1", "16.1"),
            "read": ("phases; moods",),
            "phases": ("", "cold"),
            "name": ("",),
            "colour": ("red",),
        }.items()
        for value in values
    ),
)


def test_a_refusal_of_a_row_names_its_column_and_what_fits() -> None:
    row = {"name": "Planta exempli", "phases": "cold moist, 60 to 90 days, 1 to 5 °C"}
    said = []
    for cells in CELLS:
        entry = ", ".join(f"{name} = {value}" for name, value in cells.items())
        said += refused(entry, lambda cells=cells: parse_row({**row, **cells}))
    same("rows.txt", said)


def test_a_way_is_named_after_what_opens_the_coat_and_how_long_it_takes() -> None:
    said = []
    for coat, phases in (
        ("none", "none"),
        ("soak 1 day; scarify; hot water 80 °C", "none"),
        ("crack", "warm moist, 30 to 60 days; cold moist, 0 to 28 days"),
        ("none or dry heat 90 °C", "fresh seed: none or dried seed: cold moist, 60 to 60 days"),
        ("rinse 5 minutes", "cold moist, 30 days or more"),
    ):
        recipes: tuple[Recipe, ...] = parse_recipes(coat, phases)
        said += [f"{coat} | {phases}", *(f"  {recipe.label}" for recipe in recipes)]
    same("labels.txt", said)


ROWS: tuple[dict[str, str], ...] = (
    {"name": "Planta nuda", "phases": "none"},
    {
        "name": "× Planta plena",
        "common_name": "full  plant",
        "other_names": "Planta prior; ; old plant",
        "family": "Plantaceae",
        "dormancy": "Morphophysiological",
        "hard_coat": "Y",
        "coat": "hot water 0 to 150 °C, 90 minutes; soak 2 weeks (change it; twice) (daily); file or scarify",
        "phases": "optional warm, 8 weeks, 68/50 °F; cold moist, 45 days or dried seed: cold moist, 1 to 2 months",
        "cold_response": "0; 3; 6; 15",
        "warm_response": "8, 12, 20, 30 °C",
        "germination_c": "−5–45",
        "base_temperature_c": "−4",
        "thermal_time_low": "2000",
        "thermal_time_high": "3000",
        "germination_evidence": "Published",
        "light": "Needed",
        "storage": "never dry",
        "seedling_limit_c": "-25",
        "shoot_waits": "TRUE",
        "uses": "Edible; Pollinator",
        "sow_season": "fall\tor spring",
        "seeds_per_gram": "2000000",
        "trickle_share": "1",
        "cautions": "sharp; sticky",
        "note": "n",
        "source": "s",
        "source_url": "u",
        "read": "cold_days_min; cold_days_max",
        "cold_worked": "90 days at 4 °C: 80 %; 6 weeks",
        "cold_failed": "0 days: 0 %",
        "cold_longest_advised_days": "730",
        "cold_measured_c": "16",
        "untreated_share": "0",
        "lot_days_10": "0",
        "lot_days_50": "30",
        "lot_days_90": "60.5",
        "trials_source": "t",
        "ripe_from": "12-31",
        "ripe_to": "01-01",
        "ripe_latitude": "75",
        "ripe_source": "r",
        "hardiness_c": "-60",
        "hardiness_source": "h",
        "ceiling_share": "0.01",
        "ceiling_source": "c",
    },
    {"name": "Planta lucis", "phases": "none", "light": "needed"},
    {"name": "Planta alta", "phases": "none", "light": "needed", "depth_high_cm": "0.2"},
    {"name": "Planta ima", "phases": "none", "depth_low_cm": "3"},
    {"name": "Planta summa", "phases": "none", "depth_high_cm": "0.1"},
    {"name": "Planta media", "phases": "none", "base_temperature_c": "19", "base_low_c": "19"},
    {"name": "Planta calida", "phases": "none", "base_temperature_c": "2", "base_high_c": "2", "germination_c": "20"},
    {"name": "Planta tua", "phases": "cold moist, 30 days", "origin": "mine.csv", "cold_response": "0, 3, 6, 9"},
    {
        "name": "Planta nota",
        "phases": "cold moist, 30 days",
        "origin": "mine.csv",
        "lot_days_10": "1",
        "lot_days_50": "2",
        "lot_days_90": "3",
        "trials_source": "t",
    },
    {"name": "Planta lecta", "phases": "cold moist, 30 days", "read": "days"},
    {"name": "Planta parva", "phases": "cold moist, 30 days", "read": "cold_days_min", "reversal_c": "35"},
    {"name": "Planta probata", "phases": "cold moist, 30 days", "cold_failed": "10 days", "trials_source": "t"},
    {"name": "Planta sola", "phases": "cold moist, 30 days", "untreated_share": "0.3", "trials_source": "t"},
    {"name": "Planta profunda", "phases": "cold moist, 30 days", "dormancy": "hard endocarp"},
)


def fields_of(value: object, depth: int = 1) -> list[str]:
    """Each field that is not at its default, by name, what it holds below it."""
    lines = []
    for field in fields(value):  # type: ignore[arg-type]
        held = getattr(value, field.name)
        if held == field.default:
            continue
        parts = held if isinstance(held, tuple) and any(is_dataclass(part) for part in held) else (held,)
        for part in parts:
            shown = f"{part!r}" if not is_dataclass(part) else ""
            lines.append(f"{'  ' * depth}{field.name} {shown}".rstrip())
            lines += fields_of(part, depth + 1) if is_dataclass(part) else []
    return lines


def test_a_row_is_taken_as_it_stands_and_blanks_as_the_columns_say() -> None:
    same("species.txt", [line for row in ROWS for line in ["==", *fields_of(parse_row(row))]])


NAMED = (
    {"name": "Testus prunus", "common_name": "test plum", "other_names": "proof; O’plum", "phases": "none"},
    {"name": "Testus pisum", "common_name": "test pea", "other_names": "proof", "phases": "none"},
    {"name": "Testus × acer", "common_name": "maple of the test", "phases": "none"},
    {"name": "Testus acerifolius", "common_name": "maple plum", "phases": "none"},
    {"name": "maple plum", "common_name": "acer plum", "phases": "none"},
)


def test_a_name_is_found_or_near_ones_are_offered() -> None:
    species = parse_catalogue(NAMED)
    said = []
    for name in (
        "testus x ACER",
        "o'plum",
        "Maple plum",
        "test pea, lot of 2020",
        "test pea , 2020",
        "proof",
        "",
        "acer",
        "ple",
        "plum",
        "a maple plum of mine",
        "tset plum",
        "zzzz",
        "tp",
    ):
        try:
            said.append(f"{name}: {find_species(species, name).name}")
        except InputError as error:
            said.append(f"{name}: {error}")
        said.append(f"  near: {', '.join(near_names(species, name))}")
    said += refused("rows of one name", lambda: parse_catalogue([NAMED[0], {"name": ""}, *NAMED[:2]]))
    numbered = [{**row, "row": str(number)} for number, row in zip((4, 9, 11), (*NAMED[:2], NAMED[1]), strict=True)]
    said += refused("numbered rows", lambda: parse_catalogue(numbered))
    for length in (120, 121):
        said += refused(
            f"a name of {length}", lambda length=length: parse_row({"name": "T" * length, "phases": "none"})
        )
    for length in (4000, 4001):
        said += refused(f"a note of {length}", lambda length=length: parse_row({**NAMED[0], "note": "n" * length}))
    same("names.txt", said)


def test_a_users_row_replaces_what_belongs_together() -> None:
    ours = {**dict.fromkeys(ROWS[1], "ours"), "name": "Planta"}
    said = []
    for theirs in (
        *({column: "theirs"} for column in ours if column != "name"),
        {"note": " "},
        {"coat": "theirs", "source": "own", "origin": "mine.csv"},
        {"phases": "theirs", "trials_source": "own", "origin": "mine.csv"},
    ):
        (merged,) = merge_rows([ours], [{"name": "PLANTA", **theirs}])
        changed = (f"{name} = {value}" for name, value in merged.items() if ours.get(name) != value)
        said += [f"{', '.join(theirs)}: {', '.join(changed)}"]
    twice = merge_rows([ours], [{"name": "planta", "note": "1"}, {"name": "", "note": "2"}, {"name": "planta"}])
    said += [f"{row.get('name')} {row.get('note')} {row.get('source')}" for row in twice]
    same("merged.txt", said)
