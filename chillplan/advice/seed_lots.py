"""A plan for the seed at hand: no task before it is ripe, none that lets it dry, none where the plant would freeze."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from chillplan.advice.held import LONGEST_PICKING, Held, held_seed
from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan, SpeciesAdvice, Task
from chillplan.advice.tasks import in_order, tasks_of
from chillplan.advice.wording import winters_words
from chillplan.lot import DRIED, FRESH, Lot
from chillplan.seasons.cut import SPIN_UP, Seasons
from chillplan.seeds.recipe import Species
from chillplan.seeds.ripening import Ripe
from chillplan.site import Site

__all__ = ["frozen_winters", "plan_for_lots"]

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
        notes.insert(0, _frozen_words(frozen, plan.seasons.years.size, killed))
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


def _frozen_words(frozen: int, winters: int, killed: bool) -> str:
    end = ": nothing is planned for it" if killed else ", before any snow or shelter is counted"
    return f"The plant would freeze here in {winters_words(frozen, winters)}{end}."


def _ripe_words(ripe: Ripe, latitude: float) -> str:
    moved = "as" if not ripe.later else f"{abs(ripe.later)} days {'later' if ripe.later > 0 else 'earlier'} than"
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
