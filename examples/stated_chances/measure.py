"""Stated chances of a good winter held against trials and thermometers together.

Run from anywhere: ``CHILLPLAN_OBSERVATIONS=... python examples/stated_chances/measure.py``

What is stated knows neither the place nor the species: the ground is modelled with the parameters fitted without the
station's group, the lot is that of the rule fitted without the species, and the chance of a winter is taken from the
station's other winters. What came true is the thermometer of that winter under the lot that a trial of the species saw.
"""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

EXAMPLES = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(EXAMPLES.parent), str(EXAMPLES / "seed_zone_model")]

from records import Records, read_records  # noqa: E402
from scores import BINS, left_out  # noqa: E402

from chillplan.advice.rules import possibilities  # noqa: E402
from chillplan.cli.catalogue_files import built_in_catalogue  # noqa: E402
from chillplan.physics.model_error import model_error  # noqa: E402
from chillplan.seeds.catalogue import find_species  # noqa: E402
from chillplan.seeds.recipe import LOTS_READ, Germination, Phase, Recipe  # noqa: E402
from chillplan.seeds.requirement import Lot, lot_needing  # noqa: E402
from chillplan.seeds.simulate import simulate  # noqa: E402
from chillplan.seeds.two_winters import TwoWinters  # noqa: E402

SOWN = (61, 122, 153)  # 1 November, 1 January and 1 February in a winter from 1 September [day]
NEW_YEAR = 122  # what is up before has sprouted in autumn [day]
TARGET = 0.5
FEWEST_WINTERS = 5

BoolArray = NDArray[np.bool_]


class Case(NamedTuple):
    """A species at a station: chances stated, and what came true, by sowing date and winter."""

    species: str
    stated: NDArray[np.floating]
    true: NDArray[np.floating]
    ground_alone: NDArray[np.floating]
    lot_alone: NDArray[np.floating]


def requirements() -> ModuleType:
    """The fit of the rule, from its own example."""
    spec = importlib.util.spec_from_file_location("requirements_fit", EXAMPLES / "requirements/fit.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def winters_of(temperature: NDArray[np.floating]) -> TwoWinters:
    """Winters side by side, moist throughout; shape (day, winter)."""
    moist = np.ones(temperature.shape, dtype=bool)
    return TwoWinters(temperature, moist, temperature, temperature.shape[0] - 1)


def good(winters: TwoWinters, recipe: Recipe, germination: Germination) -> BoolArray:
    """Whether half of the living seed is up between New Year and the end of May; shape (sowing, winter)."""
    emergence = simulate(winters, recipe.phases, germination, np.array(SOWN, dtype=np.int32)).emergence
    up = (emergence >= NEW_YEAR) & (emergence < winters.temperature.shape[0])
    return np.asarray(up.mean(axis=0) >= TARGET)


def recipe_of(lot: Lot, variation: float = 0.0) -> Recipe:
    """Cold alone, as a lot needs it."""
    return Recipe("", phases=(Phase("cold", lot.span, variation=variation),))


def stated_chances(
    model: NDArray[np.floating], lot: Lot, germination: Germination, deviation: float
) -> NDArray[np.floating]:
    """Chance of each winter, as the plan counts it, from the other winters alone; shape (sowing, winter)."""
    recipe, winters = recipe_of(lot, LOTS_READ), winters_of(model)
    total = np.zeros((len(SOWN), model.shape[1]))
    for case in possibilities(deviation):
        found = good(winters.shifted(case.offset), lot_needing(recipe, case.lot), germination)
        others = (found.sum(axis=1, keepdims=True) - found) / (found.shape[1] - 1)
        total += case.weight * others
    return total


def spans_of(records: Records) -> dict[int, list[slice]]:
    """Usable winters of each station that has enough of them, all of the same length."""
    found: dict[int, list[slice]] = {}
    for station, span in records.winters():
        found.setdefault(station, []).append(slice(span.start, span.start + 273))
    return {station: spans for station, spans in found.items() if len(spans) >= FEWEST_WINTERS}


def cases(records: Records) -> Iterator[Case]:
    """Every species of the trials that asks for cold alone, at every station."""
    fit = requirements()
    trials = [paper for paper in fit.papers() if paper.seen]
    rules = fit.without_species(trials)
    model, _ = left_out(records, "with")
    deviation, catalogue = model_error(True).together, built_in_catalogue()
    judged: dict[str, list[Any]] = {}
    for paper in trials:
        judged.setdefault(paper.species, []).append(paper)
    plain = {name: papers for name, papers in judged.items() if not _warmth_first(catalogue, name)}
    for station, spans in spans_of(records).items():
        modelled = np.stack([model[station, span] for span in spans], axis=1)
        soil = np.stack([records.soil[station, span] for span in spans], axis=1)
        soil = np.where(np.isfinite(soil), soil, modelled)
        for name, papers in plain.items():
            germination = find_species(catalogue, name).germination
            lot = rules[name].lot(papers[0].low, papers[0].high, papers[0].deep)
            of_trials = [recipe_of(fit.drawn_by_itself(rules)(paper)) for paper in papers]
            seen, said = winters_of(soil), winters_of(modelled)
            yield Case(
                name,
                stated_chances(modelled, lot, germination, deviation),
                np.mean([good(seen, recipe, germination) for recipe in of_trials], axis=0),
                good(seen, recipe_of(lot), germination).astype(float),
                np.mean([good(said, recipe, germination) for recipe in of_trials], axis=0),
            )


def _warmth_first(catalogue: Any, name: str) -> bool:
    return any(phase.kind == "warm" for phase in find_species(catalogue, name).recipe.phases)


def main() -> None:
    """Print the table, every species weighing alike."""
    found = list(cases(read_records()))
    names = sorted({case.species for case in found})
    weight = np.concatenate([np.full(case.stated.size, 1.0 / _size(found, case.species)) for case in found])
    stated, true, ground, lot = (
        np.concatenate([getattr(case, part).ravel() for case in found])
        for part in ("stated", "true", "ground_alone", "lot_alone")
    )
    print(f"{len(names)} species: {', '.join(names)}; {stated.size} sowings")
    print("| stated chance | sowings | mean stated | came true | thermometers alone | trials alone |")
    print("|---|---|---|---|---|---|")
    for low, high in BINS:
        here = (stated >= low) & (stated < high)
        shares = [f"{np.average(part[here], weights=weight[here]):.0%}" for part in (stated, true, ground, lot)]
        print(f"| {100 * low:.0f} to {min(100 * high, 100):.0f} % | {here.sum()} | {' | '.join(shares)} |")


def _size(found: list[Case], name: str) -> int:
    return sum(case.stated.size for case in found if case.species == name)


if __name__ == "__main__":
    main()
