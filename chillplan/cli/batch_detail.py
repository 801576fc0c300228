"""One batch in full, and the overview of all."""

from __future__ import annotations

from datetime import date

from chillplan.cli.batch_show import ASSUMED, advice_for, print_advice, print_progress, print_steps
from chillplan.journal.due import BatchState, batch_states
from chillplan.journal.find import Batch, Sowing, list_batches, list_sowings
from chillplan.journal.store import Journal

__all__ = ["batch_rows", "print_batch", "print_overview", "print_sowing"]


def print_batch(journal: Journal, batch: Batch, day: date) -> None:
    """Print one batch: steps, chill, checks, advice."""
    label = f" '{batch.label}'" if batch.label else ""
    seeds = f", {batch.seeds} seeds" if batch.seeds else ""
    print(f"{batch.code}{label} {batch.species}{seeds}; {batch.place} at {batch.set_temperature:g} °C")
    print_steps(journal, batch.number)
    for name, value in (("source", batch.source), ("note", batch.note)):
        if value:
            print(f"  {name}: {value}")
    if batch.closed_on is not None:
        print(f"  closed {batch.closed_on}: {batch.outcome}")
        return
    (state,) = batch_states(journal, day, batch.number)
    if state.progress is not None and state.plan is not None:
        print_progress(state.progress, state.phase, state.plan.days)
    for row in journal.rows(
        "SELECT * FROM checks WHERE batch = ? ORDER BY date DESC, id DESC LIMIT 10", (batch.number,)
    ):
        number = f" {row['sprouted']}" if row["sprouted"] is not None else ""
        said = " ".join(part for part in (row["stage"], row["note"]) if part)
        print(f"  looked {row['date']}: {row['finding']}{number} {said}".rstrip())
    print(f"  next look {state.next_check}")
    print_advice(advice_for(journal, batch, state, day))
    print(ASSUMED)


def print_sowing(sowing: Sowing) -> None:
    """Print the line of one sowing."""
    up = "not counted yet" if sowing.emerged is None else f"{sowing.emerged} up on {sowing.counted_on}"
    place = f" at {sowing.site}" if sowing.site else ""
    print(f"{sowing.code:<6} {sowing.species:<32} {sowing.seeds} seeds sown {sowing.sown_on}{place}; {up}")


def print_overview(journal: Journal, day: date, everything: bool) -> None:
    """Print a line for each batch and each sowing."""
    states = {state.number: state for state in batch_states(journal, day)}
    batches = list_batches(journal, everything)
    for batch in batches:
        print(f"{batch.code:<6} {batch.species:<32} {_progress_words(batch, states.get(batch.number))}")
    for sowing in list_sowings(journal):
        print_sowing(sowing)
    if not batches:
        print("No open batch. Begin one with `chillplan batch start`.")


def _progress_words(batch: Batch, state: BatchState | None) -> str:
    if state is None:
        return f"closed {batch.closed_on}: {batch.outcome}"
    last = f"{state.last_finding} on {state.last_check}" if state.last_check else "not looked at yet"
    if state.progress is None or state.plan is None:
        return f"in {batch.place}; {last}; next look {state.next_check}"
    if state.progress.done >= state.plan.days[1]:
        done = f"{state.phase} done since {state.progress.finish}"
    else:
        finish = state.progress.finish or "not in sight"
        done = f"{state.phase} {state.progress.done:.0f} of {state.plan.days[1]:.0f} days, finish {finish}"
    return f"{done}; {last}; next look {state.next_check}"


def batch_rows(journal: Journal, day: date, everything: bool, chosen: Batch | None) -> list[dict[str, object]]:
    """Batches as flat rows for JSON and CSV."""
    states = {state.number: state for state in batch_states(journal, day)}
    batches = list_batches(journal, everything) if chosen is None else [chosen]
    return [_row(batch, states.get(batch.number)) for batch in batches]


def _row(batch: Batch, state: BatchState | None) -> dict[str, object]:
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
        "last_check": state.last_check.isoformat() if state and state.last_check else None,
        "last_finding": state.last_finding if state else None,
        "next_check": state.next_check.isoformat() if state else None,
        "closed_on": batch.closed_on.isoformat() if batch.closed_on else None,
        "outcome": batch.outcome,
    }
