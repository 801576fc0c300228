"""What the grower enters: each function is one entry, recorded whole or not at all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from chillplan.errors import InputError, Problems, quoted
from chillplan.journal.find import Batch, find_batch, find_sowing, setting_of
from chillplan.journal.kept import KeptTask, tick, tick_batch
from chillplan.journal.records import (
    FINDINGS,
    STAGES,
    BatchStart,
    Look,
    Reading,
    SowingEntry,
    Treatment,
    checked_day,
    checked_setting,
    checked_temperature,
    clean_text,
)
from chillplan.journal.store import Journal, Value, Writer

__all__ = [
    "ReadingsAdded",
    "add_checks",
    "add_count",
    "add_readings",
    "add_sowing",
    "close_batch",
    "next_phase",
    "start_batch",
]


@dataclass(frozen=True)
class ReadingsAdded:
    """What came of a set of readings."""

    new: int  # recorded now
    known: int  # already in the journal, left alone
    # of the set
    first: datetime | None
    last: datetime | None


def start_batch(journal: Journal, start: BatchStart, now: datetime, task: KeptTask | None = None) -> int:
    """Begin a batch, with a new lot unless one is named; a task of the kept plan is done with it.

    Returns
    -------
    int
        Number of the batch; shown as ``B`` and the number.

    Raises
    ------
    InputError
        With every wrong value; nothing is recorded then.
    """
    start.problems(now.date()).raise_if_any()
    if start.label and journal.rows("SELECT 1 FROM batches WHERE label = ?", (start.label.strip(),)):
        raise InputError(f"label {quoted(start.label)} is already used: choose another")
    with journal.entry(f"start a batch of {start.species}", now) as writer:
        lot = start.lot or writer.insert(
            "lots", {"species": start.species.strip(), "source": start.source.strip(), "year": start.year}
        )
        batch = writer.insert(
            "batches",
            {
                "lot": lot,
                "label": start.label.strip(),
                "place": start.place.strip(),
                "set_temperature": start.set_temperature,
                "seeds": start.seeds,
                "started_on": start.started_on,
                "plant_out": start.plant_out,
                "frost_free": start.frost_free,
                "check_every": start.check_every,
                "note": start.note.strip(),
            },
        )
        for position, treatment in enumerate(start.treatments):
            _write_treatment(writer, batch, position, treatment)
        if task is not None:
            tick(writer, task, start.started_on, _whole(start.seeds, task))
    return batch


def _write_treatment(writer: Writer, batch: int, position: int, treatment: Treatment) -> None:
    days = treatment.days or (None, None)
    temperature = treatment.temperature or (None, None)
    response = treatment.response or (None, None, None, None)
    values: dict[str, Value] = {
        "batch": batch,
        "position": position,
        "kind": treatment.kind,
        "started_on": treatment.started_on,
        "ended_on": treatment.ended_on,
        "reversal": treatment.reversal,
        "detail": treatment.detail,
    }
    values |= dict(zip(("days_low", "days_high"), days, strict=True))
    values |= dict(zip(("temperature_low", "temperature_high"), temperature, strict=True))
    values |= dict(zip(("zero_low", "full_low", "full_high", "zero_high"), response, strict=True))
    writer.insert("treatments", values)


def add_checks(
    journal: Journal,
    looks: Sequence[Look],
    now: datetime,
    note: str = "",
    day: date | None = None,
    frost_free: date | None = None,
) -> list[int]:
    """Record the looks of one day, as one entry.

    Parameters
    ----------
    looks : sequence of Look
    day : datetime.date or None
        When it was; None is today.
    frost_free : datetime.date or None
        Day after which killing frost is unlikely, kept with the batches; None leaves what is known.

    Returns
    -------
    list of int
        Numbers of the batches.

    Raises
    ------
    InputError
        If a value is wrong or a batch is not open; nothing is recorded then.
    """
    problems = Problems()
    batches, seen = [], day or now.date()
    for look in looks:
        try:
            batch = find_batch(journal, look.reference, open_only=True)
            checked_day("check", seen, now.date(), batch.started_on, f"the start of {batch.code}")
            _check_look(problems, look, batch)
            batches.append(batch)
        except InputError as error:
            problems.extend(error)
    problems.raise_if_any()
    words = ", ".join(
        f"{batch.code}: {look.finding}{'' if look.sprouted is None else f' {look.sprouted}'}"
        for batch, look in zip(batches, looks, strict=True)
    )
    with journal.entry(f"check {words}", now) as writer:
        for batch, look in zip(batches, looks, strict=True):
            values: dict[str, Value] = {"batch": batch.number, "date": seen, "finding": look.finding}
            values |= {"sprouted": look.sprouted, "stage": look.stage, "note": clean_text("note", note)}
            writer.insert("checks", values)
            if frost_free is not None:
                writer.update("batches", batch.number, {"frost_free": frost_free})
    return [batch.number for batch in batches]


def _check_look(problems: Problems, look: Look, batch: Batch) -> None:
    finding, sprouted = look.finding, look.sprouted
    if finding not in FINDINGS:
        problems.add(f"finding {quoted(finding)} is not known: use one of {', '.join(FINDINGS)}")
    if finding == "sprouted" and sprouted is None:
        problems.add("sprouted needs the number of seeds: for example `sprouted 7`")
    if finding != "sprouted" and sprouted is not None:
        problems.add(f"number {sprouted} after {finding} is not needed: give it after sprouted only")
    if sprouted is not None and sprouted < 1:
        problems.add(f"sprouted {sprouted} is not a number of seeds: give 1 or more, or enter fine")
    if sprouted is not None and batch.seeds is not None and sprouted > batch.seeds:
        problems.add(f"sprouted {sprouted} is more than the {batch.seeds} seeds of {batch.code}: check the number")
    if look.stage and look.stage not in STAGES:
        problems.add(f"stage {quoted(look.stage)} is not known: use one of {', '.join(STAGES)}")


def add_readings(journal: Journal, place: str, readings: Iterable[Reading], now: datetime) -> ReadingsAdded:
    """Record temperatures of a place; those already there are left alone, so that a logger can be imported again.

    Raises
    ------
    InputError
        If a value is outside -60 to 70 °C or a time is in the future.
    """
    place = clean_text("place", place, needed=True)
    entered = sorted({(reading.at.isoformat(timespec="seconds"), float(reading.temperature)) for reading in readings})
    if not entered:
        return ReadingsAdded(0, 0, None, None)
    for _, temperature in entered:
        checked_temperature(temperature)
    first, last = datetime.fromisoformat(entered[0][0]), datetime.fromisoformat(entered[-1][0])
    checked_day("reading", last.date(), now.date())
    there = journal.rows(
        "SELECT at, temperature FROM readings WHERE place = ? AND at BETWEEN ? AND ?",
        (place, entered[0][0], entered[-1][0]),
    )
    known = {(row["at"], row["temperature"]) for row in there}
    new = [pair for pair in entered if pair not in known]
    if new:
        with journal.entry(f"temperatures of {place}: {len(new)}", now) as writer:
            for at, temperature in new:
                writer.insert("readings", {"place": place, "at": at, "temperature": temperature})
    return ReadingsAdded(len(new), len(entered) - len(new), first, last)


def next_phase(
    journal: Journal,
    reference: str,
    now: datetime,
    day: date | None = None,
    place: str | None = None,
    set_temperature: float | None = None,
    task: KeptTask | None = None,
) -> str:
    """End the phase a batch is in and begin the next; returns what began, or an empty text after the last.

    Parameters
    ----------
    reference : str
        ``B12``, ``12`` or the batch's label.
    day : datetime.date or None
        When it was; None is today.
    place, set_temperature : str and float, or None
        Where it lies from now on, and what that place is set to; None where it stays, or as it was set last. [°C]

    Raises
    ------
    InputError
        If the batch is not open, no phase is running, or the place cannot be.
    """
    lies: dict[str, Value] = {}
    if place is not None:
        lies["place"] = clean_text("place", place, needed=True)
    if set_temperature is not None:
        lies["set_temperature"] = checked_setting(set_temperature)
    elif place is not None and (known := setting_of(journal, place)) is not None:
        lies["set_temperature"] = known
    batch = find_batch(journal, reference, open_only=True)
    moved = checked_day("move", day or now.date(), now.date(), batch.started_on, f"the start of {batch.code}")
    waiting = journal.rows(
        "SELECT id, kind, started_on FROM treatments WHERE batch = ? AND ended_on IS NULL AND days_high IS NOT NULL "
        "ORDER BY position",
        (batch.number,),
    )
    running = [row for row in waiting if row["started_on"] is not None]
    if not running:
        raise InputError(f"{batch.code} has no running phase: see `chillplan batch list {batch.code}`")
    following = next((row for row in waiting if row["started_on"] is None), None)
    begun = following["kind"] if following is not None else ""
    with journal.entry(f"move {batch.code} on from {running[0]['kind']} to {begun or 'the end'}", now) as writer:
        writer.update("treatments", running[0]["id"], {"ended_on": moved})
        if following is not None:
            writer.update("treatments", following["id"], {"started_on": moved})
        if lies:
            writer.update("batches", batch.number, lies)
        if task is not None:
            tick(writer, task, moved)
    return str(begun)


def close_batch(journal: Journal, reference: str, outcome: str, now: datetime, day: date | None = None) -> int:
    """Close a batch: planted out, lost, given away; it is no longer due."""
    batch = find_batch(journal, reference, open_only=True)
    closed = checked_day("close", day or now.date(), now.date(), batch.started_on, f"the start of {batch.code}")
    with journal.entry(f"close {batch.code}: {outcome}", now) as writer:
        writer.update("batches", batch.number, {"closed_on": closed, "outcome": clean_text("outcome", outcome)})
        tick_batch(writer, batch.number, closed)
    return batch.number


def add_sowing(journal: Journal, sowing: SowingEntry, now: datetime, task: KeptTask | None = None) -> int:
    """Record seed put into the ground, from a batch, a lot or a new lot; returns the number of the sowing.

    A batch whose seed is all sown is closed with it.

    Raises
    ------
    InputError
        With every wrong value.
    """
    problems = sowing.problems(now.date())
    if sowing.batch is None and sowing.lot is None and not sowing.species.strip():
        problems.add("nothing says what was sown: give a batch such as B12, or --species")
    problems.raise_if_any()
    lot = sowing.lot
    if sowing.batch is not None:
        lot = journal.rows("SELECT lot FROM batches WHERE id = ?", (sowing.batch,))[0]["lot"]
    expected = sowing.expected or (None, None, None)
    with journal.entry(f"sow {sowing.seeds} seeds", now) as writer:
        named = "" if task is None else task.lot
        lot = lot or writer.insert("lots", {"species": sowing.species.strip(), "note": named})
        values: dict[str, Value] = {
            "lot": lot,
            "batch": sowing.batch,
            "site": sowing.site.strip(),
            "date": sowing.sown_on,
            "seeds": sowing.seeds,
            "viability": sowing.viability,
            "depth_cm": sowing.depth_cm,
            "expected_on": sowing.expected_on,
            "note": sowing.note.strip(),
        }
        values |= dict(zip(("expected_low", "expected_middle", "expected_high"), expected, strict=True))
        made = writer.insert("sowings", values)
        if sowing.batch is not None:
            _close_if_all_sown(journal, writer, sowing.batch, sowing.sown_on)
        if task is not None:
            tick(writer, task, sowing.sown_on, _whole(sowing.seeds, task))
        return made


def _whole(seeds: int | None, task: KeptTask) -> bool:
    """Whether the whole of a lot has gone one way, as far as its number is known."""
    return seeds is None or task.seeds is None or seeds >= task.seeds


def _close_if_all_sown(journal: Journal, writer: Writer, batch: int, day: date) -> None:
    """Close a batch of which no seed is left to sow."""
    held = journal.rows(
        "SELECT b.seeds, b.closed_on, (SELECT sum(seeds) FROM sowings WHERE batch = b.id) AS sown FROM batches b "
        "WHERE b.id = ?",
        (batch,),
    )[0]
    if held["seeds"] is not None and held["closed_on"] is None and held["sown"] >= held["seeds"]:
        writer.update("batches", batch, {"closed_on": day, "outcome": "all sown"})
        tick_batch(writer, batch, day)


def add_count(
    journal: Journal, reference: str, emerged: int, now: datetime, day: date | None = None, note: str = ""
) -> int:
    """Record how many seedlings of a sowing stand alive; returns the number of the sowing.

    Raises
    ------
    InputError
        If the count is negative or above the seeds sown.
    """
    sowing = find_sowing(journal, reference)
    if not 0 <= emerged <= sowing.seeds:
        raise InputError(f"count {emerged} is outside 0 to {sowing.seeds}, the seeds of {sowing.code}: count again")
    seen = checked_day("count", day or now.date(), now.date(), sowing.sown_on, f"the sowing of {sowing.code}")
    with journal.entry(f"count {sowing.code}: {emerged} up", now) as writer:
        writer.insert(
            "counts",
            {"sowing": sowing.number, "date": seen, "emerged": emerged, "note": clean_text("note", note)},
        )
    return sowing.number
