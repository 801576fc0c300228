"""Whether a verdict hangs on the edges of the response to cold, which are not well known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, replace

from chillplan.advice.verdict import Decision, Judge, decide
from chillplan.advice.wording import verdict_words, winters_words
from chillplan.seasons.response import EDGES, Edge
from chillplan.seeds.recipe import COLD_RESPONSE, Phase, Recipe, Response, Species

__all__ = ["AtEdge", "hangs_on", "turns"]


@dataclass(frozen=True)
class AtEdge:
    """What a verdict would turn to, were an edge of the response elsewhere."""

    edge: Edge
    verdict: str
    good: int
    winters: int

    @property
    def words(self) -> str:
        """The end of a sentence."""
        return f"to {verdict_words(self.verdict)} if {self.edge.words} ({winters_words(self.good, self.winters)})"

    @property
    def as_json(self) -> Mapping[str, str | int]:
        """The same as plain values."""
        return {
            "edge": self.edge.side,
            "if": self.edge.words,
            "verdict": self.verdict,
            "good_winters": self.good,
            "winters": self.winters,
        }


def hangs_on(judge: Judge, decision: Decision) -> tuple[AtEdge, ...]:
    """The edges that would turn a verdict; none where the response of the species is published."""
    species, lean = decision.case.species, judge.lean
    if not any(phase.response == COLD_RESPONSE for recipe in species.recipes for phase in recipe.phases):
        return ()
    found = ((edge, decide(lean, _with_edge(species, edge))) for edge in EDGES)
    return tuple(
        AtEdge(edge, other.verdict, other.good, other.winters)
        for edge, other in found
        if other.verdict != decision.verdict
    )


def turns(hangs: Sequence[AtEdge]) -> tuple[str, ...]:
    """What the edges would turn a verdict to, as one sentence; none without any."""
    if not hangs:
        return ()
    return (
        f"It hangs on edges of chill that are not well known: it would turn {', '.join(at.words for at in hangs)}.",
    )


def _with_edge(species: Species, edge: Edge) -> Species:
    """The species with an edge of the usual response to cold elsewhere; lengths tried count by it as well."""
    moved = Response(*edge.moved(astuple(COLD_RESPONSE)))

    def phase_with(phase: Phase) -> Phase:
        return replace(phase, response=moved) if phase.response == COLD_RESPONSE else phase

    def recipe_with(recipe: Recipe) -> Recipe:
        return replace(recipe, phases=tuple(phase_with(phase) for phase in recipe.phases))

    return replace(species, recipes=tuple(recipe_with(recipe) for recipe in species.recipes))
