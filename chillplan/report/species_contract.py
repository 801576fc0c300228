"""The JSON of ``species`` and ``seeds``: keys stay, new ones may be added."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from chillplan.advice.result import SpeciesAdvice
from chillplan.seeds.amounts import Amount, Lot
from chillplan.seeds.page import Section, needs_of
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.recipe_text import coat_text, phases_text

__all__ = ["LIST_HEADER", "amount_json", "list_rows", "page_json", "species_facts"]

Json = dict[str, Any]

LIST_HEADER = (
    "name",
    "common_name",
    "needs",
    "uses",
    "requirement",
    "evidence",
    "origin",
    "verdict",
    "good_winters",
    "winters",
)


def list_rows(species: Sequence[Species], advices: Mapping[str, SpeciesAdvice]) -> list[Json]:
    """One row a species, keyed by `LIST_HEADER`; verdicts are None where no place was asked about."""
    rows = []
    for one in species:
        advice = advices.get(one.name)
        rows.append(
            {
                "name": one.name,
                "common_name": one.common_name,
                "needs": list(needs_of(one)),
                "uses": list(one.uses),
                "requirement": recipe_text(one.recipe),
                "evidence": one.evidence,
                "origin": one.origin,
                "verdict": advice.verdict if advice else None,
                "good_winters": advice.good if advice else None,
                "winters": advice.winters if advice else None,
            }
        )
    return rows


def recipe_text(recipe: Recipe) -> str:
    """A recipe as in the table: coat, then phases."""
    parts = [coat_text(recipe.coat) if recipe.coat else "", phases_text(recipe.phases) if recipe.phases else ""]
    return "; then ".join(part for part in parts if part) or "none"


def species_facts(species: Species) -> Json:
    """Everything the catalogue holds of a species."""
    germination = species.germination
    return {
        "name": species.name,
        "common_name": species.common_name,
        "other_names": list(species.other_names),
        "family": species.family,
        "dormancy": species.dormancy,
        "hard_coat": species.hard_coat,
        "recipes": [
            {"label": recipe.label, "coat": coat_text(recipe.coat), "phases": phases_text(recipe.phases)}
            for recipe in species.recipes
        ],
        "germination": {
            "base_temperature_c": germination.base_temperature,
            "base_range_c": list(germination.base_range),
            "thermal_time_c_days": list(germination.thermal_time),
            "indoors_c": list(germination.temperature) if germination.temperature else None,
            "assumed": germination.assumed,
        },
        "light": species.light,
        "storage": species.storage,
        "depth_cm": list(species.depth_cm),
        "seedling_limit_c": species.seedling_limit,
        "shoot_waits": species.shoot_waits,
        "needs": list(needs_of(species)),
        "uses": list(species.uses),
        "sow_season": species.sow_season,
        "seeds_per_gram": species.seeds_per_gram,
        "cautions": list(species.cautions),
        "note": species.note,
        "source": species.source,
        "source_url": species.source_url,
        "read": list(species.read),
        "evidence": species.evidence,
        "origin": species.origin,
    }


def page_json(species: Species, page: Sequence[Section]) -> Json:
    """A species with its page."""
    sections = [{"title": each.title, "numbered": each.numbered, "lines": list(each.lines)} for each in page]
    return {"schema": 1, "species": species_facts(species), "page": sections}


def amount_json(species: Species, lot: Lot, amount: Amount, per_cell: int | None) -> Json:
    """How much seed of one species."""
    return {
        "name": species.name,
        "common_name": species.common_name,
        "plants": amount.target,
        "chance": amount.chance,
        "chance_reached": round(amount.reached, 4),
        "best_chance": round(amount.best_chance, 4),
        "share_of_seeds_that_become_plants": round(amount.share, 4),
        "viability_now": round(lot.alive, 4),
        "pure_live_seed": round(lot.purity * lot.alive, 4),
        "seeds": amount.seeds,
        "grams": None if amount.grams is None else round(amount.grams, 3),
        "packets": amount.packets,
        "seeds_per_cell": per_cell,
        "seeds_per_gram": lot.seeds_per_gram,
    }
