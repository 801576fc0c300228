"""What counts say, against Bayes' rule written out cell by cell, and sowings whose days can be counted by hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.stats import betabinom

from chillplan.seeds.learning import (
    ENTANGLED,
    KEPT,
    KEPT_PRIOR,
    OFFSET_PRIOR,
    OFFSETS,
    Lesson,
    RequirementGrid,
    Trial,
    expected_shares,
    learn,
    requirement_grid,
)
from chillplan.seeds.recipe import Germination, Phase
from chillplan.seeds.two_winters import TwoWinters


@pytest.mark.parametrize(
    ("low", "high", "centre", "deviation", "apart", "published"),
    [
        (60.0, 90.0, 75.0, 15.0, 11.7045, (60.0, 90.0)),
        (100.0, 100.0, 100.0, 20.0, 5.0, (100.0, 100.0)),
        (0.0, 30.0, 15.0, 11.7045, 11.7045, (0.0, 30.0)),
        (0.5, 1.5, 1.0, 1.0, 1.0, (0.5, 1.5)),
        (-30.0, -10.0, -20.0, 7.80304, 7.80304, (0.0, 0.0)),
    ],
)
def test_the_grid_by_hand(
    low: float, high: float, centre: float, deviation: float, apart: float, published: tuple[float, float]
) -> None:
    """A fifth of the mean, or the spread, or a day; the spread from the range, a twentieth of its end, or a day."""
    grid = requirement_grid(low, high)
    assert grid.means == pytest.approx(np.maximum(centre + deviation * np.linspace(-3.0, 3.0, 31), 0.0), rel=1e-4)
    assert grid.spreads == pytest.approx(apart * np.exp([-0.8, -0.4, 0.0, 0.4, 0.8]), rel=1e-4)
    assert grid.published == published
    assert grid.prior[15, 2] / grid.prior[25, 2] == pytest.approx(np.exp(2.0))
    assert grid.prior[15, 2] / grid.prior[15, 4] == pytest.approx(np.exp(2.0))
    assert grid.low.min() >= 0.0


def test_the_priors_by_hand() -> None:
    assert np.diff(OFFSETS) == pytest.approx([0.6] * 8)
    assert OFFSET_PRIOR[4] / OFFSET_PRIOR[6] == pytest.approx(np.exp(0.5 * (1.2 / 1.1) ** 2))
    assert pytest.approx(np.arange(1, 11) / 10.0) == KEPT
    assert KEPT_PRIOR[4] / KEPT_PRIOR[9] == pytest.approx(0.5**3 * 0.55 / 0.05)


def made_grid(means: list[float], spreads: list[float], published: tuple[float, float]) -> RequirementGrid:
    prior = np.outer(np.arange(1.0, len(means) + 1.0), np.arange(2.0, len(spreads) + 2.0))
    return RequirementGrid(np.array(means), np.array(spreads), prior / prior.sum(), published)


def test_counts_of_two_species_are_bayes_rule_written_out() -> None:
    draw = np.random.default_rng(2)
    grids = {
        "a": made_grid([40.0, 60.0, 80.0], [5.0, 10.0], (45.0, 75.0)),
        "b": made_grid([5.0, 15.0], [4.0, 8.0], (0.0, 20.0)),
    }
    counts = {"a": [(40, 11), (25, 20)], "b": [(30, 3)]}
    trials = {
        name: [Trial(seeds, up, draw.uniform(0.0, 1.0, (9, *grid.prior.shape))) for seeds, up in counts[name]]
        for name, grid in grids.items()
    }
    size = 0.97 / 0.03
    offset_prior = np.arange(1.0, 10.0)
    weights: dict[str, np.ndarray] = {}
    for name, grid in grids.items():
        table = np.zeros((9, *grid.prior.shape, 10))
        for cell in itertools.product(*map(range, table.shape)):
            chance = grid.prior[cell[1], cell[2]] * KEPT_PRIOR[cell[3]]
            for one in trials[name]:
                share = min(max(one.expected[cell[:3]] * KEPT[cell[3]], 0.002), 0.998)
                chance *= betabinom.pmf(one.emerged, one.seeds, share * size, (1.0 - share) * size)
            table[cell] = chance
        weights[name] = table
    both = offset_prior * weights["a"].sum(axis=(1, 2, 3)) * weights["b"].sum(axis=(1, 2, 3))
    both /= both.sum()
    found = learn({name: (grids[name], trials[name]) for name in grids}, offset_prior)
    assert found.offset == pytest.approx(both @ OFFSETS)
    assert found.offset_deviation == pytest.approx(np.sqrt(both @ OFFSETS**2 - (both @ OFFSETS) ** 2))
    for name, other in (("a", "b"), ("b", "a")):
        grid, lesson = grids[name], found.lessons[name]
        table = weights[name] * (offset_prior * weights[other].sum(axis=(1, 2, 3)))[:, None, None, None]
        table /= table.sum()
        means = table.sum(axis=(0, 2, 3))
        assert lesson.mean == pytest.approx(means @ grid.means)
        assert lesson.deviation == pytest.approx(np.sqrt(means @ grid.means**2 - lesson.mean**2))
        before = grid.prior.sum(axis=1)
        assert lesson.prior_mean == pytest.approx(before @ grid.means)
        assert lesson.prior_deviation == pytest.approx(np.sqrt(before @ grid.means**2 - lesson.prior_mean**2))
        assert lesson.kept == pytest.approx(table.sum(axis=(0, 1, 2)) @ KEPT)
        moved = table.sum(axis=(0, 3)) - grid.prior
        assert lesson.low == pytest.approx(max(grid.published[0] + (moved * grid.low).sum(), 0.0))
        assert lesson.high == pytest.approx(grid.published[1] + (moved * grid.high).sum())
        pairs = table.sum(axis=(2, 3))
        together = sum(
            pairs[row, column] * (OFFSETS[row] - found.offset) * (grid.means[column] - lesson.mean)
            for row in range(9)
            for column in range(grid.means.size)
        )
        assert lesson.correlation == pytest.approx(together / (found.offset_deviation * lesson.deviation))
        kept = KEPT_PRIOR @ KEPT
        assert lesson.expected == pytest.approx([(one.expected[4] * grid.prior).sum() * kept for one in trials[name]])


def lesson(correlation: float, deviation: float = 5.0) -> Lesson:
    return Lesson(60.0, 90.0, 75.0, deviation, 75.0, 10.0, correlation, 0.7, ())


def test_told_apart_and_gained_at_their_edges() -> None:
    assert [lesson(value).told_apart for value in (0.49, -0.49, ENTANGLED, -0.5)] == [True, True, False, False]
    assert [lesson(0.0, value).certainty_gained for value in (5.0, 10.0, 12.0)] == [0.5, 0.0, 0.0]


def even_winter(frost: int | None = None) -> TwoWinters:
    """Two winters at 4 °C, where each day counts whole and gives 4 °C days above nothing; one night of frost."""
    minimum = np.full((730, 1), 3.0)
    if frost is not None:
        minimum[frost] = -5.0
    return TwoWinters(np.full((730, 1), 4.0), np.ones((730, 1), dtype=bool), minimum, 364)


ALIKE = RequirementGrid(np.array([20.0, 30.0]), np.array([0.0]), np.full((2, 1), 0.5), (20.0, 20.0))
GERMINATION = Germination(0.0, (40.0, 40.0))


def share_up(
    counted: int, frost: int | None = None, credit: tuple[float, ...] = (), phases: tuple[Phase, ...] | None = None
) -> list[float]:
    """Up and alive of seed that needs 20 days and of seed that needs 30."""
    phases = phases or (Phase("cold", (20.0, 20.0)),)
    found = expected_shares(even_winter(frost), phases, GERMINATION, ALIKE, 10, counted, -5.0, credit)
    return [float(value) for value in found[4, :, 0]]


def test_the_day_of_emergence_by_hand() -> None:
    """Sown on day 10: 20 days of cold to day 29, then ten days of 4 °C days, up on day 39; of 30 days, on day 49."""
    assert [share_up(day) for day in (38, 39, 48, 49)] == [[0.0, 0.0], [1.0, 0.0], [1.0, 0.0], [1.0, 1.0]]


def test_indoor_days_are_taken_off_the_phase_they_were_spent_on() -> None:
    """15 of 20 days done: up on day 24; 8 days of another phase first: day 47, or day 42 with 5 of the 8 done."""
    two = (Phase("cold", (8.0, 8.0)), Phase("cold", (20.0, 20.0)))
    for day, more in (
        (24, {"credit": (15.0,)}),
        (47, {"phases": two}),
        (42, {"phases": two, "credit": (5.0,)}),
        (32, {"phases": two, "credit": (8.0, 7.0)}),
    ):
        assert [share_up(at, **more)[0] for at in (day - 1, day)] == [0.0, 1.0]  # type: ignore[arg-type]


def test_frost_takes_what_is_up_before_it_and_not_what_comes_after() -> None:
    """Up on day 39. Frost of that day itself is over when it stands; frost on the day of the count still takes it."""
    assert [share_up(45, frost=night)[0] for night in (0, 39, 40, 45, 46)] == [1.0, 1.0, 0.0, 0.0, 1.0]
