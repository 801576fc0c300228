"""What a species needs, as words to search by."""

from __future__ import annotations

from chillplan.seeds.recipe import Species

__all__ = ["NEEDS", "needs_of"]

SPROUTS_COLD = 1.0
"""Seed with a base temperature at or below this sprouts while it is still cold. [°C]"""

NEEDS = {
    "nothing": "grows as soon as it is moist and warm",
    "coat": "the coat must be opened",
    "cold": "moist cold",
    "warm": "moist warmth before the cold",
    "double": "cold, warmth and cold again, two winters outdoors",
    "light": "surface sown, in light",
    "shoot": "root first, the shoot after a cold phase",
    "sprouts cold": "sprouts while still in the cold",
    "moist": "dies when it dries",
}
"""The words and what they mean."""


def needs_of(species: Species) -> tuple[str, ...]:
    """Words of :data:`NEEDS` that hold for the usual recipe of a species, in their order."""
    phases = species.recipe.phases
    kinds = [phase.kind for phase in phases if phase.days[1] > 0]
    cold = "cold" in kinds
    double = kinds[:3] == ["cold", "warm", "cold"]
    held = {
        "coat": species.hard_coat,
        "cold": cold,
        "warm": kinds[:1] == ["warm"],
        "double": double,
        "light": species.light == "needed",
        "shoot": species.shoot_waits,
        "sprouts cold": cold and species.germination.base_temperature <= SPROUTS_COLD,
        "moist": species.storage == "never dry",
    }
    return tuple(word for word, holds in held.items() if holds) or ("nothing",)
