"""When seed is ripe, and the winters a sowing meets, worked out by hand with each limit tried on either side."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from chillplan.seasons.cut import DAYS, MIDWINTER, SPIN_UP, Seasons
from chillplan.seasons.summary import LEAD, Ground
from chillplan.seeds.recipe import (
    WARM_RESPONSE,
    CoatStep,
    ColdTrials,
    Germination,
    Phase,
    Recipe,
    Response,
    Ripening,
    Species,
)
from chillplan.seeds.ripening import growing_warmth, ripe_at, usual_warmth
from chillplan.seeds.two_winters import KILLING_FROST, TwoWinters, deadline_of, two_winters


def seasons_of(years: list[int], southern: bool = False) -> Seasons:
    """Days of a common year, each as warm as its number in the year; 2 °C more in each later season."""
    start = date(2001, 2 if southern else 8, 1).timetuple().tm_yday
    day = (np.arange(SPIN_UP + DAYS) - SPIN_UP + start - 1) % 365 + 1
    day_of_year = np.repeat(day[:, None], len(years), axis=1)
    middle = day_of_year + 2.0 * np.arange(len(years))
    seen = np.ones((DAYS, len(years)), dtype=bool)
    return Seasons(np.array(years), southern, {"tmin": middle - 5.0, "tmax": middle + 5.0}, seen, day_of_year, {})


def test_the_warmth_of_the_growing_half_year_by_hand() -> None:
    """Days 91 to 273 in the north: 182 in the middle; 274 to 365 and 1 to 90 in the south: 182.5 on the average."""
    assert growing_warmth(seasons_of([2000])) == pytest.approx(182.0)
    assert growing_warmth(seasons_of([2000, 2001]), 1.5) == pytest.approx(182.0 + 1.0 + 1.5)
    south = (sum(range(274, 366)) + sum(range(1, 91))) / (92 + 90)
    assert growing_warmth(seasons_of([2000], southern=True)) == pytest.approx(south)
    assert usual_warmth(40.0) == usual_warmth(-40.0) == pytest.approx(47.99 - 28.84)


NORTH = Ripening((8, 15), (10, 1), 40.0, "own")
SOUTH = Ripening((2, 15), (4, 1), -40.0, "own")
USUAL = 47.99 - 0.721 * 40.0


@pytest.mark.parametrize(
    ("warmer", "later"), [(0.0, 0), (2.0, -5), (-2.0, 5), (0.19, 0), (0.21, -1), (11.9, -30), (13.0, -30), (-13.0, 30)]
)
def test_a_degree_brings_ripeness_forward_by_two_and_a_half_days_and_at_most_thirty(warmer: float, later: int) -> None:
    found = ripe_at(NORTH, USUAL + warmer, 2020, False)
    assert (found.later, found.warmer) == (later, pytest.approx(warmer))
    assert (found.first - date(2020, 8, 15)).days == (found.last - date(2020, 10, 1)).days == later


def test_ripeness_is_half_a_year_away_on_the_other_side_of_the_equator() -> None:
    """182 days on or 183 back, so that it is ripe before the season's winter."""
    assert ripe_at(SOUTH, USUAL, 2020, True).first == date(2020, 2, 15)
    turned = ripe_at(NORTH, USUAL, 2020, True)
    assert (turned.first, turned.last) == (date(2020, 2, 14), date(2020, 4, 1))
    back = ripe_at(SOUTH, USUAL, 2021, False)
    assert (back.first, back.last) == (date(2021, 8, 16), date(2021, 9, 30))
    late = Ripening((6, 30), (7, 1), -40.0, "own")
    found = ripe_at(late, USUAL, 2021, False)
    assert (found.first, found.last) == (date(2021, 12, 29), date(2021, 12, 30))
    assert ripe_at(Ripening((7, 1), (7, 1), 0.0, "own"), 47.99, 2021, True).first == date(2020, 12, 30)
    turn = ripe_at(Ripening((12, 20), (1, 10), 40.0, "own"), USUAL, 2021, False)
    assert (turn.first, turn.last) == (date(2021, 12, 20), date(2022, 1, 10))
    one = ripe_at(Ripening((9, 1), (9, 1), 40.0, "own"), USUAL, 2021, False)
    assert one.first == one.last


def even(days: int = 2 * DAYS, seasons: int = 1, degrees: float = 4.0, **more: object) -> TwoWinters:
    shape = (days, seasons)
    fields = {"moist": np.ones(shape, dtype=bool), "minimum": np.full(shape, 3.0), "deadline": 300, **more}
    return TwoWinters(np.full(shape, degrees), **fields)  # type: ignore[arg-type]


def test_a_shift_is_kept_in_parts_of_a_degree_and_nothing_is_carried_over() -> None:
    """0.3 °C are 38 of 128 parts."""
    winter = even()
    winter.warmth_steps(0.0)
    moved = winter.shifted(0.3)
    assert moved.temperature[0, 0] == 4.0 + 38.0 / 128.0
    assert moved.gain(Response(3.0, 5.0, 6.0, 7.0))[0, 0] > winter.gain(Response(3.0, 5.0, 6.0, 7.0))[0, 0] == 0.5
    assert winter.warmth_steps(0.0) is winter.warmth_steps(0.0)
    assert winter.warmth_steps(0.0) is not winter.warmth_steps(1.0)


def test_dry_days_count_nothing_and_frost_is_the_last_at_or_below_the_limit() -> None:
    moist = np.ones((2 * DAYS, 1), dtype=bool)
    moist[5] = False
    minimum = np.full((2 * DAYS, 1), 3.0)
    minimum[[0, 200, 201], 0] = [-9.0, -2.0, -1.9]
    winter = even(moist=moist, minimum=minimum)
    assert winter.gain(Response(0.0, 2.0, 6.0, 9.0))[[4, 5, 6], 0].tolist() == [1.0, 0.0, 1.0]
    assert winter.last_killing_frost(-2.0)[:, 0].tolist() == [200.0, -1.0]
    assert winter.last_killing_frost(-1.9)[:, 0].tolist() == [201.0, -1.0]
    minimum[[364, 365, 729], 0] = -5.0
    assert even(minimum=minimum).last_killing_frost(-4.0)[:, 0].tolist() == [364.0, 729.0]


def test_the_last_day_in_time_by_hand() -> None:
    """60 days before the middle of the first killing frosts of the autumn after, within January to the season's end."""
    assert KILLING_FROST == -2.0
    assert deadline_of(np.array([50.0, 55.0, 58.0])) == DAYS + 55 - 60
    assert deadline_of(np.array([50.0, 70.0, 90.0])) == DAYS - 1
    assert deadline_of(np.array([50.0, 59.0, 90.0])) == DAYS - 1
    assert deadline_of(np.array([50.0, 58.0, 90.0])) == DAYS - 2
    assert deadline_of(np.array([-300.0, -290.0, -280.0])) == MIDWINTER
    assert deadline_of(np.array([50.0, np.inf, np.inf])) == DAYS - 1
    assert deadline_of(np.array([[50.0, 10.0], [50.0, 10.0]])).tolist() == [355, 315]


def test_seasons_stand_end_to_end_where_they_follow_each_other() -> None:
    """2001, 2002 and 2004: of 2001 two are known, of 2002 one, with a third winter as with two."""
    seasons = seasons_of([2001, 2002, 2004])
    shape = (DAYS, 3)
    number = np.repeat([[1.0, 2.0, 4.0]], DAYS, axis=0)
    minimum = np.full(shape, 3.0)
    minimum[50] = -2.0
    lead = (np.full((LEAD, 3), 9.0), np.zeros((LEAD, 3), dtype=bool))
    ground = Ground(number, np.ones(shape, dtype=bool), minimum, np.zeros(shape), True, lead)
    two = two_winters(seasons, ground)
    assert two.temperature.shape == (2 * DAYS, 3)
    assert two.temperature[0].tolist() == [1.0, 2.0, 4.0]
    assert two.temperature[DAYS, 0] == 2.0
    assert np.isnan(two.temperature[DAYS, 1:]).all()
    assert (two.moist[DAYS].tolist(), two.moist[0].tolist()) == ([True, False, False], [True] * 3)
    assert (two.followed.tolist(), two.lead, two.deadline) == ([True, False, False], 0, DAYS + 50 - 60)
    early = two_winters(seasons, ground, lead=True, springs=3)
    assert (early.lead, early.temperature.shape, early.minimum.shape) == (LEAD, (LEAD + 3 * DAYS, 3), (3 * DAYS, 3))
    assert (early.temperature[LEAD - 1, 0], early.temperature[LEAD, 0], early.moist[0, 0]) == (9.0, 1.0, False)
    assert early.usable.tolist() == [[True] * 3, [True, False, False], [False] * 3]
    bare = Ground(number, np.ones(shape, dtype=bool), minimum, np.zeros(shape), True)
    assert two_winters(seasons, bare, lead=True).lead == 0
    assert two_winters(seasons, ground, springs=1).temperature.shape == (DAYS, 3)


def species_with(read: tuple[str, ...], *phases: Phase, origin: str = "built in") -> Species:
    recipe = Recipe("way", (), phases)
    return Species(
        "Planta", "planta", ("herb",), "", "", False, (recipe,), Germination(5.0, (1.0, 2.0)), read=read, origin=origin
    )


def test_what_opens_a_coat_and_what_is_read_of_a_recipe() -> None:
    """A warm phase of 60 days at the start opens it, one of 59 does not, nor cold, nor a later one."""
    cold, warm = Phase("cold", (90.0, 90.0)), Phase("warm", (10.0, 60.0))
    opens = [
        Recipe("", (), phases).opens_coat
        for phases in ((warm, cold), (Phase("warm", (10.0, 59.9)),), (cold, warm), (cold,), ())
    ]
    assert opens == [True, False, False, False, False]
    for action, opened in (("scarify", 1), ("hot water", 1), ("crack", 1), ("dry heat", 1), ("soak", 0), ("rinse", 0)):
        assert Recipe("", (CoatStep("soak"), CoatStep(action)), (cold,)).opens_coat == bool(opened)
    assert Recipe("", (), (cold, warm)).total_days == (100.0, 150.0)
    assert (cold.undone_above, warm.undone_above) == (14.5, float("inf"))
    assert Response(10.0, 15.0, 25.0, 32.0) == WARM_RESPONSE
    for read, phases, origin, standing in (
        ((), (cold,), "mine.csv", "your table"),
        (("phases",), (cold,), "mine.csv", "partly read"),
        (("cold_days_min", "cold_days_max"), (cold,), "built in", "read"),
        (("cold_days_min", "cold_days_max"), (warm, cold), "built in", "partly read"),
        (("warm_days_min",), (warm, cold), "built in", "partly read"),
        (("days",), (warm, cold), "built in", "read"),
        (("phases",), (), "built in", "read"),
        (("days",), (), "built in", "from memory"),
        (("coat_treatment",), (cold,), "built in", "partly read"),
        (("sowing_depth_cm",), (cold,), "built in", "from memory"),
        ((), (), "built in", "from memory"),
    ):
        assert species_with(read, *phases, origin=origin).evidence == standing, (read, phases)
    assert species_with(()).names() == ("Planta", "planta", "herb")
    assert species_with(()).trials == ColdTrials()
