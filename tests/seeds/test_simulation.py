"""The vectorised simulation against a seed that is walked through its days one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chillplan.seasons.chill import DAY_GRAIN, counted_share
from chillplan.seasons.cut import DAYS, MIDWINTER, cut_seasons
from chillplan.seasons.response import REVERSAL_LOSS
from chillplan.seasons.summary import ground_of
from chillplan.seeds.passage import NEVER
from chillplan.seeds.recipe import WARM_RESPONSE, Germination, Phase
from chillplan.seeds.requirement import QUANTILES, spread
from chillplan.seeds.simulate import FATES, fates_of, simulate
from chillplan.seeds.two_winters import WARMTH_GRAIN, TwoWinters, deadline_of, two_winters
from chillplan.site import Site
from tests.records import wave_weather

STARTS = np.arange(0, 333, 37, dtype=np.int32)
GERMINATION = Germination(base_temperature=5.0, thermal_time=(60.0, 150.0))


def invented_winters(seed: int, mean: float, seasons: int = 3, noise: float = 4.0) -> TwoWinters:
    random = np.random.default_rng(seed)
    day = np.arange(2 * DAYS)[:, None]
    wave = mean + 12.0 * np.cos(2.0 * np.pi * (day + 20) / DAYS)
    temperature = wave + random.normal(0.0, noise, (2 * DAYS, seasons))
    return TwoWinters(
        temperature=temperature,
        moist=random.random((2 * DAYS, seasons)) > 0.1,
        minimum=temperature - 4.0,
        deadline=DAYS - 1,
    )


def walk_one_seed(winters: TwoWinters, phases: list[Phase], quantile: int, start: int, season: int) -> int:
    """Day of emergence, written the slow and obvious way."""
    need = [float(spread(*phase.days)[quantile]) for phase in phases]
    warmth = float(spread(*GERMINATION.thermal_time)[quantile])
    number, progress = 0, 0.0
    for day in range(start, 2 * DAYS):
        while number < len(phases) and progress >= need[number] - 1e-9:
            number, progress = number + 1, 0.0
        temperature, moist = winters.temperature[day, season], bool(winters.moist[day, season])
        if number < len(phases):
            phase = phases[number]
            r = phase.response
            share = float(counted_share(temperature, r.zero_low, r.full_low, r.full_high, r.zero_high)) * moist
            if phase.kind == "cold" and temperature > phase.reversal:
                share -= round(REVERSAL_LOSS * DAY_GRAIN) / DAY_GRAIN
            progress = max(progress + share, 0.0)
        else:
            progress += (
                round(max(temperature - GERMINATION.base_temperature, 0.0) * WARMTH_GRAIN) / WARMTH_GRAIN * moist
            )
            if progress >= warmth - 1e-9:
                return day
    return NEVER


COLD, COLD_LONG = Phase("cold", (30.0, 60.0)), Phase("cold", (60.0, 110.0))
WARM = Phase("warm", (20.0, 50.0), response=WARM_RESPONSE)
OPTIONAL = Phase("cold", (0.0, 28.0))
RECIPES = {
    "no phases": [],
    "cold": [COLD],
    "optional cold": [OPTIONAL],
    "warm then cold": [WARM, COLD],
    "cold, warm, cold": [COLD, WARM, COLD_LONG],
    "warm": [WARM],
}


@pytest.mark.parametrize("name", RECIPES)
@settings(max_examples=8, deadline=None)
@given(seed=st.integers(0, 10_000), mean=st.floats(2.0, 22.0))
def test_simulation_equals_the_walk_day_by_day(name: str, seed: int, mean: float) -> None:
    winters = invented_winters(seed, mean)
    phases = RECIPES[name]
    found = simulate(winters, phases, GERMINATION, STARTS).emergence
    random = np.random.default_rng(seed)
    for _ in range(6):
        quantile, start = int(random.integers(QUANTILES.size)), int(random.integers(STARTS.size))
        season = int(random.integers(3))
        expected = walk_one_seed(winters, phases, quantile, int(STARTS[start]), season)
        assert found[quantile, start, season] == expected


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), mean=st.floats(2.0, 22.0))
def test_later_sowing_never_completes_earlier_and_demanding_seed_never_first(seed: int, mean: float) -> None:
    passage = simulate(invented_winters(seed, mean), [COLD], GERMINATION, STARTS)
    done = passage.phase_done[0].astype(np.int64)
    assert (np.diff(done, axis=1) >= 0).all()
    assert (np.diff(done, axis=0) >= 0).all()


def fate_of(day: int, killing: float, deadline: int) -> str:
    """What becomes of seed that is up on a day of a season, told the plain way."""
    if day >= DAYS:
        return "still dormant"
    if day < 0:
        return "up in time" if day + DAYS <= deadline else "up too late"
    if day < killing:
        return "sprouted in autumn" if day < MIDWINTER else "killed by frost"
    return "up in time" if day <= deadline else "up too late"


@pytest.mark.parametrize("name", RECIPES)
@pytest.mark.parametrize("springs", [2, 3])
@settings(max_examples=8, deadline=None)
@given(
    seed=st.integers(0, 10_000), mean=st.floats(2.0, 18.0), limit=st.floats(-8.0, 3.0), lead=st.sampled_from([0, 92])
)
def test_shares_searched_for_are_those_of_the_days_walked_to(
    name: str, springs: int, seed: int, mean: float, limit: float, lead: int
) -> None:
    random = np.random.default_rng(seed)
    day = np.arange(-lead, springs * DAYS)[:, None]
    temperature = mean + 12.0 * np.cos(2.0 * np.pi * (day + 20) / DAYS) + random.normal(0.0, 4.0, (day.size, 3))
    moist = random.random(temperature.shape) > 0.1
    deadline = int(random.integers(MIDWINTER, DAYS))
    winters = TwoWinters(temperature, moist, temperature[lead:] - 4.0, deadline, lead)
    starts = np.arange(-lead, 333, 41, dtype=np.int32)
    credit = [float(random.choice([0.0, 20.0])) for _ in RECIPES[name]]
    emergence = simulate(winters, RECIPES[name], GERMINATION, starts, credit).emergence
    found = fates_of(winters, RECIPES[name], GERMINATION, starts, limit, credit)
    killing = winters.last_killing_frost(limit)
    for start, season in ((int(random.integers(starts.size)), int(random.integers(3))) for _ in range(5)):
        days = emergence[:, start, season]
        fates = [fate_of(int(one), killing[0, season], deadline) for one in days]
        assert [fates.count(fate) / 20 for fate in FATES] == found.shares[:, start, season].tolist()
        for later in range(1, springs):
            here = [int(one) - later * DAYS for one in days if one // DAYS == later]
            up = [fate_of(one, killing[later, season] - later * DAYS, deadline) for one in here].count("up in time")
            assert up / 20 == found.later[later - 1, start, season]


@settings(max_examples=20, deadline=None)
@given(seed=st.integers(0, 10_000), mean=st.floats(-5.0, 25.0), limit=st.floats(-8.0, 2.0))
def test_fates_share_out_the_whole_lot(seed: int, mean: float, limit: float) -> None:
    winters = invented_winters(seed, mean)
    fates = fates_of(winters, [COLD], GERMINATION, STARTS, limit)
    assert fates.shares.sum(axis=0) == pytest.approx(np.ones((STARTS.size, 3)))
    assert ((fates.later[0] >= 0.0) & (fates.later[0] + fates.share_up <= 1.0 + 1e-9)).all()


def steady(temperature: float, minimum: float = 10.0) -> TwoWinters:
    shape = (2 * DAYS, 1)
    return TwoWinters(
        temperature=np.full(shape, temperature),
        moist=np.ones(shape, dtype=bool),
        minimum=np.full(shape, minimum),
        deadline=DAYS - 1,
    )


def test_onion_emerges_as_in_the_handbook() -> None:
    # Onion, base 2.5 °C and 80 °C d: 4 days at 22.5 °C and 16 days at 7.5 °C (Brewster, Onions and other vegetable
    # alliums, from the data of Harrington).
    onion = Germination(base_temperature=2.5, thermal_time=(80.0, 80.0))
    for temperature, days in ((22.5, 4), (7.5, 16)):
        emergence = simulate(steady(temperature), [], onion, np.array([0], dtype=np.int32)).emergence
        assert (emergence == days - 1).all()  # the sowing day is the first of them


def test_cold_never_ends_without_cold() -> None:
    assert (simulate(steady(18.0), [COLD], GERMINATION, STARTS).emergence == NEVER).all()


def test_a_heat_wave_undoes_part_of_the_chill() -> None:
    winters = steady(4.0)
    heated = steady(4.0)
    heated.temperature[20:30] = 25.0
    exact = [Phase("cold", (40.0, 40.0))]
    start = np.array([0], dtype=np.int32)
    assert (simulate(winters, exact, GERMINATION, start).phase_done[0] == 39).all()
    assert (simulate(heated, exact, GERMINATION, start).phase_done[0] == 56).all()  # 20 gained, 7 lost, 27 more


def test_days_done_indoors_are_credited() -> None:
    cold = [Phase("cold", (40.0, 40.0))]
    start = np.array([0], dtype=np.int32)
    assert (simulate(steady(4.0), cold, GERMINATION, start, credit=[30.0]).phase_done[0] == 9).all()
    assert (simulate(steady(4.0), cold, GERMINATION, start, credit=[40.0]).phase_done[0] == -1).all()


def test_the_last_day_of_sowing_is_the_one_on_which_cold_and_warmth_are_just_enough() -> None:
    """40 days of cold at 4 °C, then 10 degree days above 3 °C: sown 50 days before a day, all is up the day before."""
    cold, warmth = [Phase("cold", (40.0, 40.0))], Germination(3.0, (10.0, 10.0))
    winters = replace(steady(4.0), deadline=299)
    found = fates_of(winters, cold, warmth, np.array([249, 250, 251], dtype=np.int32), -5.0)
    assert found.share_up[:, 0].tolist() == [1.0, 1.0, 0.0]
    first = fates_of(replace(steady(4.0), deadline=49), cold, warmth, np.array([0, 1], dtype=np.int32), -5.0)
    assert first.share_up[:, 0].tolist() == [1.0, 0.0]
    heated = replace(steady(4.0), deadline=299)
    heated.temperature[220:222] = 25.0  # warm days in which the cold stands still and loses
    again = fates_of(heated, cold, warmth, np.array([200, 222, 250], dtype=np.int32), -5.0)
    assert again.share_up[:, 0].tolist() == [1.0, 1.0, 1.0]
    just = replace(heated, deadline=229)  # up on the warm days, by what was gathered before they undid it
    by_then = fates_of(just, cold, warmth, np.array([180, 181], dtype=np.int32), -5.0)
    assert by_then.share_up[:, 0].tolist() == [1.0, 0.0]
    assert fates_of(heated, cold, warmth, np.array([250], dtype=np.int32), -5.0, [0.0]).share_up[0, 0] == 1.0
    assert fates_of(heated, cold, warmth, np.array([259], dtype=np.int32), -5.0, [10.0]).share_up[0, 0] == 1.0
    assert fates_of(heated, cold, warmth, np.array([261], dtype=np.int32), -5.0, [10.0]).share_up[0, 0] == 0.0


@pytest.mark.parametrize(
    ("emerges", "frost", "fate"),
    [
        (200, None, "up in time"),
        (200, 230, "killed by frost"),
        (200, 190, "up in time"),
        (200, 200, "up in time"),
        (200, 201, "killed by frost"),
        (330, None, "up in time"),
        (331, None, "up too late"),
        (100, None, "up in time"),
        (100, 180, "sprouted in autumn"),
        (340, None, "up too late"),
        (400, None, "still dormant"),
        (NEVER, None, "still dormant"),
    ],
)
def test_fates_by_hand(emerges: int, frost: int | None, fate: str) -> None:
    winters = TwoWinters(
        temperature=np.full((2 * DAYS, 1), 4.0),
        moist=np.ones((2 * DAYS, 1), dtype=bool),
        minimum=np.full((2 * DAYS, 1), 5.0),
        deadline=330,
    )
    if frost is not None:
        winters.minimum[frost] = -6.0
    assert MIDWINTER > 100
    germination = Germination(base_temperature=3.0 if emerges < NEVER else 5.0, thermal_time=(1.0, 1.0))
    fates = fates_of(winters, (), germination, np.array([min(emerges, DAYS)], dtype=np.int32), -5.0)
    assert fates.shares[FATES.index(fate), 0, 0] == 1.0


def test_spread_has_its_percentiles_where_the_source_puts_them() -> None:
    assert spread(30.0, 60.0, [0.1, 0.5, 0.9]) == pytest.approx([30.0, 45.0, 60.0])
    assert spread(0.0, 28.0)[0] == 0.0


def three_years(temperature: np.ndarray) -> TwoWinters:
    days = np.tile(temperature, 3)[:, None]
    return TwoWinters(days, np.ones(days.shape, dtype=bool), days + 5.0, deadline=330)


def test_seed_of_four_phases_lives_through_three_springs() -> None:
    """Dry seed sown in January: a summer, a winter, a summer and a winter later it comes up, in its third spring."""
    day = np.arange(DAYS)
    winters = three_years(10.0 - 12.0 * np.cos(2.0 * np.pi * (day - 168) / DAYS))
    phases = [Phase("warm", (80.0, 90.0), response=WARM_RESPONSE), Phase("cold", (60.0, 90.0))] * 2
    start = np.array([160], dtype=np.int32)
    emergence = simulate(winters, phases, GERMINATION, start).emergence
    assert (emergence // DAYS == 2).all()
    fates = fates_of(winters, phases, GERMINATION, start, -20.0)
    assert fates.shares[FATES.index("still dormant"), 0, 0] == 1.0
    assert [fates.by_spring(spring)[0, 0] for spring in (1, 2, 3)] == [0.0, 0.0, 1.0]
    hurried = replace(winters, deadline=200)
    assert fates_of(hurried, phases, GERMINATION, start, -20.0).by_spring(3)[0, 0] < 0.2  # too late in that summer


def test_a_seedling_has_sixty_days_before_the_frost_of_minus_two_that_half_of_the_autumns_have() -> None:
    """Sixty days to establish and -2 °C at the ground are planning figures (common practice, no source)."""
    frost = np.array(
        [30.0, 40.0, 90.0]
    )  # of the next autumn, after the season's first day: the middle one is 10 September
    assert int(deadline_of(frost)) == DAYS + 40 - 60
    winters = cut_seasons(wave_weather(), southern=False)
    ground = ground_of(winters, Site(44.0, -72.0))
    for coldest, deadline in ((-2.0, DAYS + 20 - 60), (-1.99, DAYS - 1)):
        minimum = np.full_like(ground.minimum, 3.0)
        minimum[20:25], minimum[130:] = coldest, -9.0
        assert two_winters(winters, replace(ground, minimum=minimum)).deadline == deadline
