"""``plan --warming 0,2``: what a warmer climate would change, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from chillplan.cli.plain_text import print_json

if TYPE_CHECKING:
    from chillplan.advice.result import Plan
    from chillplan.cli.place import PlaceOptions
    from chillplan.cli.planning import Asked

__all__ = ["answer_warmings", "several"]

MOST = 6  # warmings asked for at once


def several(warming: str) -> bool:
    """Whether more than one warming is asked for."""
    return "," in warming


def answer_warmings(place: PlaceOptions, asked: Asked, keep: bool) -> None:
    """Plan for each warming and show the species whose verdict is not the same in all.

    Raises
    ------
    InputError
        If a plan is to be kept or written too, or too many are asked for.
    """
    from chillplan.cli.loading import tell_if_invented
    from chillplan.cli.planning import planned
    from chillplan.errors import Problems

    problems = Problems()
    degrees = [part.strip() for part in asked.warming.split(",")]
    if keep or asked.out is not None:
        problems.add(f"--warming {asked.warming} compares plans, which are neither kept nor written: give one warming")
    if len(degrees) > MOST:
        problems.add(f"--warming names {len(degrees)} warmings, at most {MOST} are compared: leave some out")
    plans: list[Plan] = []
    for degree in degrees:
        made, loaded = planned(place, replace(asked, warming=degree), problems)
        plans.append(made)
    rows = changed(plans)
    if asked.format == "json":
        print_json({"schema": 1, "warming": [plan.warming for plan in plans], "unchanged": _same(plans, rows),
                    "changes": [{"name": name, "verdicts": verdicts} for name, verdicts in rows.items()]})  # fmt: skip
        return
    if asked.format == "csv":
        from chillplan.report.rows import csv_text

        header = ("species", *(f"warming_{plan.warming:g}" for plan in plans))
        print(csv_text(header, [(name, *verdicts) for name, verdicts in rows.items()]), end="")
        return
    from chillplan.report.reader import reader_for
    from chillplan.report.tables_lists import print_warmings

    tell_if_invented(loaded)
    print_warmings(plans, rows, _same(plans, rows), reader_for(asked.units, asked.dates))


def changed(plans: list[Plan]) -> dict[str, list[str]]:
    """Verdicts in words, by the names of the species whose verdict is not the same in every plan."""
    from chillplan.report.when_words import shown_verdict

    found = {}
    for advices in zip(*(plan.species for plan in plans), strict=True):
        said = [
            "too cold for the plant" if advice.killed else shown_verdict(plan, advice)
            for plan, advice in zip(plans, advices, strict=True)
        ]
        if len(set(said)) > 1:
            found[advices[0].species.common_name or advices[0].species.name] = said
    return found


def _same(plans: list[Plan], rows: dict[str, list[str]]) -> int:
    return len(plans[0].species) - len(rows)
