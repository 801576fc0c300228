"""The seed at hand, as it is planned for: which recipe its state asks for, what is done of it, when it is there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from chillplan.advice.plan import Request, season_asked
from chillplan.advice.verdict import SeedAt
from chillplan.lot import DRIED, FRESH, MOIST, STRATIFIED, TREATED, Lot
from chillplan.seasons.cut import Seasons, season_of, season_start
from chillplan.seasons.summary import LEAD
from chillplan.seeds.recipe import Phase, Recipe, Species
from chillplan.seeds.ripening import Ripe, growing_warmth, ripe_at

__all__ = ["LONGEST_PICKING", "Held", "credited", "held_seed", "seed_of"]

LONGEST_PICKING = 21  # after this many days seed is taken as fallen, eaten or dry; common practice, no source [day]


@dataclass(frozen=True)
class Held:
    """The seed that one row of a plan is for.

    Attributes
    ----------
    species : Species
        With the recipes that the seed's state asks for, what is done of them credited; where there are several lots
        of a species, its names carry the lot's.
    lot : Lot
        By its scientific name.
    ripe : Ripe or None
        When the plant's seed is ripe, for the season it is planned in.
    ready : datetime.date
        From when the seed is there.
    at : SeedAt
        The same for the decision.
    """

    species: Species
    lot: Lot
    ripe: Ripe | None
    ready: date
    at: SeedAt

    @property
    def first_phase(self) -> str:
        """``warm`` or ``cold``, of the usual recipe; a word that no phase bears where there is none."""
        return self.species.recipe.phases[0].kind if self.species.recipe.phases else "none"

    @property
    def moist(self) -> bool:
        """Whether it is kept moist until it is sown or treated."""
        return self.at.fresh


def held_seed(seasons: Seasons, species: Sequence[Species], lots: Sequence[Lot], request: Request) -> tuple[Held, ...]:
    """The rows of a plan: each lot, and each species of which no lot is held.

    Parameters
    ----------
    seasons : Seasons
    species : sequence of Species
    lots : sequence of Lot
        By scientific names.
    request : Request
    """
    warmth = growing_warmth(seasons, request.warming)
    season = season_asked(request, seasons.southern)
    where = (seasons.southern, request.today)
    return tuple(_held(one, lot, warmth, season, where) for one, lot in seed_of(species, lots))


def seed_of(species: Sequence[Species], lots: Sequence[Lot]) -> tuple[tuple[Species, Lot], ...]:
    """Each lot, and each species of which none is held, with the species as its state asks for and by its name.

    Parameters
    ----------
    species : sequence of Species
    lots : sequence of Lot
        By scientific names.
    """
    found = []
    for one in species:
        own = [lot for lot in lots if lot.species == one.name] or [Lot(one.name)]
        found += [(_for_lot(one, lot, name), lot) for lot, name in zip(own, _names(own), strict=True)]
    return tuple(found)


def _names(lots: Sequence[Lot]) -> list[str]:
    """How several lots of a species are told apart; a single one needs no name."""
    if len(lots) == 1:
        return [""]
    said = [lot.lot or lot.place or lot.where or (f"picked {lot.picked}" if lot.picked else "") for lot in lots]
    return [
        name if name and said.count(name) == 1 else f"{name} lot {number}".strip()
        for number, name in enumerate(said, start=1)
    ]


def _held(species: Species, lot: Lot, warmth: float, season: int, where: tuple[bool, date]) -> Held:
    southern, today = where
    moist = _kept_moist(species, lot)
    later, ripe = 0, _ripe(species, warmth, season, southern)
    on_the_plant = lot.picked is None and (lot.state == FRESH or (species.storage == "never dry" and moist))
    if ripe is not None and on_the_plant and lot.state in {FRESH, DRIED} and _gone(ripe, today):
        later, ripe = 1, _ripe(species, warmth, season + 1, southern)
    if lot.picked is None and lot.state in {MOIST, STRATIFIED} and season_of(today, southern) < season:
        later, ripe = -1, _ripe(species, warmth, season - 1, southern)
    start = season_start(season + later, southern)
    if lot.picked is not None:
        ready = lot.picked
    elif lot.state in {MOIST, STRATIFIED, TREATED}:
        ready = today
    else:
        ready = start if ripe is None else ripe.first
    if moist:
        ready = max(ready, today)
    earliest = -LEAD if moist or lot.fresh else 0
    return Held(species, lot, ripe, ready, SeedAt(max((ready - start).days, earliest), moist, later, lot.chosen))


def _kept_moist(species: Species, lot: Lot) -> bool:
    """Whether seed is moist and stays so: fresh seed that keeps poorly dry, and all that dies when it dries."""
    fragile = species.storage == "never dry" or (species.storage == "short-lived" and lot.fresh)
    return lot.state in {MOIST, STRATIFIED} or (fragile and lot.state != TREATED)


def _ripe(species: Species, warmth: float, season: int, southern: bool) -> Ripe | None:
    return None if species.ripening is None else ripe_at(species.ripening, warmth, season, southern)


def _gone(ripe: Ripe, today: date) -> bool:
    """Whether it is too late to pick."""
    return today > min(ripe.last, ripe.first + timedelta(days=LONGEST_PICKING))


def _for_lot(species: Species, lot: Lot, name: str) -> Species:
    """A species with the recipes for the state of a lot, and the lot's name where there are several."""
    fresh = lot.fresh or _kept_moist(species, lot)
    exact = [recipe for recipe in species.recipes if recipe.state == ("fresh" if fresh else "dried")]
    chosen = exact or [recipe for recipe in species.recipes if not recipe.state] or list(species.recipes)
    if lot.state in {STRATIFIED, TREATED}:
        chosen = [replace(recipe, coat=()) for recipe in chosen]
    recipes = tuple(credited(recipe, lot.stratified_days) for recipe in chosen)
    species = replace(species, recipes=recipes)
    if not name:
        return species
    return replace(species, name=f"{species.name}, {name}", common_name=f"{species.common_name}, {name}")


def credited(recipe: Recipe, cold: float) -> Recipe:
    """A recipe less the days of moist cold that are done; warmth that comes before that cold is taken as done."""
    if cold <= 0.0:
        return recipe
    phases = list(recipe.phases)
    first = next((number for number, phase in enumerate(phases) if phase.kind == "cold"), None)
    if first is None:
        return recipe
    phases[first] = _less(phases[first], cold)
    return replace(recipe, phases=tuple(phases[first:]))


def _less(phase: Phase, days: float) -> Phase:
    low, high = phase.days
    return replace(phase, days=(max(low - days, 0.0), max(high - days, 0.0)), done=days, asked=phase.days)
