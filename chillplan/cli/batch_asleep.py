"""Finished seed that lies warm: how much of it is ready still, in plain words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chillplan.journal.chill import PhasePlan
    from chillplan.journal.due import BatchState
    from chillplan.seeds.recipe import Phase, Species
from chillplan.errors import counted

__all__ = ["asleep_words"]


def asleep_words(state: BatchState) -> str:
    """What has become of a finished batch in a warm place; empty where it has lost nothing."""
    if state.fading is None:
        return ""
    from chillplan.cli.catalogue_files import built_in_catalogue

    phase = _phase_of(state.fading, state.species, built_in_catalogue())
    ready = "" if phase is None else _ready_words(phase, state.undone)
    return (
        f"kept warm since its cold was complete: {counted(state.undone, 'day')} of it undone{ready}. What is not ready "
        f"has fallen asleep again: sow it now, or give it {state.undone:.0f} more days of cold"
    )


def _ready_words(phase: Phase, undone: float) -> str:
    from chillplan.seeds.requirement import share_ready

    complete = phase.days[1]
    now, before = share_ready(phase, complete - undone), share_ready(phase, complete)
    return f"; about {now:.0%} of the living seed is ready now, {before:.0%} was then"


def _phase_of(plan: PhasePlan, name: str, catalogue: Iterable[Species]) -> Phase | None:
    """The cold phase of the species table that a batch was begun with; None where the table has it no more."""
    phases = (
        phase
        for species in catalogue
        if species.name == name
        for recipe in species.recipes
        for phase in recipe.phases
        if phase.kind == plan.kind and phase.days == plan.days
    )
    return next(phases, None)
