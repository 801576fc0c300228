"""What the journal shows: batches, what is due, the history."""

from __future__ import annotations

import re
import sys
from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli.batch_asleep import asleep_words
from chillplan.cli.batch_words import named_batch, shown
from chillplan.cli.journal_options import JOURNAL, Entry, JournalOption, read_only
from chillplan.cli.options import FormatOption, grouped
from chillplan.cli.streams import print_json
from chillplan.errors import counted

if TYPE_CHECKING:
    from chillplan.advice.care import Advice
    from chillplan.journal.chill import PhaseProgress, Spell
    from chillplan.journal.due import BatchState, DueItem
    from chillplan.journal.find import Batch, Sowing
    from chillplan.journal.store import Journal

__all__ = [
    "due",
    "history",
    "list_",
    "print_after_check",
    "print_if_far",
    "print_if_unsuited",
    "print_place",
    "print_steps",
    "short_words",
]

FAR = 20.0  # from the set temperature, asked about [°C]
ASSUMED = "Chill counts by an assumed response (share of a day by daily mean) unless the species has its own."


@grouped
def due(
    *,
    days: Annotated[int, typer.Option("--days", help="How many days ahead to look.")] = 7,
    output: FormatOption = "table",
    entry: Annotated[Entry, JOURNAL],
) -> None:
    """Say what needs doing today and this week.

    Example: chillplan due
    """
    from chillplan.cli.home import looking_day_at_home
    from chillplan.errors import InputError
    from chillplan.journal.due import due_items

    if not 0 <= days <= 366:
        raise InputError(f"--days {days} is outside 0 to 366: check the value")
    day = entry.now.date()
    with read_only(entry.journal) as opened:
        items = due_items(opened, day, days, looking_day_at_home())
    if output == "table":
        sys.stdout.write(_due_text(items, day, days))
        return
    rows = [
        {"on": item.on.isoformat(), "subject": item.subject, "species": item.species, "action": item.action,
         "reason": item.reason, "urgent": item.urgent}
        for item in items
    ]  # fmt: skip
    _print_rows(rows, output, {"today": day.isoformat()}, "due")


def _due_text(items: list[DueItem], day: date, days: int) -> str:
    urgent = [item for item in items if item.urgent]
    now = [item for item in items if not item.urgent and item.on <= day]
    later = [item for item in items if not item.urgent and item.on > day]
    parts = [f"{day:%A} {day.day} {day:%B %Y}\n"]
    for title, some in (("At once", urgent), ("Today", now), (f"Until {day + timedelta(days=days)}", later)):
        if some:
            parts.append(f"\n{title}\n")
            parts += [_due_line(item, day) for item in some]
    if not items:
        parts.append(f"\nNothing is due until {day + timedelta(days=days)}.\n")
    return "".join(parts)


def _due_line(item: DueItem, day: date) -> str:
    late = (day - item.on).days
    when = f"{late} d late" if late > 0 else "today" if late == 0 else item.on.isoformat()
    subject = f"{item.subject} {shown(item.species)}".strip()
    return f"  {when:<11} {subject}: {item.action}\n{'':14}{item.reason}\n"


@grouped
def list_(
    *,
    batch: Annotated[str | None, typer.Argument(help="One batch in full, or one sowing.", metavar="BATCH")] = None,
    everything: Annotated[bool, typer.Option("--all", help="Closed batches too.")] = False,
    output: FormatOption = "table",
    entry: Annotated[Entry, JOURNAL],
) -> None:
    """List batches and sowings, or show one batch in full: steps, chill done, checks, what to do.

    Examples: chillplan batch list; chillplan batch list B12; chillplan batch list S3
    """
    from chillplan.journal.find import find_batch, find_sowing

    day = entry.now.date()
    with read_only(entry.journal) as opened:
        if batch is not None and output == "table" and re.fullmatch(r"[Ss]\d+", batch.strip()):
            _print_sowing(find_sowing(opened, batch))
            return
        chosen = None if batch is None else find_batch(opened, named_batch(opened, batch))
        if output != "table":
            rows = _batch_rows(opened, day, everything, chosen)
            _print_rows(rows, output, {"today": day.isoformat()}, "batches")
        elif chosen is not None:
            _print_batch(opened, chosen, day)
        else:
            _print_overview(opened, day, everything)


def history(
    last: Annotated[int, typer.Option("--last", help="How many entries.")] = 20, journal: JournalOption = None
) -> None:
    """Show the last entries, those taken back too.

    Example: chillplan batch history
    """
    from chillplan.journal.find import entries_of

    with read_only(journal) as opened:
        for row in entries_of(opened, max(last, 1)):
            mark = " (taken back)" if row["undone_by"] else ""
            print(f"{row['id']:>6}  {row['at']}  {row['text']}{mark}")


def _print_rows(rows: list[dict[str, object]], output: str, head: dict[str, object], name: str) -> None:
    from chillplan.errors import InputError, quoted

    if output == "json":
        print_json({"schema": 1, **head, name: rows})
    elif output == "csv":
        import csv

        from chillplan.journal.exchange import cell_of

        writer = csv.writer(sys.stdout)
        writer.writerow(list(rows[0]) if rows else [])
        writer.writerows([cell_of(_plain(value)) for value in row.values()] for row in rows)
    else:
        raise InputError(f"--format {quoted(output)} is not known: use table, json or csv")


def _plain(value: object) -> str | int | float | None:
    return value if value is None or isinstance(value, str | int | float) else str(value)


def print_steps(journal: Journal, number: int) -> None:
    """Print the steps of a batch in order."""
    from chillplan.advice.wording import number_range

    for row in journal.rows("SELECT * FROM treatments WHERE batch = ? ORDER BY position", (number,)):
        days = "" if row["days_high"] is None else f", {number_range(row['days_low'], row['days_high'], 'days')}"
        low, high = row["temperature_low"], row["temperature_high"]
        held = "" if low is None else f", {number_range(low, high, '°C')}"
        state = _step_state(row["started_on"], row["ended_on"], row["days_high"] is not None)
        detail = f" ({row['detail']})" if row["detail"] else ""
        print(f"  {row['kind']}{days}{held}{detail}: {state}")


def _step_state(started: str | None, ended: str | None, phase: bool) -> str:
    if started is None:
        return "to come" if phase else "not done"
    if ended is None:
        return f"since {started}"
    return f"{started} to {ended}" if phase else f"done {started}"


def print_progress(progress: PhaseProgress, kind: str, days: tuple[float, float]) -> None:
    """Print how far a phase is, on what evidence, and what days out of range cost."""
    print(
        f"  {kind}: {progress.done:.1f} of {days[0]:g} to {days[1]:g} days done in {counted(progress.elapsed, 'day')} "
        f"({progress.measured} measured, {progress.bridged} between readings, {progress.assumed} assumed as set)"
    )
    ended = progress.done >= days[1]
    if progress.finish is None:
        print("  finish: not in sight at the temperature the place is set to; move it somewhere colder or warmer")
    elif progress.moved:
        later = f"{counted(abs(progress.moved), 'day')} {'later' if progress.moved > 0 else 'earlier'}"
        print(f"  {'done' if ended else 'finish: about'} {progress.finish}, {later} than planned ({progress.planned})")
    else:
        print(f"  {'done' if ended else 'finish: about'} {progress.finish}, as planned")
    if not ended and progress.if_so != progress.finish:
        told = f"about {progress.if_so}" if progress.if_so else "not in sight"
        print(f"  if it stays as in the last two weeks: {told}")
    for spell in progress.spells[-5:]:
        print(f"  {_spell_text(spell, kind)}")


def _spell_text(spell: Spell, kind: str) -> str:
    length = (spell.last - spell.first).days + 1
    span = f"on {spell.first}" if length == 1 else f"{spell.first} to {spell.last}"
    cost = f"cost {spell.cost:.1f} days of {kind}" if spell.cost >= 0.05 else f"cost no day of {kind}"
    return f"out of range {span}: too {spell.side}, daily mean to {spell.extreme:.1f} °C; {cost}"


def print_if_far(journal: Journal, place: str, temperature: float) -> None:
    """Ask about a reading far from what the place is set to: a thermometer in °F is the usual reason."""
    rows = journal.rows("SELECT set_temperature FROM batches WHERE place = ? ORDER BY id DESC LIMIT 1", (place,))
    if rows and abs(temperature - rows[0]["set_temperature"]) > FAR:
        print(
            f"  {temperature:g} °C is far from the {rows[0]['set_temperature']:g} °C that {place} is set to: if the "
            "thermometer shows °F, take it back (`chillplan batch undo`) and pass --unit F"
        )


def short_words(journal: Journal, reference: str, day: date) -> str:
    """What the running phase of a batch lacks of its low end; empty where it lacks nothing."""
    from chillplan.journal.find import find_batch

    number = find_batch(journal, reference, open_only=True).number
    for state in _states(journal, day, number):
        if state.progress is not None and state.plan is not None and state.progress.done < state.plan.days[0]:
            low, high = state.plan.days
            return (
                f"Its {state.phase} phase has {state.progress.done:.0f} of {low:g} to {high:g} days: if that was a "
                "slip, take it back with `chillplan batch undo`."
            )
    return ""


def print_if_unsuited(journal: Journal, reference: str, day: date) -> None:
    """Say where a batch lies now, and whether the place suits the phase that runs."""
    from chillplan.advice.care import place_note
    from chillplan.journal.find import find_batch

    batch = find_batch(journal, reference)
    (state,) = _states(journal, day, batch.number)
    assert state.plan is not None
    print(f"  in {batch.place} at {batch.set_temperature:g} °C")
    note = place_note(state.phase, state.plan.response, state.plan.temperature, batch.set_temperature)
    if note:
        print(f"  {note}")


def print_place(journal: Journal, place: str, day: date) -> None:
    """Print what the readings of a place mean for each batch that lies there."""

    for state in _states(journal, day):
        if state.place == place and state.progress is not None and state.plan is not None:
            print(f"{state.code} {state.species}")
            print_progress(state.progress, state.phase, state.plan.days)
    print(ASSUMED)


def print_after_check(journal: Journal, number: int, day: date) -> None:
    """Confirm a check, and advise."""
    from chillplan.journal.find import find_batch

    (state,) = _states(journal, day, number)
    print(
        f"{state.code} {shown(state.species)}: {state.last_finding} on {state.last_check}; next look {state.next_check}"
    )
    print_advice(advice_for(journal, find_batch(journal, state.code), state, day))


def advice_for(journal: Journal, batch: Batch, state: BatchState, day: date) -> tuple[Advice, ...]:
    """What to do about what the last check found."""
    from chillplan.advice.care import drying_advice, mould_advice, sprout_advice

    share = state.progress.done / state.plan.days[1] if state.progress and state.plan and state.plan.days[1] else 0.0
    if state.last_finding == "dry":
        return drying_advice(share)
    recent = journal.rows("SELECT * FROM checks WHERE batch = ? ORDER BY date DESC, id DESC", (batch.number,))
    if state.last_finding == "mould":
        times = next((place for place, row in enumerate(recent) if row["finding"] != "mould"), len(recent))
        return mould_advice(times)
    if state.last_finding == "sprouted":
        total = sum(row["sprouted"] or 0 for row in recent)
        return sprout_advice(recent[0]["stage"], total, batch.seeds, day, batch.frost_free, batch.plant_out)
    return ()


def print_advice(advice: tuple[Advice, ...]) -> None:
    """Print what to do, why, and on what authority."""
    for one in advice:
        print(f"  - {one.action}\n    {one.reason} [{one.standing}]")


def _print_batch(journal: Journal, batch: Batch, day: date) -> None:
    """Print one batch: steps, chill, checks, advice."""
    label = f" '{batch.label}'" if batch.label else ""
    seeds = f", {counted(batch.seeds, 'seed')}" if batch.seeds else ""
    print(f"{batch.code}{label} {batch.species}{seeds}; {batch.place} at {batch.set_temperature:g} °C")
    print_steps(journal, batch.number)
    for name, value in (("source", batch.source), ("note", batch.note)):
        if value:
            print(f"  {name}: {value}")
    if batch.closed_on is not None:
        print(f"  closed {batch.closed_on}: {batch.outcome}")
        return

    (state,) = _states(journal, day, batch.number)
    if state.progress is not None and state.plan is not None:
        print_progress(state.progress, state.phase, state.plan.days)
    if asleep := asleep_words(state):
        print(f"  {asleep}")
    for row in journal.rows(
        "SELECT * FROM checks WHERE batch = ? ORDER BY date DESC, id DESC LIMIT 10", (batch.number,)
    ):
        number = f" {row['sprouted']}" if row["sprouted"] is not None else ""
        said = " ".join(part for part in (row["stage"], row["note"]) if part)
        print(f"  looked {row['date']}: {row['finding']}{number} {said}".rstrip())
    print(f"  next look {state.next_check}")
    print_advice(advice_for(journal, batch, state, day))
    print(ASSUMED)


def _print_sowing(sowing: Sowing) -> None:
    """Print the line of one sowing."""
    up = "not counted yet" if sowing.emerged is None else f"{sowing.emerged} up on {sowing.counted_on}"
    place = f" at {sowing.site}" if sowing.site else ""
    print(f"{sowing.code:<6} {sowing.species:<32} {counted(sowing.seeds, 'seed')} sown {sowing.sown_on}{place}; {up}")


def _print_overview(journal: Journal, day: date, everything: bool) -> None:
    """Print a line for each batch and each sowing."""
    from chillplan.journal.find import list_batches, list_sowings

    states = {state.number: state for state in _states(journal, day)}
    batches = list_batches(journal, everything)
    for batch in batches:
        print(f"{batch.code:<6} {batch.species:<32} {_progress_words(batch, states.get(batch.number))}")
    for sowing in list_sowings(journal):
        _print_sowing(sowing)
    if not batches:
        print("No open batch. Begin one with `chillplan batch start`.")


def _progress_words(batch: Batch, state: BatchState | None) -> str:
    if state is None:
        return f"closed {batch.closed_on}: {batch.outcome}"
    last = f"{state.last_finding} on {state.last_check}" if state.last_check else "not looked at yet"
    if state.fading is not None:
        return f"kept warm, {state.undone:.0f} cold days undone since finished; {last}; next look {state.next_check}"
    if state.progress is None or state.plan is None:
        return f"in {batch.place}; {last}; next look {state.next_check}"
    if state.progress.done >= state.plan.days[1]:
        done = f"{state.phase} done since {state.progress.finish}"
    else:
        finish = state.progress.finish or "not in sight"
        done = f"{state.phase} {state.progress.done:.0f} of {state.plan.days[1]:.0f} days, finish {finish}"
    return f"{done}; {last}; next look {state.next_check}"


def _states(journal: Journal, day: date, number: int | None = None) -> list[BatchState]:
    """How far the open batches are, looked at on the day of the week that the site file names."""
    from chillplan.cli.home import looking_day_at_home
    from chillplan.journal.due import batch_states

    return batch_states(journal, day, number, looking_day=looking_day_at_home())


def _batch_rows(journal: Journal, day: date, everything: bool, chosen: Batch | None) -> list[dict[str, object]]:
    """Batches as flat rows for JSON and CSV."""
    from chillplan.journal.find import list_batches

    states = {state.number: state for state in _states(journal, day)}
    batches = list_batches(journal, everything) if chosen is None else [chosen]
    return [_flat(batch, states.get(batch.number)) for batch in batches]


def _flat(batch: Batch, state: BatchState | None) -> dict[str, object]:
    progress = state.progress if state else None
    plan = state.plan if state else None
    return {
        "batch": batch.code,
        "label": batch.label,
        "species": batch.species,
        "place": batch.place,
        "seeds": batch.seeds,
        "started_on": batch.started_on.isoformat(),
        "phase": state.phase if state else None,
        "days_low": plan.days[0] if plan else None,
        "days_high": plan.days[1] if plan else None,
        "done": round(progress.done, 2) if progress else None,
        "measured_days": progress.measured if progress else None,
        "assumed_days": progress.assumed if progress else None,
        "finish": progress.finish.isoformat() if progress and progress.finish else None,
        "moved_days": progress.moved if progress else None,
        "days_lost_out_of_range": round(sum(spell.cost for spell in progress.spells), 2) if progress else None,
        "days_undone_since_finished": round(state.undone, 2) if state else None,
        "last_check": state.last_check.isoformat() if state and state.last_check else None,
        "last_finding": state.last_finding if state else None,
        "next_check": state.next_check.isoformat() if state else None,
        "closed_on": batch.closed_on.isoformat() if batch.closed_on else None,
        "outcome": batch.outcome,
    }
