"""The page of a species: what the seed waits for, in words to search by and in sentences, and who says so."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from chillplan.seeds.instructions import depth_instruction, steps_of, storage_instruction, waiting_for
from chillplan.seeds.quantities import trimmed
from chillplan.seeds.recipe import COLD_RESPONSE, Recipe, Species
from chillplan.seeds.recipe_text import coat_text, phases_text

__all__ = ["NEEDS", "Section", "needs_of", "outdoor_instructions", "page_of", "what_can_go_wrong"]

TWO_WINTERS_DAYS = 300.0
"""Treatment longer than this cannot fit between one summer's end and the next spring. Arithmetic. [day]"""


READ_WORDS = {
    "phases": "kind and order of the phases",
    "warm_days_min": "least warm days",
    "warm_days_max": "most warm days",
    "cold_days_min": "least cold days",
    "cold_days_max": "most cold days",
    "cold_temp_c_low": "lowest cold temperature",
    "cold_temp_c_high": "highest cold temperature",
    "germination_temp_c": "germination temperature",
    "dormancy_class": "class of dormancy",
    "recalcitrant": "bearing of drying",
    "light_needed": "need of light",
    "sowing_depth_cm": "sowing depth",
    "sow_season_outdoors": "season outdoors",
}
"""Names of figures as a reader knows them."""


@dataclass(frozen=True)
class Section:
    """A titled part of a page.

    Attributes
    ----------
    title : str
    lines : tuple of str
        Sentences, or steps where `numbered`.
    numbered : bool
    """

    title: str
    lines: tuple[str, ...]
    numbered: bool = False


def page_of(species: Species, cautions: tuple[str, ...]) -> tuple[Section, ...]:
    """Everything about a species, in the order in which a grower needs it.

    Parameters
    ----------
    species : Species
    cautions : tuple of str
        Hazards and legal cautions of the species and its treatments.
    """
    sections = [
        Section("What the seed is waiting for", (waiting_for(species, species.recipe),)),
        Section("Until then", (storage_instruction(species),)),
    ]
    for recipe in species.recipes:
        way = "Indoors" if len(species.recipes) == 1 else f"Indoors: {recipe.label}"
        sections.append(Section(way, steps_of(species, recipe), numbered=True))
    sections += [
        Section("Outdoors", outdoor_instructions(species)),
        Section("What can go wrong", what_can_go_wrong(species)),
        Section("Take care", tuple(f"{_capital(caution.rstrip('.'))}." for caution in cautions)),
        Section("Figures", _figures(species)),
        Section("Sources", _sources(species)),
    ]
    return tuple(section for section in sections if section.lines)


def outdoor_instructions(species: Species) -> tuple[str, ...]:
    """The way outdoors in a few sentences."""
    recipe = species.recipe
    lines = []
    if species.sow_season:
        lines.append(f"Season, as the source has it: {species.sow_season}.")
    opening = [step.action for step in recipe.coat if step.opens_coat]
    if opening:
        lines.append(f"Treat the coat first ({', '.join(opening)}), then sow.")
    if recipe.phases and recipe.phases[0].kind == "warm":
        lines.append("Sow early enough that the warm phase is over before the cold comes, or expect it a year later.")
    elif species.storage == "never dry" and recipe.phases:
        lines.append("Sow fresh, as soon as it is ripe: it cannot wait for the cold in a packet.")
    elif recipe.phases:
        lines.append("Sow when the soil is below about 10 °C, so that the seed chills and does not sprout in autumn.")
    lines.append(
        f"Sow {depth_instruction(species)}." if species.depth_cm[1] > 0 else f"{_capital(depth_instruction(species))}."
    )
    if species.depth_cm[1] >= 2.0:
        lines.append("Cover with 6 mm mesh with a buried edge: rodents dig for seed of this size.")
    if _needs_two_winters(recipe):
        lines.append(
            "It takes two winters in the ground: mark the bed and leave it undisturbed until the second spring."
        )
    return tuple(lines)


def what_can_go_wrong(species: Species) -> tuple[str, ...]:
    """The usual failures of a species' recipe, and what to do."""
    recipe = species.recipe
    cold = any(phase.kind == "cold" for phase in recipe.phases)
    found = []
    if species.hard_coat:
        found.append("It does not swell in water: the coat is still shut; treat it again.")
    if species.storage == "never dry":
        found.append("It dries out, even for days: it is dead, and no treatment brings it back.")
    if cold:
        found.append("A warm spell breaks the cold: seed can fall asleep again; give the cold anew from there.")
        found.append(
            "Mould: take out what is soft, rinse the rest, change the sand; mould on a firm seed does little harm."
        )
    if cold and species.germination.base_temperature <= SPROUTS_COLD:
        found.append(
            "It sprouts in the refrigerator: plant at once, root down, at 2 to 10 °C in light, or hold it at 0.5 to "
            "2 °C until frost is past; never back into warmth."
        )
    if species.shoot_waits:
        found.append("Roots are out and no leaf comes: the shoot still needs its cold; do not throw the seed out.")
    if _needs_two_winters(recipe) or (recipe.phases and recipe.phases[0].kind == "warm"):
        found.append("Nothing comes up in the first spring: leave the bed, it may come in the second.")
    if species.light == "needed":
        found.append("Sown deep or covered: it stays asleep in the dark.")
    found.append(
        f"Frost on the seedlings: at {trimmed(species.seedling_limit)} °C at the ground cover them (planning figure)."
    )
    return tuple(found)


def _figures(species: Species) -> tuple[str, ...]:
    lines = []
    for recipe in species.recipes:
        parts = [coat_text(recipe.coat) if recipe.coat else "", phases_text(recipe.phases) if recipe.phases else ""]
        state = f" for {recipe.state} seed" if recipe.state else ""
        lines.append(f"Recipe{state}: {'; then '.join(part for part in parts if part) or 'no treatment'}.")
        if any(phase.spread_assumed for phase in recipe.phases):
            lines.append("The source gives one length only; six tenths of it for the quickest seed is assumed.")
    lines = list(dict.fromkeys(lines))
    own = {phase.response for recipe in species.recipes for phase in recipe.phases if phase.kind == "cold"} - {
        COLD_RESPONSE
    }
    lines += [
        f"Its own response to cold: nothing at {trimmed(each.zero_low)} °C, full from {trimmed(each.full_low)} to "
        f"{trimmed(each.full_high)} °C, nothing at {trimmed(each.zero_high)} °C."
        for each in own
    ]
    germination = species.germination
    standing = "assumed for its class" if germination.assumed else "published"
    low, high = germination.thermal_time
    lines.append(
        f"Germination: {trimmed(low)} to {trimmed(high)} °C days above {trimmed(germination.base_temperature)} °C "
        f"({standing}; plausible base {trimmed(germination.base_range[0])} to {trimmed(germination.base_range[1])} °C)."
    )
    if species.seeds_per_gram:
        lines.append(
            f"About {trimmed(species.seeds_per_gram)} seeds a gram (from memory unless the note says otherwise)."
        )
    lines += _plant(species)
    if species.note:
        lines.append(species.note)
    return tuple(lines)


def _plant(species: Species) -> list[str]:
    """When its seed is ripe, what cold the plant stands, and how much can come up, each with who says so."""
    lines = []
    if species.ripening is not None:
        first, last = (f"{date(2001, *day):%-d %b}" for day in (species.ripening.first, species.ripening.last))
        where = f"{trimmed(abs(species.ripening.latitude))}° of latitude"
        lines.append(f"Seed is ripe about {first} to {last} at {where}: {species.ripening.source}.")
    if species.hardiness is not None:
        lines.append(f"The plant stands winters down to {trimmed(species.hardiness)} °C: {species.hardiness_source}.")
    if species.ceiling_share is not None:
        lines.append(
            f"At most {species.ceiling_share:.0%} of viable seed is known to come up: {species.ceiling_source}."
        )
    return lines


def _sources(species: Species) -> tuple[str, ...]:
    lines = [species.source or "No source given.", species.source_url]
    if species.origin != "built in":
        lines.append(f"From your table {species.origin}.")
    if species.read:
        figures = ", ".join(READ_WORDS.get(name, name.replace("_", " ")) for name in species.read)
        lines.append(f"Read in the source: {figures}. Every other figure is from memory, not checked.")
    elif species.origin == "built in":
        lines.append("No figure was read in the source: all are from memory, not checked.")
    return tuple(line for line in lines if line)


def _needs_two_winters(recipe: Recipe) -> bool:
    kinds = [phase.kind for phase in recipe.phases]
    return kinds[:3] == ["cold", "warm", "cold"] or recipe.total_days[1] > TWO_WINTERS_DAYS


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


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
