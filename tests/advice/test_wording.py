"""Cautions that must not be lost on the way to the reader. Common practice, no source."""

from __future__ import annotations

import pytest

from chillplan.advice.wording import BY_ACTION, COLLECTING, MOULD, cautions_for
from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seeds.recipe import CoatStep, Phase, Recipe

COLD = Phase("cold", (60.0, 90.0))


def test_every_hazard_of_a_species_comes_before_all_else() -> None:
    for species in built_in_catalogue():
        found = cautions_for(species, species.recipe)
        assert found[: len(species.cautions)] == tuple(dict.fromkeys(species.cautions))
        assert found[-1] == COLLECTING


@pytest.mark.parametrize(
    ("action", "words"),
    [
        ("peroxide rinse", ("gloves", "eye protection", "label")),
        ("hot water", ("scalds", "children")),
        ("scarify", ("cut away", "eye protection")),
        ("smoke water", ("fire rules",)),
    ],
)
def test_a_step_that_can_hurt_says_how_not_to_be_hurt(action: str, words: tuple[str, ...]) -> None:
    species = built_in_catalogue()[0]
    found = cautions_for(species, Recipe("usual", (CoatStep("soak"), CoatStep(action)), ()))
    assert BY_ACTION[action] in found and all(word in BY_ACTION[action] for word in words)


def test_mould_is_warned_of_wherever_seed_lies_moist() -> None:
    species = built_in_catalogue()[0]
    assert MOULD in cautions_for(species, Recipe("usual", (), (COLD,)))
    assert MOULD not in cautions_for(species, Recipe("usual", (), ()))
    assert "do not breathe" in MOULD
