"""What an answer rests on that is not measured or not well known, and how far it moves with it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass, replace

import numpy as np

from chillplan.advice.verdict import Decision, Judge, decide
from chillplan.advice.wording import verdict_words, winters_words
from chillplan.physics.parameters import cover_named
from chillplan.seasons.cut import Seasons
from chillplan.seasons.response import EDGES, Edge
from chillplan.seasons.summary import Winters, ground_of, winters_of
from chillplan.seeds.recipe import COLD_RESPONSE, Phase, Recipe, Response, Species
from chillplan.site import Site

__all__ = ["AtEdge", "RestsOn", "hangs_on", "rests_on", "turns"]

MEASURED_COVER = "short grass"
DATE_AT = 10.0  # warming of the soil whose date is compared [°C]


@dataclass(frozen=True)
class RestsOn:
    """Median winter as it was reckoned, and with the other snow or the measured cover.

    Attributes
    ----------
    snow : str
        ``observed`` depth, or ``modelled``.
    chill : float
        Median effective chill. [day]
    chill_modelled_snow : float or None
        The same with modelled snow; None where the snow is modelled anyway. [day]
    chill_cover, date_cover : float or None
        Change of median effective chill, and of the median date on which the seed zone reaches 10 °C, against short
        grass; None under short grass, or where there is no such date. [day, day]
    """

    snow: str
    chill: float
    chill_modelled_snow: float | None
    cover: str
    chill_cover: float | None
    date_cover: float | None

    @property
    def sentences(self) -> tuple[str, ...]:
        """A sentence for each thing that is not measured at the site."""
        said = []
        if self.chill_modelled_snow is not None:
            said.append(
                f"Snow is the depth observed; modelled from precipitation, median effective chill would be "
                f"{self.chill_modelled_snow:.0f} days instead of {self.chill:.0f}."
            )
        if self.chill_cover is not None and not cover_named(self.cover).measured:
            date = (
                "" if self.date_cover is None else f", the date the seed zone reaches 10 °C by {self.date_cover:+.0f}"
            )
            said.append(
                f"What {self.cover} does is assumed, not measured: against {MEASURED_COVER} it moves median effective "
                f"chill by {self.chill_cover:+.0f} days{date}; a logger under it and soilcheck --calibrate would tell."
            )
        return tuple(said)

    @property
    def as_json(self) -> Mapping[str, str | float | None]:
        """The same as plain numbers."""

        def number(value: float | None) -> float | None:
            return None if value is None else round(value, 1)

        return {
            "snow": self.snow,
            "effective_chill_p50": number(self.chill),
            "effective_chill_p50_modelled_snow": number(self.chill_modelled_snow),
            "cover": self.cover,
            "cover_moves_effective_chill_days": number(self.chill_cover),
            "cover_moves_10c_date_days": number(self.date_cover),
        }


def rests_on(seasons: Seasons, site: Site, winters: Winters, warming: float = 0.0) -> RestsOn:
    """Reckon the winters again without what is not measured at the site.

    Parameters
    ----------
    winters : Winters
        Of these seasons at this site.
    warming : float
        [°C]
    """
    chill = float(np.median(winters.effective_chill))
    observed = "snow_depth" in seasons.daily
    modelled = None
    if observed:
        without = replace(seasons, daily={name: v for name, v in seasons.daily.items() if name != "snow_depth"})
        modelled = float(np.median(_winters(without, site, warming).effective_chill))
    by_chill = by_date = None
    if site.cover != MEASURED_COVER:
        grass = _winters(seasons, replace(site, cover=MEASURED_COVER), warming)
        by_chill = chill - float(np.median(grass.effective_chill))
        dates = [float(np.median(each.soil_warm[DATE_AT])) for each in (winters, grass)]
        by_date = dates[0] - dates[1] if np.isfinite(dates).all() else None
    return RestsOn("observed" if observed else "modelled", chill, modelled, site.cover, by_chill, by_date)


def _winters(seasons: Seasons, site: Site, warming: float) -> Winters:
    return winters_of(seasons, ground_of(seasons, site, warming), warming)


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
