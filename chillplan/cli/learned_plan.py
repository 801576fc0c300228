"""Species as a journal has taught: requirements learned at a site take the place of published ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from chillplan.cli.journal_options import counted
from chillplan.journal.outcomes import Standing, learned_requirements
from chillplan.journal.store import read_journal
from chillplan.seeds.recipe import LOTS_KNOWN, Recipe, Species

if TYPE_CHECKING:
    from chillplan.advice.result import Plan

__all__ = ["say_so", "with_learned"]


def with_learned(
    species: Sequence[Species], journal: Path, site: str
) -> tuple[tuple[Species, ...], dict[str, Standing]]:
    """Put learned requirements into the usual recipe of each species.

    Parameters
    ----------
    site : str
        Name of the site they were learned at.

    Returns
    -------
    tuple of Species
        In the same order; those without a lesson as they were.
    dict of str to Standing
        What was used, by species.

    Raises
    ------
    InputError
        If the journal cannot be read.
    """
    with read_journal(journal) as opened:
        known = learned_requirements(opened, site)
    used = {one.name: known[one.name] for one in species if one.name in known and _fits(one.recipe)}
    return tuple(_taught(one, used[one.name]) if one.name in used else one for one in species), used


def _fits(recipe: Recipe) -> bool:
    return bool(recipe.phases) and recipe.phases[-1].kind == "cold"


def _taught(species: Species, standing: Standing) -> Species:
    *before, last = species.recipe.phases
    taught = replace(last, days=standing.days, spread_assumed=False, stated=None, variation=LOTS_KNOWN)
    recipe = replace(species.recipe, phases=(*before, taught))
    return replace(species, recipes=(recipe, *species.recipes[1:]), source=f"{species.source}; {_words(standing)}")


def _words(standing: Standing) -> str:
    low, high = standing.days
    return (
        f"cold of {low:g} to {high:g} days learned on {standing.made_on} from "
        f"{counted(standing.sowings, 'sowing')} here, {counted(standing.seeds, 'seed')}"
    )


def say_so(plan: Plan, used: Mapping[str, Standing]) -> Plan:
    """The plan with a note at each species whose requirement was learned."""
    advices = []
    for advice in plan.species:
        standing = used.get(advice.latin)
        if standing is not None:
            low, high = standing.published
            note = f"Planned with what your journal taught: {_words(standing)}; published {low:g} to {high:g} days."
            advices.append(replace(advice, notes=(*advice.notes, note)))
        else:
            advices.append(advice)
    return replace(plan, species=tuple(advices))
