"""The edges of the rules: which side a value on the line belongs to. Common practice, no source."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from chillplan import verdicts
from chillplan.advice import outlook, plan
from chillplan.advice.rules import AUTUMN, STARTS, Member, best_window, verdict_of
from chillplan.report.contract import recent_json
from chillplan.seasons.cut import DAYS, MIDWINTER, season_start
from chillplan.seasons.dates import first_frost, last_frost
from chillplan.seasons.summary import Winters
from chillplan.seeds.recipe import Germination
from chillplan.seeds.simulate import FATES, Fates, fates_of
from chillplan.seeds.two_winters import KILLING_FROST, TwoWinters, deadline_of
from chillplan.verdicts import VERDICTS
from tests.advice.test_verdicts import EVEN, TEMPERATE, WARM, advice, cold, species

IN_A_DAY = Germination(base_temperature=5.0, thermal_time=(1.0, 1.0))


def winters_with_frost(day: int, minimum: float) -> TwoWinters:
    """One winter without weather but for one cold night."""
    low = np.full((2 * DAYS, 1), 10.0)
    low[day] = minimum
    return TwoWinters(
        temperature=np.full((2 * DAYS, 1), 15.0),
        moist=np.ones((2 * DAYS, 1), dtype=bool),
        minimum=low,
        deadline=DAYS - 1,
    )


def test_a_minimum_just_at_the_threshold_is_frost() -> None:
    low = np.array([5.0, 0.0, 5.0, 5.0, 0.0, 5.0])
    assert first_frost(low) == 1
    assert last_frost(low) == 4
    assert first_frost(low + 0.1) == np.inf
    assert last_frost(low + 0.1) == -np.inf


@pytest.mark.parametrize(("night", "fate"), [(-5.0, "killed by frost"), (-4.9, "up in time")])
def test_a_seedling_dies_of_a_night_just_at_its_limit(night: float, fate: str) -> None:
    winters = winters_with_frost(260, night)
    shares = fates_of(winters, (), IN_A_DAY, np.array([250], dtype=np.int32), -5.0).shares
    assert shares[FATES.index(fate), 0, 0] == 1.0


@pytest.mark.parametrize(
    ("emerges", "fate"),
    [(259, "killed by frost"), (260, "up in time"), (MIDWINTER - 1, "sprouted in autumn"), (0, "sprouted in autumn")],
)
def test_the_night_before_a_seedling_is_up_does_not_touch_it(emerges: int, fate: str) -> None:
    """A minimum belongs to the morning: seed that breaks through on that day comes after it."""
    winters = winters_with_frost(260, -8.0)
    shares = fates_of(winters, (), IN_A_DAY, np.array([emerges], dtype=np.int32), -5.0).shares
    assert shares[FATES.index(fate), 0, 0] == 1.0


def test_a_seedling_is_in_time_sixty_days_before_the_killing_frost_of_half_the_autumns() -> None:
    assert deadline_of(np.array([20.0, 30.0, 40.0])) == DAYS + 30 - 60
    assert deadline_of(np.array([np.inf, np.inf, 30.0])) == DAYS - 1


def test_the_killing_frost_of_autumn_is_one_of_minus_two() -> None:
    """-2 °C is where tender growth is killed in the frost classes of growers; common practice, no source."""
    assert pytest.approx(-2.0) == KILLING_FROST


def test_autumn_sowing_ends_with_february() -> None:
    last = season_start(2026, False).toordinal() + int(STARTS[AUTUMN][-1])
    assert date(2027, 2, 25) <= date.fromordinal(last) <= date(2027, 2, 28)
    southern = season_start(2026, True).toordinal() + int(STARTS[AUTUMN][-1])
    assert date(2026, 8, 28) <= date.fromordinal(southern) <= date(2026, 8, 31)


def winters_of_years(years: range) -> Winters:
    each = np.arange(len(years), dtype=float)
    dates = dict.fromkeys((0.0, -2.0, -4.0), 200.0 + each)
    return Winters(
        years=np.array(years),
        chill_days=100.0 + each,
        effective_chill=50.0 + each,
        cold_days=120.0 + each,
        last_spring_frost=dates,
        first_autumn_frost=dates,
        soil_warm=dict.fromkeys((5.0, 10.0, 15.0), 230.0 + each),
        mean_temperature=8.0 + each,
    )


def test_the_last_fifteen_winters_are_the_last_ones_and_their_percentiles_rise() -> None:
    recent = recent_json(winters_of_years(range(1991, 2021)), 2026, False)
    assert (recent["winters"], recent["first_season"], recent["last_season"]) == (15, 2006, 2020)
    chill = recent["chill_days"]
    assert chill["p10"] < chill["p50"] == 122.0 < chill["p90"]
    frost = recent["last_spring_frost"]
    assert frost["p10"] < frost["p50"] < frost["p90"]
    assert frost["p50"] == date.fromordinal(season_start(2026, False).toordinal() + 222).isoformat()


@pytest.mark.parametrize(("winters", "thin"), [(9, True), (10, False)])
def test_fewer_than_ten_winters_are_thin(winters: int, thin: bool) -> None:
    first = EVEN.index.year.min()
    kept = EVEN[EVEN.index < f"{first + winters}-08-01"]
    found = advice(kept, species(cold(20.0, 40.0)))
    assert (found.winters, found.thin) == (winters, thin)


def test_the_sowing_window_ends_with_the_last_date_that_is_good_enough() -> None:
    """Eight good winters in ten are asked for; the dates beside the window have seven."""
    good = np.zeros(STARTS.size, dtype=int)
    good[20:27] = [7, 8, 9, 10, 9, 8, 7]
    every = np.ones(STARTS.size, dtype=bool)
    found = best_window(good, good / 10, 10, 0.8, every, every)
    assert (int(found.first), int(found.best), int(found.last)) == (21, 23, 25)
    assert bool(found.meets) and int(found.good) == 10


@pytest.mark.parametrize(("share", "good"), [(0.5, 1), (0.49, 0)])
def test_seed_chilled_indoors_of_which_just_the_wanted_share_comes_up_counts_as_good(
    monkeypatch: pytest.MonkeyPatch, share: float, good: int
) -> None:
    shares = np.zeros((len(FATES), 1, 1))
    shares[0], shares[FATES.index("still dormant")] = share, 1.0 - share
    monkeypatch.setattr(outlook, "planted_out", lambda *_: Fates(shares, np.zeros((1, 1, 1))))
    every = np.ones(STARTS.size, dtype=bool)
    ease = outlook.Ease(every, every, dict.fromkeys((5.0, 10.0, 15.0), 0))
    one = species(cold(30.0, 60.0))
    found = outlook.spring_date(winters_with_frost(0, 0.0), one, one.recipe, 0.8, 0.5, ease, fixed=240)
    assert (found.day, found.good, found.meets) == (240, good, bool(good))


@pytest.mark.parametrize(
    ("daily", "days", "verdict"),
    [
        (TEMPERATE, 140.0, "either"),
        (TEMPERATE, 150.0, "start-outdoors-finish-in-fridge"),
        (WARM, 60.0, "chill-in-fridge"),
        (TEMPERATE, 0.0, "sow-in-spring"),
    ],
)
def test_without_any_error_the_chance_is_the_share_of_good_winters(
    monkeypatch: pytest.MonkeyPatch, daily: pd.DataFrame, days: float, verdict: str
) -> None:
    monkeypatch.setattr(plan, "members_of", lambda winters, _: [Member(1.0, winters, 0.0)])
    found = advice(daily, species(*([cold(days, days + 30.0)] if days else [])))
    assert found.verdict == verdict
    assert found.chance == pytest.approx(found.good / found.winters)
    assert found.good >= 12


@pytest.mark.parametrize(
    ("days", "autumn", "verdict"),
    [
        (200.0, True, verdicts.EITHER),
        (201.0, True, verdicts.AUTUMN),
        (240.0, False, verdicts.REFRIGERATOR),
        (241.0, False, verdicts.TWO_WINTERS),
    ],
)
def test_how_long_a_refrigerator_is_a_free_choice_and_how_long_one_at_all(
    days: float, autumn: bool, verdict: str
) -> None:
    """Up to 200 days beside autumn sowing, up to 240 beside two winters outdoors (common practice, no source)."""
    one = species(cold(days, days))
    ways = {"autumn": autumn, "spring": False, "second": True, "indoors": True, "top_up": False}
    assert VERDICTS[int(verdict_of(one, one.recipe, **ways))] == verdict
