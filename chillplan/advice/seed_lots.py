"""A plan for the seed at hand: no task before it is ripe, none that lets it dry, none where the plant would freeze."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

from chillplan.advice.result import Plan, SpeciesAdvice, Task
from chillplan.advice.tasks import in_order, tasks_of
from chillplan.advice.wording import winters_words
from chillplan.lot import FRESH, MOIST, WAYS, Lot
from chillplan.seasons.cut import SPIN_UP, Seasons
from chillplan.seeds.ripening import Ripe, growing_warmth, ripe_at

__all__ = ["for_lots", "frozen_winters"]

SUNDAY = 6
KEPT_MOIST = "1 to 4 °C"
LONGEST_PICKING = 21  # after this many days seed is taken as fallen, eaten or dry; common practice, no source [day]
DRYING_DAYS = 14  # spread thin in an airy, shaded place; common practice, no source [day]
SOW_WITHIN = 14  # days for sowing seed that is ripe after the usual window; our choice [day]
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


def for_lots(plan: Plan, lots: Sequence[Lot], looking_day: int = SUNDAY) -> Plan:
    """The plan for some lots, or for species of which nothing else was said.

    Parameters
    ----------
    plan : Plan
    lots : sequence of Lot
        By scientific names. Where a way was chosen for the seed of a species, its tasks are those of that way.
    looking_day : int
        Day of the week on which everything in the cold is looked at, 0 for Monday.

    Returns
    -------
    Plan
        Tasks begin when the seed is ripe or was picked; picking, cleaning and storing are tasks too. Species that
        would freeze in more winters than the grower accepts have no tasks.
    """
    warmth = growing_warmth(plan.seasons, plan.warming)
    by_species: dict[str, list[Lot]] = {}
    for lot in lots:
        by_species.setdefault(lot.species, []).append(lot)
    advices, tasks = [], []
    for plain in plan.species:
        held = by_species.get(plain.species.name, [Lot(plain.species.name)])
        ripening = plain.species.ripening
        ripe = None if ripening is None else ripe_at(ripening, warmth, plan.season, plan.seasons.southern)
        frozen = frozen_winters(plan.seasons, plain.species.hardiness, plan.warming)
        killed = frozen > (1.0 - plan.accept) * plan.seasons.years.size
        notes = [*plain.notes]
        if frozen:
            notes.insert(0, _frozen_words(frozen, plan.seasons.years.size, killed))
        if ripe is not None and ripening is not None:
            notes.append(_ripe_words(ripe, ripening.latitude))
        fridge = plain.fridge and replace(plain.fridge, checks=_on(looking_day, plain.fridge.checks))
        top_up = plain.top_up and replace(plain.top_up, checks=_on(looking_day, plain.top_up.checks))
        advice = replace(plain, fridge=fridge, top_up=top_up)
        advice = replace(advice, chosen=_chosen(held), killed=killed, frozen=frozen, notes=tuple(notes))
        found = [] if killed else list(tasks_of([advice], plan.today))
        own = _of_seed(advice, held, ripe, found, plan.today)
        tasks += own
        advices.append(_sown_when_ripe(advice, own, ripe))
    return replace(plan, species=tuple(advices), tasks=in_order(tasks, plan.today), lots=tuple(lots))


def _sown_when_ripe(advice: SpeciesAdvice, tasks: Sequence[Task], ripe: Ripe | None) -> SpeciesAdvice:
    """The advice with the sowing window of the tasks, where that begins later since the seed is not ripe before."""
    sow = next((task for task in tasks if task.key.startswith("outdoors/sow")), None)
    window = advice.outdoors
    if window is not None and window.autumn is not None and ripe is not None:
        first, last = max(window.autumn[0], ripe.first), window.autumn[1]
        window = replace(window, autumn=(first, last) if first <= last else None)
        advice = replace(advice, outdoors=window)
    if sow is None or window is None or sow.date_from <= window.sow_from:
        return advice
    best = min(max(window.best, sow.date_from), sow.date_to)
    return replace(advice, outdoors=replace(window, sow_from=sow.date_from, sow_to=sow.date_to, best=best))


def _on(weekday: int, days: Sequence[date]) -> tuple[date, ...]:
    """Weekly days on one day of the week, each at most six days earlier."""
    return tuple(day - timedelta(days=(day.weekday() - weekday) % 7) for day in days)


def _chosen(lots: Sequence[Lot]) -> frozenset[str]:
    ways = {way for lot in lots for way in (WAYS[1:3] if lot.way == WAYS[3] else (lot.way,))}
    return frozenset(ways - {WAYS[0]})


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


def _of_seed(
    advice: SpeciesAdvice, lots: Sequence[Lot], ripe: Ripe | None, tasks: list[Task], today: date
) -> list[Task]:
    """The tasks of a species once its seed is there, with picking, cleaning and storing before them."""
    if not tasks:
        return []
    picked = [lot.picked for lot in lots if lot.picked is not None]
    ready = max(picked) if len(picked) == len(lots) else ripe.first if ripe else today
    tasks = [task for way in dict.fromkeys(_way(task) for task in tasks) for task in _not_before(ready, way, tasks)]
    moist = advice.species.storage != "dry"
    to_pick = not picked and ripe is not None and ripe.last >= today
    begin = min((task.date_from for task in tasks if not task.key.endswith("check")), default=ready)
    name = advice.species.name
    found = []
    if to_pick and ripe is not None and (moist or any(lot.state == FRESH for lot in lots)):
        until = min(ripe.last, ripe.first + timedelta(days=LONGEST_PICKING))
        words = "pick when ripe, clean it the same day" + (", and never let it dry" if moist else "")
        found.append(Task(ripe.first, until, name, words, "shed", MINUTES, key="seed/pick/1"))
    fresh = moist or any(lot.state in {FRESH, MOIST} for lot in lots)
    if fresh and begin > ready:
        if moist or any(lot.state == MOIST for lot in lots):
            cold = bool(advice.recipe.phases) and advice.recipe.phases[0].kind == "cold"
            words = f"keep it moist at {KEPT_MOIST} until {begin}" + ("; that counts as its cold" if cold else "")
            found.append(Task(ready, begin - timedelta(days=1), name, words, "refrigerator", 10, key="seed/store/1"))
        else:
            words = f"dry it {DRYING_DAYS} days in a shaded, airy place, then keep it dry and cool until {begin}"
            found.append(Task(ready, ready + timedelta(days=1), name, words, "shed", 10, key="seed/store/1"))
    return [*found, *tasks]


def _way(task: Task) -> str:
    return task.key.partition("/")[0]


def _not_before(ready: date, way: str, tasks: Sequence[Task]) -> list[Task]:
    """The tasks of a way, none before the seed is there: a window begins later, a treatment is moved as a whole."""
    own = [task for task in tasks if _way(task) == way]
    if way == "fridge":
        late = max((ready - min(task.date_from for task in own)).days, 0)
        late = math.ceil(late / 7) * 7  # whole weeks keep the looking day
        return [_moved(task, late) for task in own]
    return [
        replace(task, date_from=ready, date_to=max(task.date_to, ready + timedelta(days=SOW_WITHIN)))
        if task.key.split("/")[1] in {"sow", "coat"} and task.date_from < ready
        else task
        for task in own
    ]


def _moved(task: Task, days: int) -> Task:
    shift = timedelta(days=days)
    return replace(task, date_from=task.date_from + shift, date_to=task.date_to + shift)
