"""``plan --keep`` and ``done``: the chosen plan in the journal, its tasks as they are done, and what was learned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli.journal_options import UNNOTED, Entry, read_only, writable
from chillplan.cli.options import SpeciesFileOption, grouped
from chillplan.errors import counted

if TYPE_CHECKING:
    from chillplan.advice.result import Plan, SpeciesAdvice
    from chillplan.journal.kept import KeptTask
    from chillplan.journal.outcomes import Standing
    from chillplan.journal.store import Journal
    from chillplan.seeds.recipe import Recipe, Species

__all__ = ["keep", "register", "say_so", "with_learned"]

PHASES = ("warm phase", "cold phase")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("done", short_help="A task of the kept plan is done.")(done)


def keep(made: Plan, journal: Path | None, now: datetime) -> int:
    """Make a plan the current one; returns the number of its tasks."""
    from chillplan.journal.kept import keep_tasks

    tasks = kept_tasks(made)
    with writable(journal, now.date(), create=True) as opened:
        keep_tasks(opened, tasks, now)
    return len(tasks)


def kept_tasks(made: Plan) -> list[KeptTask]:
    """The tasks of a plan as the journal keeps them; weekly looks are the journal's own, once a batch lies there."""
    from chillplan.journal.kept import KeptTask
    from chillplan.report.labels import LABEL_WAYS, batch_identifier

    advices = {advice.species.name: advice for advice in made.species}
    out = {(advice.species.name, "fridge"): advice.fridge.plant_out for advice in made.species if advice.fridge}
    out |= {(advice.species.name, "top-up"): advice.top_up.plant_out for advice in made.species if advice.top_up}
    found = []

    def batch_of(name: str, way: str) -> str:
        return batch_identifier(made.season, name, LABEL_WAYS.get(way, way))

    for task in made.tasks:
        way, kind, _ = task.key.split("/")
        advice = advices[task.species]
        others = [] if advice.chosen else [other for other in advice.ways if way in advice.ways and other != way]
        if kind != "check":
            found.append(
                KeptTask(
                    f"{made.season}/{task.species}/{task.key}",
                    batch_of(task.species, way),
                    advice.latin,
                    kind,
                    task.action,
                    task.place,
                    made.site.name,
                    task.date_from,
                    task.date_to,
                    out.get((task.species, way)),
                    _seeds_of(advice),
                    recipe=advice.recipe.label,
                    cold_done=0.0 if advice.lot is None else advice.lot.stratified_days,
                    lot=task.species.removeprefix(advice.latin).removeprefix(", "),
                    note="" if advice.lot is None else "; ".join(advice.lot.weighed_and_placed),
                    instead_of=batch_of(task.species, others[0]) if others else "",
                )
            )
    return found


def _seeds_of(advice: SpeciesAdvice) -> int | None:
    """How many seeds a lot is, reckoned from its weight where it was weighed."""
    lot, weight = advice.lot, advice.species.seeds_per_gram
    if lot is None or lot.seeds is not None or not (lot.grams and weight):
        return None if lot is None else lot.seeds
    return max(1, round(lot.grams * weight))


@grouped
def done(
    *,
    task: Annotated[
        str, typer.Argument(help="T3 as `due` shows it, the name on the label, of the lot, or the species.")
    ],
    seeds: Annotated[int | None, typer.Option("--seeds", help="How many; else as the lots file says.")] = None,
    place: Annotated[str, typer.Option("--place", help="Where a batch lies; readings belong to the place.")] = "",
    set_temperature: Annotated[float | None, typer.Option("--set", help="What the place is set to, °C.")] = None,
    entry: Annotated[Entry, UNNOTED],
    species_file: SpeciesFileOption = None,
) -> None:
    """Say that a task of the kept plan is done: seed that goes into the cold becomes a batch, seed sown a sowing.

    Examples: chillplan done T3; chillplan done pawpaw --date yesterday
    """
    from chillplan.cli.batch_words import shown
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.errors import InputError
    from chillplan.journal.kept import BEGINS, find_task, open_tasks
    from chillplan.seeds.catalogue import find_species

    now = entry.now
    day = entry.day or now.date()
    try:
        species = find_species(catalogue_with(species_file), task).name
    except InputError:
        species = ""
    with entry.opened() as opened:
        found = find_task(opened, task, species)
        came = _record(opened, found, seeds, (place, set_temperature), species_file, day, now)
        print(f"{found.shown} {shown(found.species)}: {found.action}: done {day}{came}")
        left = {one.batch for one in open_tasks(opened)}
        if found.kind in BEGINS and found.instead_of and found.instead_of not in left:
            print("  the other way of this seed is off the list")


def _record(
    journal: Journal,
    task: KeptTask,
    seeds: int | None,
    held: tuple[str, float | None],
    species_file: Path | None,
    day: date,
    now: datetime,
) -> str:
    """One entry: the task is done, and what it makes begins, which is told; `seeds` as typed."""
    from chillplan.errors import InputError
    from chillplan.journal.entries import add_sowing, next_phase
    from chillplan.journal.find import list_batches
    from chillplan.journal.kept import tick
    from chillplan.journal.records import SowingEntry

    batch = next((one for one in list_batches(journal) if one.label == task.batch), None)
    if task.kind in PHASES and batch is None:
        number = seeds if seeds is not None else task.seeds
        return f"\n  {_begin(journal, task, number, held, species_file, day, now)} has begun"
    if task.kind in PHASES and batch is not None:
        place, setting = held
        begun = next_phase(journal, batch.code, now, day, place or None, setting, task=task)
        return f"\n  {batch.code}: {begun or 'the last phase'}"
    if task.kind in {"sow", "plant out"}:
        number = seeds if seeds is not None else (batch.seeds if batch else None) or task.seeds
        if number is None:
            raise InputError("the number of seeds is not known: pass --seeds, or write it into the lots file")
        source = None if batch is None else batch.number
        entry = SowingEntry(day, number, batch=source, species=task.species, site=task.site, note=task.note)
        return f"\n  S{add_sowing(journal, entry, now, task=task)}: {counted(number, 'seed')} sown"
    with journal.entry(f"done: {task.species}, {task.kind}", now) as writer:
        tick(writer, task, day)
    return ""


def _begin(
    journal: Journal,
    task: KeptTask,
    seeds: int | None,
    held: tuple[str, float | None],
    species_file: Path | None,
    day: date,
    now: datetime,
) -> str:
    from chillplan.advice.seed_lots import credited
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.journal.entries import start_batch
    from chillplan.journal.find import setting_of
    from chillplan.journal.records import BatchStart, treatments_of
    from chillplan.seeds.catalogue import find_species

    warm = task.kind == "warm phase"
    place = held[0] or ("shelf" if warm else "fridge")
    setting = held[1] if held[1] is not None else setting_of(journal, place)
    species = find_species(catalogue_with(species_file), task.species)
    recipe = next((one for one in species.recipes if one.label == task.recipe), species.recipe)
    recipe = credited(recipe, task.cold_done)
    start = BatchStart(
        task.species,
        day,
        treatments_of(recipe, day, True),
        label=task.batch,
        place=place,
        set_temperature=setting if setting is not None else USUAL_SHELF if warm else BatchStart.set_temperature,
        seeds=seeds,
        plant_out=task.plant_out,
        note=task.note,
    )
    return f"B{start_batch(journal, start, now, task=task)} ({task.batch}) in {place}"


USUAL_SHELF = 20.0  # a warm shelf indoors; common practice, no source [°C]


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
    from chillplan.journal.outcomes import learned_requirements

    with read_only(journal) as opened:
        known = learned_requirements(opened, site)
    used = {one.name: known[one.name] for one in species if one.name in known and _fits(one.recipe)}
    return tuple(_taught(one, used[one.name]) if one.name in used else one for one in species), used


def _fits(recipe: Recipe) -> bool:
    return bool(recipe.phases) and recipe.phases[-1].kind == "cold"


def _taught(species: Species, standing: Standing) -> Species:
    from chillplan.seeds.recipe import LOTS_KNOWN

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
