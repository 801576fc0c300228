"""Counts move a requirement by Bayes' rule, and only as far as they can tell it from the site and from losses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr
from scipy.stats import betabinom

from chillplan.seasons.cut import cut_seasons
from chillplan.seasons.summary import ground_of
from chillplan.seeds.learning import (
    KEPT,
    KEPT_PRIOR,
    LIKENESS,
    OFFSET_PRIOR,
    OFFSETS,
    RequirementGrid,
    Trial,
    count_log_chance,
    expected_shares,
    learn,
    requirement_grid,
)
from chillplan.seeds.recipe import WARM_RESPONSE, Germination, Phase
from chillplan.seeds.simulate import simulate
from chillplan.seeds.two_winters import TwoWinters, two_winters
from chillplan.site import Site
from tests.records import wave_weather

GRID = requirement_grid(60.0, 90.0)
LOST_A_DEGREE = 12.0  # days of chill that a warmer site loses, in the made-up trials


def share(chill: float, mean: float, spread: float, offset: float = 0.0, outdoors: bool = True) -> float:
    return float(ndtr((chill - LOST_A_DEGREE * offset * outdoors - mean) / spread))


def trial(seeds: int, emerged: int, chill: float, grid: RequirementGrid = GRID, outdoors: bool = True) -> Trial:
    """A sowing that got this much chill by the unshifted estimate."""
    got = chill - LOST_A_DEGREE * OFFSETS[:, None, None] * outdoors
    return Trial(seeds, emerged, ndtr((got - grid.means[:, None]) / grid.spreads))


@pytest.mark.parametrize(("count", "seeds", "mean"), [(0, 10, 0.3), (7, 10, 0.3), (10, 10, 0.9), (40, 100, 0.5)])
def test_the_chance_of_a_count_is_beta_binomial(count: int, seeds: int, mean: float) -> None:
    # Reference: scipy.stats.betabinom, with parameters from mean and intraclass correlation.
    size = (1.0 - LIKENESS) / LIKENESS
    expected = betabinom.logpmf(count, seeds, mean * size, (1.0 - mean) * size)
    assert count_log_chance(count, seeds, mean) == pytest.approx(expected, rel=1e-9)


def test_the_priors_are_chances_and_the_grid_holds_the_published_range() -> None:
    assert [GRID.prior.sum(), OFFSET_PRIOR.sum(), KEPT_PRIOR.sum()] == pytest.approx([1.0, 1.0, 1.0])
    assert float(KEPT_PRIOR @ KEPT) == pytest.approx(0.7, abs=0.01)
    assert GRID.low[15, 2] == pytest.approx(60.0)
    assert GRID.high[15, 2] == pytest.approx(90.0)
    assert (GRID.prior * GRID.low).sum() == pytest.approx(60.0, abs=2.0)


def test_without_counts_the_published_range_stands() -> None:
    found = learn({"a": (GRID, [])})
    lesson = found.lessons["a"]
    assert found.offset == pytest.approx(0.0, abs=1e-9)
    assert lesson.mean == pytest.approx(lesson.prior_mean)
    assert (lesson.certainty_gained, lesson.correlation) == (pytest.approx(0.0, abs=1e-9), pytest.approx(0.0, abs=1e-9))
    assert lesson.expected == ()
    assert (lesson.low, lesson.high) == (pytest.approx(60.0), pytest.approx(90.0))
    few = learn({"b": (requirement_grid(0.0, 30.0), [])}).lessons["b"]
    assert (few.low, few.high) == (pytest.approx(0.0, abs=1e-9), pytest.approx(30.0))


def test_seed_chilled_at_a_measured_temperature_moves_the_requirement_and_not_the_site() -> None:
    trials = [
        trial(200, emerged, chill, outdoors=False) for chill, emerged in ((60, 5), (80, 12), (100, 70), (140, 130))
    ]
    found = learn({"a": (GRID, trials)})
    lesson = found.lessons["a"]
    assert lesson.mean > 88.0
    assert lesson.told_apart
    assert lesson.certainty_gained > 0.4
    assert found.offset == pytest.approx(0.0, abs=1e-6)


def test_one_sowing_outdoors_cannot_tell_site_from_requirement() -> None:
    lesson = learn({"a": (GRID, [trial(200, 20, 80.0)])}).lessons["a"]
    assert not lesson.told_apart
    assert lesson.correlation < 0.0


def test_several_species_that_all_fail_accuse_the_site() -> None:
    grids = {
        name: requirement_grid(low, low + 30.0) for name, low in (("a", 30.0), ("b", 60.0), ("c", 90.0), ("d", 110.0))
    }
    trials = {name: (grid, [trial(200, 25, float(grid.means.mean()), grid)]) for name, grid in grids.items()}
    together = learn(trials)
    alone = learn({"b": trials["b"]})
    assert together.offset > alone.offset > 0.1
    assert together.offset_deviation < alone.offset_deviation
    moved = abs(together.lessons["b"].mean - together.lessons["b"].prior_mean)
    assert moved < abs(alone.lessons["b"].mean - alone.lessons["b"].prior_mean)


def test_counts_as_expected_change_little() -> None:
    trials = [trial(100, round(100 * 0.7 * share(chill, 75.0, 11.7)), chill) for chill in (60.0, 75.0, 90.0, 120.0)]
    found = learn({"a": (GRID, trials)})
    assert found.lessons["a"].mean == pytest.approx(75.0, abs=3.0)
    assert abs(found.offset) < 0.4
    observed = [one.emerged / one.seeds for one in trials]
    # What is expected is averaged over the prior, which flattens it a little.
    assert found.lessons["a"].expected == pytest.approx(observed, abs=0.12)


def test_the_true_requirement_lies_in_the_interval_as_often_as_it_should() -> None:
    draw = np.random.default_rng(11)
    inside = []
    for _ in range(120):
        mean = draw.normal(75.0, 15.0)
        offset, kept = draw.choice(OFFSETS, p=OFFSET_PRIOR), draw.choice(KEPT, p=KEPT_PRIOR)
        spread = GRID.spreads[2]
        trials = []
        for chill in draw.uniform(50.0, 120.0, 4):
            outdoors = bool(draw.integers(2))
            size = (1.0 - LIKENESS) / LIKENESS
            expected = np.clip(kept * share(chill, mean, spread, offset, outdoors), 0.002, 0.998)
            emerged = draw.binomial(100, draw.beta(expected * size, (1.0 - expected) * size))
            trials.append(trial(100, int(emerged), chill, outdoors=outdoors))
        lesson = learn({"a": (GRID, trials)}).lessons["a"]
        inside.append(abs(lesson.mean - mean) <= 1.645 * lesson.deviation)
    # 90 % intended; three standard errors of a share of 120.
    assert np.mean(inside) == pytest.approx(0.9, abs=0.085)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 300), st.floats(0, 1), st.floats(0, 200)), max_size=4))
def test_any_counts_leave_a_requirement_that_is_possible(rows: list[tuple[int, float, float]]) -> None:
    found = learn({"a": (GRID, [trial(seeds, round(seeds * part), chill) for seeds, part, chill in rows])})
    lesson = found.lessons["a"]
    assert 0.0 <= lesson.low <= lesson.high
    assert np.isfinite([found.offset, found.offset_deviation, lesson.deviation, lesson.correlation, lesson.kept]).all()
    assert OFFSETS[0] <= found.offset <= OFFSETS[-1]


@settings(max_examples=30, deadline=None)
@given(st.integers(5, 200), st.floats(20, 150))
def test_more_seedlings_never_mean_a_longer_requirement(seeds: int, chill: float) -> None:
    means = [learn({"a": (GRID, [trial(seeds, count, chill)])}).lessons["a"].mean for count in (0, seeds // 2, seeds)]
    assert means[0] >= means[1] - 1e-6
    assert means[1] >= means[2] - 1e-6


@pytest.fixture(scope="module")
def winter() -> TwoWinters:
    seasons = cut_seasons(wave_weather(mean=9.0), southern=False)
    whole = two_winters(seasons, ground_of(seasons, Site(44.0, -72.0, elevation=300.0)))
    return TwoWinters(whole.temperature[:, :1], whole.moist[:, :1], whole.minimum[:, :1], whole.deadline)


def test_counts_of_several_winters_find_a_requirement_that_the_published_range_misses() -> None:
    seasons = cut_seasons(wave_weather(mean=11.0), southern=False)
    whole = two_winters(seasons, ground_of(seasons, Site(44.0, -72.0, elevation=300.0)))
    phases, germination, draw = (Phase("cold", (60, 90)),), Germination(5.0, (60.0, 120.0)), np.random.default_rng(3)
    true_mean, true_spread = 19, 2  # positions in the grid: 87 days where 75 were published
    trials = []
    for column in range(8):
        one = slice(column, column + 1)
        winter = TwoWinters(whole.temperature[:, one], whole.moist[:, one], whole.minimum[:, one], whole.deadline)
        sown = (150, 160, 170, 180)[column % 4]
        shares = expected_shares(winter, phases, germination, GRID, sown, 345, -40.0)
        truth = float(shares[4, true_mean, true_spread])
        trials.append(Trial(150, int(draw.binomial(150, 0.8 * truth)), shares))
    lesson = learn({"a": (GRID, trials)}).lessons["a"]
    assert len({trial.emerged for trial in trials}) > 3
    assert abs(lesson.mean - GRID.means[true_mean]) < 0.5 * abs(lesson.prior_mean - GRID.means[true_mean])
    assert abs(lesson.mean - GRID.means[true_mean]) < 2.0 * lesson.deviation


@pytest.mark.parametrize(
    "phases", [(Phase("cold", (60, 90)),), (Phase("warm", (5, 10), response=WARM_RESPONSE), Phase("cold", (60, 90)))]
)
def test_the_expected_share_is_that_of_the_simulation(winter: TwoWinters, phases: tuple[Phase, ...]) -> None:
    germination = Germination(5.0, (60.0, 120.0))
    counted = 340
    found = expected_shares(winter, phases, germination, GRID, 60, counted, -40.0)
    passage = simulate(winter, phases, germination, np.array([60], dtype=np.int32))
    assert found.shape == (OFFSETS.size, GRID.means.size, GRID.spreads.size)
    assert found[4, 15, 2] == pytest.approx((passage.emergence <= counted).mean(), abs=0.051)
    assert (np.diff(found, axis=1) <= 1e-9).all()


def test_cold_before_the_warm_phase_is_done_counts_nothing(winter: TwoWinters) -> None:
    warm, cold = Phase("warm", (30, 60), response=WARM_RESPONSE), Phase("cold", (20, 30))
    arguments = (Germination(5.0, (60.0, 120.0)), requirement_grid(20.0, 30.0), 130, 340, -40.0)  # sown in December
    assert expected_shares(winter, (cold,), *arguments)[4, 15, 2] > 0.8
    assert expected_shares(winter, (warm, cold), *arguments)[4, 15, 2] == 0.0


def test_chill_done_indoors_is_credited(winter: TwoWinters) -> None:
    arguments = (winter, (Phase("cold", (60, 90)),), Germination(5.0, (60.0, 120.0)), GRID, 250, 330, -40.0)
    assert expected_shares(*arguments)[4, 15, 2] == 0.0
    assert expected_shares(*arguments, credit=(120.0,))[4, 15, 2] > 0.8


def test_frost_before_the_count_takes_what_stood(winter: TwoWinters) -> None:
    arguments = (winter, (Phase("cold", (1, 5)),), Germination(0.0, (5.0, 10.0)), GRID, 60, 340)
    assert expected_shares(*arguments, -40.0).max() > 0.5
    assert expected_shares(*arguments, 5.0).max() < expected_shares(*arguments, -40.0).max()
