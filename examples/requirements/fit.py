"""Fits the rule that turns advised lengths of cold into a lot of seed, and judges it on species and papers left out.

Run from anywhere: ``python examples/requirements/fit.py``. Reads ``trials.csv`` beside it and the species table.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from dataclasses import astuple, dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.stats import spearmanr

from chillplan.cli.catalogue_files import built_in_catalogue
from chillplan.seeds.columns import is_deep
from chillplan.seeds.recipe import COLD_RESPONSE
from chillplan.seeds.requirement import RULE, TENTH, Lot, Rule, Seen, drawn, rising

HERE = Path(__file__).parent
WARM = 12.0  # a phase at or above this is a warm one [°C]
LEAST_BEST = 0.25  # a paper in which less came up at best says little of cold [-]
WHOLE = 0.995  # a share of the best that is the best itself [-]
FITTED = ("need", "need_longer", "need_few", "need_deep", "spread")
GUESS = replace(RULE, need=0.6, need_longer=0.5, need_few=-0.9, need_deep=0.4, spread=36.0)
"""Where the fit is drawn to: of seed that sources advise cold for, a quarter needs none and seven tenths have enough
after the shorter length (shares over 49 species, of which 22 are here)."""
DOUBT = (0.5, 0.3, 0.45, 0.5, 12.0)
"""How far each figure may move from there, as a standard deviation. Our choice."""


@dataclass(frozen=True)
class Paper:
    """What one paper saw of one species, with what was advised for it before."""

    species: str
    name: str
    low: float
    high: float
    deep: bool
    seen: tuple[Seen, ...]
    half_above: float
    half_at_most: float


Model = Callable[[Paper], Lot]


def papers() -> list[Paper]:
    """The trials of the table that vary cold alone, or follow the advised warmth."""
    dormancy = {species.name: species.dormancy for species in built_in_catalogue()}
    with (HERE / "trials.csv").open(encoding="utf-8") as table:
        return [_paper(row, is_deep(dormancy[row["species"]])) for row in csv.DictReader(table)]


def _paper(row: dict[str, str], deep: bool) -> Paper:
    found = re.search(r"cold ([\d.]+)-([\d.]+)", row["advised"])
    assert found, row
    low, high, warm = float(found[1]), float(found[2]), "warm" in row["advised"]
    results = [part.rsplit(":", 1) for part in row["results"].split(";")]
    best = max(float(row["best"] or 0.0), *(float(share) for _, share in results))
    seen = [
        Seen(days, min(float(share) / best, 1.0))
        for what, share in results
        if best >= LEAST_BEST and (days := _cold_days(what, warm)) is not None
    ]
    if len({one.days for one in seen}) == 1 and min(one.share for one in seen) > WHOLE:
        seen = []  # the one length tried is the best of what was tried, however little of the seed was ready
    return Paper(
        row["species"],
        row["paper"],
        low,
        high,
        deep or warm,
        tuple(seen),
        float(row["half_needs_more_than"] or -1.0),
        float(row["half_needs_at_most"] or np.inf),
    )


def _cold_days(what: str, warm_advised: bool) -> float | None:
    """Days of cold that count in full; None where the treatment is another than cold after what is advised."""
    if what.strip() == "none":
        return 0.0
    phases = [(float(days), float(held)) for days, held in re.findall(r"([\d.]+) d at ([\d.]+) C", what)]
    warm_first = len(phases) == 2 and phases[0][1] >= WARM > phases[1][1]
    if len(phases) != 1 + warm_first or phases[-1][1] >= WARM or (warm_advised and not warm_first):
        return None
    response = (COLD_RESPONSE.zero_low, COLD_RESPONSE.full_low, COLD_RESPONSE.full_high, COLD_RESPONSE.zero_high)
    return phases[-1][0] * float(np.interp(phases[-1][1], response, (0.0, 1.0, 1.0, 0.0)))


def fitted(trials: Sequence[Paper]) -> Rule:
    """The rule with the least squares, species weighing alike and their papers alike within them."""

    def rule(figures: NDArray[np.floating]) -> Rule:
        return replace(GUESS, **dict(zip(FITTED, map(float, figures), strict=True)))

    weights = _weights(trials)
    guess = np.array([getattr(GUESS, name) for name in FITTED])

    def cost(figures: NDArray[np.floating]) -> float:
        one, total = rule(figures), np.sum(((figures - guess) / DOUBT) ** 2)
        for paper, weight in zip(trials, weights, strict=True):
            total += weight * np.sum(_errors(one.lot(paper.low, paper.high, paper.deep), paper) ** 2)
        return float(total)

    return rule(minimize(cost, guess, method="Nelder-Mead", options={"maxiter": 1500}).x)


def _weights(trials: Sequence[Paper]) -> list[float]:
    species = [paper.species for paper in trials if paper.seen]
    return [1.0 / (species.count(paper.species) * len(paper.seen)) if paper.seen else 0.0 for paper in trials]


def _errors(lot: Lot, paper: Paper) -> NDArray[np.floating]:
    """Predicted less observed share of every result."""
    days, shares = np.array(paper.seen).reshape(-1, 2).T
    return lot.ready(days) - shares


def advised_as_lot(paper: Paper) -> Lot:
    """Advised lengths taken for the 10th and the 90th percentile."""
    deviation = max((paper.high - paper.low) / (2.0 * TENTH), 1.0)
    return Lot((paper.low + paper.high) / 2.0 / deviation, deviation)


def without_species(trials: Sequence[Paper]) -> dict[str, Rule]:
    """The rule fitted without each species."""
    return {name: fitted([paper for paper in trials if paper.species != name]) for name in _names(trials)}


def _names(trials: Sequence[Paper]) -> list[str]:
    return sorted({paper.species for paper in trials})


def with_other_papers(rules: dict[str, Rule], trials: Sequence[Paper]) -> Model:
    """The rule without a species, drawn by its other papers."""

    def model(paper: Paper) -> Lot:
        rule = rules[paper.species]
        others = [other for other in trials if other.species == paper.species and other is not paper]
        seen = rising(one for other in others for one in other.seen)
        return drawn(rule, rule.lot(paper.low, paper.high, paper.deep), seen)

    return model


def drawn_by_itself(rules: dict[str, Rule]) -> Model:
    """The most that a lot can fit: drawn by the very results that it is held against. No judgement of the rule."""

    def model(paper: Paper) -> Lot:
        rule = rules[paper.species]
        return drawn(rule, rule.lot(paper.low, paper.high, paper.deep), tuple(sorted(paper.seen)))

    return model


def score(name: str, model: Model, trials: Sequence[Paper]) -> str:
    """One line: mean and absolute error over papers, rank correlation over results, halves within a paper's bounds."""
    used = [paper for paper in trials if paper.seen]
    errors = [_errors(model(paper), paper) for paper in used]
    mean, absolute = np.mean([one.mean() for one in errors]), np.mean([np.abs(one).mean() for one in errors])
    observed = np.array([one.share for paper in used for one in paper.seen])
    rank = spearmanr(observed + np.concatenate(errors), observed)[0]
    bounded = [paper for paper in trials if paper.half_above >= 0.0 or np.isfinite(paper.half_at_most)]
    halves = [max(lot.need * lot.spread, 0.0) for lot in map(model, bounded)]
    bounds = [(paper.half_above, paper.half_at_most) for paper in bounded]
    within = [(low < half or low < 0.0) and half <= high for half, (low, high) in zip(halves, bounds, strict=True)]
    return f"{name:52s} {mean:+.2f} {absolute:9.2f} {rank:6.2f} {sum(within):6d} of {len(within)}"


def main() -> None:
    """Print the fitted rule and how it does."""
    trials = papers()
    rules = without_species(trials)
    left_out, with_others = with_other_papers(rules, []), with_other_papers(rules, trials)
    used = [paper for paper in trials if paper.seen]
    print(f"{sum(len(p.seen) for p in used)} results of {len(used)} papers on {len(_names(used))} species")
    print("fitted on all:", ", ".join(f"{n} {v:.2f}" for n, v in zip(FITTED, astuple(fitted(trials)), strict=False)))
    print("built in:     ", ", ".join(f"{n} {getattr(RULE, n):.2f}" for n in FITTED))
    print(f"{'':52s} mean  absolute   rank   half within")
    print(score("advised lengths as 10th and 90th percentile", advised_as_lot, trials))
    print(score("the rule, each species left out of its fit", left_out, trials))
    print(score("the same, drawn by the species' other papers", with_others, trials))
    several = [paper for paper in trials if sum(p.species == paper.species and bool(p.seen) for p in trials) > 1]
    print(score("the same, species with several papers", with_others, several))
    print(score("for comparison: drawn by the paper itself", drawn_by_itself(rules), trials))


if __name__ == "__main__":
    main()
