"""Mann-Kendall and Sen against published results and the reference library."""

from __future__ import annotations

import numpy as np
import pymannkendall
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chillplan.errors import InputError
from chillplan.seasons.trend import trend

# Monthly rain at Bogra, Bangladesh, 1981-2010 [mm], a year a line, "." where missing: the check series that the
# package pymannkendall publishes with its results (tests/data, MIT licence).
BOGRA = """
32 20 25 189 240 193 379 278 301 0 0 82 / 0 4 . . 121 234 360 262 120 30 11 1
7 3 31 31 355 102 248 274 308 . 5 26 / 11 16 6 48 388 539 431 272 404 186 0 2
0 4 1 54 272 459 235 164 365 135 2 . / . 4 0 128 210 163 446 225 462 467 19 13
0 3 17 132 178 338 525 623 145 31 19 3 / 0 29 25 87 259 756 486 180 292 43 92 1
0 16 2 0 130 253 594 111 273 30 0 4 / 0 27 24 41 292 378 499 265 320 227 4 0
4 14 8 48 416 240 404 207 733 105 0 112 / 0 14 0 30 140 202 289 159 424 106 3 0
65 3 14 58 268 466 432 266 240 95 1 0 / 10 26 4 114 94 289 173 208 263 156 5 0
16 16 14 0 111 475 534 432 471 117 70 1 / 3 28 7 401 184 283 338 171 335 176 0 0
10 11 9 140 102 208 298 245 220 29 2 27 / 10 13 26 84 143 367 749 563 283 353 10 0
0 0 0 9 246 265 343 429 168 133 17 0 / 18 35 76 158 272 250 190 289 466 84 0 0
0 0 0 22 217 299 185 115 344 203 8 . / . 0 5 284 123 254 476 496 326 27 20 0
4 53 72 113 214 364 219 220 156 264 0 13 / 0 0 45 90 137 638 529 261 206 251 0 0
5 9 58 72 138 130 471 328 356 523 0 1 / 0 0 12 143 193 184 192 138 174 69 1 0
0 18 25 28 92 732 320 256 302 131 15 0 / 27 0 22 20 213 393 474 374 109 159 0 0
0 3 3 49 205 128 194 570 169 89 0 0 / 0 0 0 26 185 286 92 225 244 190 3 20
"""


def bogra() -> np.ndarray:
    words = BOGRA.replace("/", " ").split()
    return np.array([np.nan if word == "." else float(word) for word in words])


def test_the_published_check_series() -> None:
    found = trend(bogra())
    assert found.score == -1959.0
    assert found.variance == pytest.approx(4889800.333333333)
    assert found.z == pytest.approx(-0.8854562842589916)
    assert found.probability == pytest.approx(0.37591058740506833)
    assert found.slope == pytest.approx(-0.00636943, abs=5e-9)
    assert not found.clear


def test_a_textbook_example_of_kendall() -> None:
    """Lightness of tuna and a panel's score, 9 lots: S = 16, two-sided exact p 0.1194.

    Hollander and Wolfe (1973), Nonparametric Statistical Methods, pp. 185-194 (from memory).
    """
    lightness = [44.4, 45.9, 41.9, 53.3, 44.7, 44.1, 50.7, 45.2, 60.1]
    score = [2.6, 3.1, 2.5, 5.0, 3.6, 4.0, 5.2, 2.8, 3.8]
    assert trend(score, lightness).score == 16.0


@pytest.mark.parametrize("seed", range(5))
def test_against_the_reference_library(seed: int) -> None:
    random = np.random.default_rng(seed)
    values = np.round(random.normal(0, 3, 40) + 0.05 * np.arange(40), 1 - seed % 2)
    found, reference = trend(values), pymannkendall.original_test(values)
    assert found.score == reference.s
    assert found.variance == pytest.approx(reference.var_s)
    assert found.z == pytest.approx(reference.z)
    assert found.probability == pytest.approx(reference.p)
    assert found.slope == pytest.approx(reference.slope)


def test_missing_years_keep_their_place() -> None:
    years = np.array([1990, 1991, 1995, 1996, 2000, 2001], dtype=float)
    found = trend(2.0 * (years - 1990), years)
    assert found.slope == pytest.approx(2.0)
    assert found.per_decade == pytest.approx(20.0)
    values = np.full(12, np.nan)
    values[(years - 1990).astype(int)] = 2.0 * (years - 1990)
    assert trend(values).slope == pytest.approx(2.0)


def test_winters_without_frost_count_as_earlier_than_every_date() -> None:
    late = np.array([100.0, 95, 97, 90, 88, 85, 80, -np.inf, 78, -np.inf, -np.inf, 70])
    found = trend(late)
    assert found.score < 0
    assert found.clear
    same = trend(np.where(np.isinf(late), 0.0, late))
    assert found.score == same.score
    assert found.z == pytest.approx(same.z)


def test_too_few_values_and_no_variation() -> None:
    assert np.isnan(trend([1.0, 2.0, 3.0]).slope)
    still = trend([5.0] * 10)
    assert (still.slope, still.z, still.probability) == (0.0, 0.0, 1.0)
    with pytest.raises(InputError, match="4 values and 3 years differ"):
        trend([1.0, 2.0, 3.0, 4.0], [1, 2, 3])


@given(st.lists(st.integers(-50, 50), min_size=8, max_size=40))
def test_turning_the_series_upside_down_turns_the_trend(values: list[int]) -> None:
    up, down = trend(values), trend([-value for value in values])
    assert up.score == -down.score
    assert up.slope == pytest.approx(-down.slope)
    assert up.probability == pytest.approx(down.probability)
    if not np.isnan(up.slope_low):
        assert up.slope_low <= up.slope <= up.slope_high


def test_the_interval_covers_the_true_slope_as_often_as_it_says() -> None:
    random = np.random.default_rng(7)
    hits = 0
    for _ in range(300):
        found = trend(0.1 * np.arange(30) + random.normal(0, 1.0, 30))
        hits += found.slope_low <= 0.1 <= found.slope_high
    assert 0.91 <= hits / 300 <= 0.985
