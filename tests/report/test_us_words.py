"""Sentences in US units against exact conversions (inch 25.4 mm, ounce 28.349523125 g by definition)."""

from __future__ import annotations

import pytest

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.report.us_words import in_us_units
from chillplan.seeds.page import page_of


@pytest.mark.parametrize(
    ("metric", "us"),
    [
        ("at 1 to 5 °C measured", "at 34 to 41 °F measured"),
        ("pour water at 100 °C over", "pour water at 212 °F over"),
        ("at -2 °C at the ground", "at 28 °F at the ground"),
        ("Sow 2.5 to 5 cm deep.", "Sow 1 to 2 in deep."),
        ("Cover with 6 mm mesh", "Cover with 0.24 in mesh"),
        ("60 to 150 °C days above 5 °C", "108 to 270 °F days above 41 °F"),
        ("1 °C warmer, 2 °C warmer", "1.8 °F warmer, 3.6 °F warmer"),
        ("About 10 seeds a gram", "About 280 seeds an ounce"),
        ("60 to 90 days of cold", "60 to 90 days of cold"),
        ("Mould in the bag: grey mould; 3 metres off", "Mold in the bag: gray mold; 3 meters off"),
        ("see https://seed.example/grey-mould/centre.html", "see https://seed.example/grey-mould/centre.html"),
        ("120 d at 5C gave 97%", "120 d at 5C gave 97%"),
    ],
)
def test_quantities_turn_and_the_rest_stays(metric: str, us: str) -> None:
    assert in_us_units(metric) == us


def test_no_page_keeps_a_metric_unit_of_ours() -> None:
    for species in built_in_catalogue():
        for section in page_of(species, ()):
            if section.title in {"Sources", "Figures"}:
                continue
            for line in section.lines:
                text = in_us_units(line)
                assert " °C" not in text
                assert " cm" not in text
                assert " mm" not in text
