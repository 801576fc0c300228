"""Plans for lots of seed: what a lot's state asks for, when it is there, picking and storing, the way chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from chillplan.advice.plan import Request, make_plan, season_asked
from chillplan.advice.result import Plan, SpeciesAdvice, Task
from chillplan.advice.tasks import in_order, tasks_of
from chillplan.advice.verdict import SeedAt
from chillplan.advice.wording import winters_words
from chillplan.errors import counted
from chillplan.lot import DRIED, FRESH, MOIST, STRATIFIED, TREATED, Lot
from chillplan.seasons.cut import SPIN_UP, Seasons, season_of, season_start
from chillplan.seasons.summary import LEAD
from chillplan.seeds.recipe import Phase, Recipe, Species
from chillplan.seeds.ripening import Ripe, growing_warmth, ripe_at
from chillplan.site import Site

__all__ = ["credited", "plan_for_lots", "seed_of"]

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


SUNDAY = 6
KEPT_MOIST = "1 to 4 °C"
DRYING_DAYS = 14  # spread thin in an airy, shaded place; common practice, no source [day]
LONGEST_COAT = timedelta(days=14)  # from picking to the first phase
MINUTES = 40  # of picking and cleaning, assumed [minute]


def frozen_winters(seasons: Seasons, hardiness: float | None, warming: float = 0.0) -> int:
    """Winters in which the air fell below what a plant stands; 0 where that is not known.

    Parameters
    ----------
    seasons : Seasons
    hardiness : float or None
        [°C]
    warming : float
        [°C]
    """
    if hardiness is None:
        return 0
    return int((seasons.daily["tmin"][SPIN_UP:].min(axis=0) + warming < hardiness).sum())


def plan_for_lots(
    seasons: Seasons,
    site: Site,
    seed: tuple[Sequence[Species], Sequence[Lot]],
    request: Request,
    looking_day: int = SUNDAY,
    progress: Callable[[str], None] = lambda _: None,
) -> Plan:
    """The plan for some seed.

    Parameters
    ----------
    seasons : Seasons
    site : Site
    seed : tuple
        Species, and lots of them by scientific names; a species without a lot is dried seed of this year, or fresh
        seed of the next harvest where it bears no drying. A way that was chosen for a lot is the one whose tasks are
        planned.
    request : Request
    looking_day : int
        Day of the week on which everything in the cold is looked at, 0 for Monday.
    progress : callable
        Told how far the work is, in words.

    Returns
    -------
    Plan
        Tasks begin when the seed is ripe or was picked; picking, cleaning and storing are tasks too. Species that
        would freeze in more winters than the grower accepts have no tasks. Lots of one species stand apart.
    """
    held = held_seed(seasons, *seed, request)
    when = {one.species.name: one.at for one in held}
    plan = make_plan(seasons, site, [one.species for one in held], replace(request, seeds=when), progress)
    advices, tasks = [], []
    for plain, one in zip(plan.species, held, strict=True):
        advice = _with_seed(plan, plain, one, looking_day)
        found = [] if advice.killed else list(tasks_of([advice], plan.today))
        tasks += [_told(task, one.lot) for task in _of_seed(one, found, plan.today)]
        advices.append(advice)
    return replace(plan, species=tuple(advices), tasks=in_order(tasks, plan.today), lots=tuple(seed[1]))


def _with_seed(plan: Plan, plain: SpeciesAdvice, held: Held, looking_day: int) -> SpeciesAdvice:
    """The advice with what was chosen, what winter does to the plant, and when it is looked at."""
    frozen = frozen_winters(plan.seasons, plain.species.hardiness, plan.warming)
    killed = frozen > (1.0 - plan.accept) * plan.seasons.years.size
    notes = [*plain.notes]
    if frozen:
        notes.insert(0, _frozen_words(plain.species, frozen, plan.seasons.years.size, killed))
    if held.ripe is not None and plain.species.ripening is not None:
        notes.append(_ripe_words(held.ripe, plain.species.ripening.latitude))
    if plain.species.storage == "never dry":
        notes.append("Its seed dies when it dries, and is taken for moist: if yours has been dried, do not sow it.")
    elif plain.species.storage == "short-lived" and held.lot.state == DRIED:
        notes.append("Its seed keeps poorly when dry: use it within the year.")
    if held.lot.stratified_days:
        notes.append(f"{held.lot.stratified_days:g} days of cold are done; the dates count the rest.")
    return replace(
        plain,
        fridge=plain.fridge and replace(plain.fridge, checks=_on(looking_day, plain.fridge.checks)),
        top_up=plain.top_up and replace(plain.top_up, checks=_on(looking_day, plain.top_up.checks)),
        chosen=held.lot.chosen,
        killed=killed,
        frozen=frozen,
        notes=tuple(notes),
        lot=held.lot,
        ready=held.ready,
        moist=held.moist,
        ripe=None if held.ripe is None else (held.ripe.first, held.ripe.last),
    )


def _told(task: Task, lot: Lot) -> Task:
    """A task with how much seed it is for, and where on the hill that goes."""
    kind = task.key.split("/")[1]
    said = [lot.amount if kind != "check" else "", lot.place if task.place == "hill" else ""]
    words = ", ".join(part for part in said if part)
    return replace(task, action=f"{task.action} ({words})") if words else task


def _on(weekday: int, days: Sequence[date]) -> tuple[date, ...]:
    """Weekly days on one day of the week, each at most six days earlier."""
    return tuple(day - timedelta(days=(day.weekday() - weekday) % 7) for day in days)


def _frozen_words(species: Species, frozen: int, winters: int, killed: bool) -> str:
    end = ": nothing is planned for it" if killed else ", before any snow or shelter is counted"
    stands = f"it stands {species.hardiness:g} °C ({species.hardiness_source})"
    return f"The plant would freeze here in {winters_words(frozen, winters)}{end}; {stands}."


def _ripe_words(ripe: Ripe, latitude: float) -> str:
    side = "later" if ripe.later > 0 else "earlier"
    moved = f"{counted(abs(ripe.later), 'day')} {side} than" if ripe.later else "as"
    return (
        f"Seed is ripe here about {ripe.first} to {ripe.last}, {moved} the source has it for {abs(latitude):g}° of "
        f"latitude, since it is {abs(ripe.warmer):.1f} °C {'warmer' if ripe.warmer >= 0 else 'cooler'} here from "
        "spring to autumn than is usual there. Go by the fruit."
    )


def _of_seed(held: Held, tasks: list[Task], today: date) -> list[Task]:
    """The tasks of some seed, with picking, cleaning and storing before them."""
    if not tasks:
        return []
    lot, ripe, name = held.lot, held.ripe, held.species.name
    found, there = [], held.ready
    to_pick = lot.picked is None and lot.state in {FRESH, DRIED} and (held.moist or lot.state == FRESH)
    if to_pick and ripe is not None and ripe.last >= today:
        until = min(ripe.last, ripe.first + timedelta(days=LONGEST_PICKING))
        words = "pick when ripe, clean it the same day" + (", and never let it dry" if held.moist else "")
        there = max(until, today)
        found.append(Task(ripe.first, there, name, words, "shed", MINUTES, key="seed/pick/1"))
        tasks = [_within(task, held, until - ripe.first) for task in tasks]
    begin = min((task.date_from for task in tasks if not task.key.endswith("check")), default=held.ready)
    if begin > held.ready and (held.moist or lot.state == FRESH):
        found.append(_stored(held, begin, max(there, held.ready)))
    return [*found, *tasks]


def _within(task: Task, held: Held, picking: timedelta) -> Task:
    """A step of moist seed that begins with the picking may begin as long as it is picked."""
    way, kind, number = task.key.split("/")
    at_once = kind == "coat" or (kind.endswith("phase") and number == "1" and kind.startswith(held.first_phase))
    if not (held.moist and way == "fridge" and at_once) or task.date_from > held.ready + LONGEST_COAT:
        return task
    return replace(task, date_to=task.date_to + picking)


def _stored(held: Held, begin: date, there: date) -> Task:
    """Keeping the seed from the day it is there, `there` at the latest, to the day it is sown or treated."""
    ready, name = held.ready, held.species.name
    if held.moist:
        phases = held.species.recipe.phases
        cold = bool(phases) and phases[0].kind == "cold"
        words = f"keep it moist at {KEPT_MOIST} until its next step, {begin} or later"
        words += "; that counts as its cold" if cold else ""
        return Task(ready, max(begin - timedelta(days=1), there), name, words, "refrigerator", 10, key="seed/store/1")
    words = f"dry it {DRYING_DAYS} days in a shaded, airy place, then keep it dry and cool until {begin}"
    return Task(ready, there + timedelta(days=1), name, words, "shed", 10, key="seed/store/1")
