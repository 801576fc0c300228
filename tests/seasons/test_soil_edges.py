"""A soil thermometer's faults, gaps, winters and fitted days, by hand, with each limit tried on either side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chillplan.physics.seed_zone import CALIBRATION, seed_zone
from chillplan.seasons.calibrate import PRIOR, calibrate
from chillplan.seasons.soil_covers import try_covers
from chillplan.seasons.soil_faults import SoilFaults, find_soil_faults, followed_through
from chillplan.seasons.soil_stations import Calibrated, Station, calibrate_stations, check_stations
from chillplan.seasons.soilcheck import WinterChill, best_lag, compare, winter_spans
from tests.seasons.test_calibrate import TRUTH, made


def rising(days: int = 400) -> np.ndarray:
    """A record without a fault: no two days alike, no jump."""
    return np.linspace(3.0, 25.0, days)


def faults_of(soil: np.ndarray) -> SoilFaults:
    return find_soil_faults(soil, rising(soil.size))


def test_a_spike_is_more_than_8_degrees_from_both_neighbours_on_one_side() -> None:
    flat = np.where(np.arange(400) % 2 == 0, 10.0, 10.5)
    for high, found in ((18.5, False), (18.51, True), (2.5, False), (2.49, True)):
        soil = flat.copy()
        soil[100] = high
        soil[101] = soil[99]
        assert (not faults_of(soil).good[100]) == found, high
    step = flat.copy()
    step[200:] += 9.0
    assert faults_of(step).good.all(), "a step is no spike"
    ends = flat.copy()
    ends[[0, -1]] = 40.0
    assert faults_of(ends).good.all(), "of the ends one neighbour only is known"
    lesser = flat.copy()
    lesser[[100, 101]] = [20.0, 15.0]
    assert faults_of(lesser).good.all(), "the nearer neighbour counts"


def test_soil_at_its_bounds_is_possible_and_the_notes_count_days() -> None:
    soil = rising()
    soil[[50, 51]] = [70.0, 69.0]
    assert faults_of(soil).possible.all()
    soil[50] = 70.1
    assert faults_of(soil).notes == ("1 soil value outside -50 to 70 °C; not used to calibrate",)
    soil[300] = -50.1
    found = faults_of(soil)
    assert found.notes[0] == "2 soil values outside -50 to 70 °C; not used to calibrate"
    assert (np.flatnonzero(~found.possible).tolist(), found.unit) == ([50, 300], None)
    cold = rising()
    cold[300:302] = -50.0
    assert faults_of(cold).possible.all()


@pytest.mark.parametrize(
    ("value", "run", "stuck"),
    [
        (14.2, 19, False),
        (14.2, 20, True),
        (2.0, 119, False),
        (2.0, 120, True),
        (2.01, 20, True),
        (-1.0, 119, False),
        (-1.0, 120, True),
        (-1.01, 20, True),
    ],
)
def test_a_sensor_is_stuck_after_20_equal_days_and_near_freezing_after_120(value: float, run: int, stuck: bool) -> None:
    soil = np.full(400, np.nan)
    soil[:] = np.where(np.arange(400) % 2 == 0, value - 3.0, value - 2.5)
    soil[150 : 150 + run] = value
    found = faults_of(soil)
    assert np.flatnonzero(~found.good).tolist() == (list(range(150, 150 + run)) if stuck else [])
    if stuck:
        assert found.notes == (
            f"{run} soil values in runs of 20 or more equal days (a stuck sensor); not used to calibrate",
        )


def test_another_unit_is_believed_from_20_days_and_below_half_of_the_error() -> None:
    """Soil read as 50 is 10 °C in Fahrenheit. Against a model of 10 °C plus x the errors are 40 - x and x."""
    read = np.full(400, 50.0)
    for off, unit in ((13.3, "fahrenheit"), (13.4, None)):
        assert find_soil_faults(read, np.full(400, 10.0 + off)).unit == unit
    some = np.full(400, np.nan)
    some[:19] = 283.15
    assert find_soil_faults(some, np.full(400, 10.0)).unit is None
    some[19] = 283.15
    found = find_soil_faults(some, np.full(400, 10.0))
    assert (found.unit, found.good.any(), found.possible.any()) == ("kelvin", False, False)
    assert found.notes == (
        "soil temperatures fit the model only as degrees kelvin: convert them to °C, or say so in the header",
    )
    model = np.full(400, 10.0)
    model[19] = np.nan
    assert find_soil_faults(some, model).unit is None, "days that both have are counted"


def waves(*numbers: int, days: int = 800) -> tuple[np.ndarray, np.ndarray]:
    day_of_year = np.arange(days) % 365 + 1
    angle = 2 * np.pi * day_of_year / 365.25
    return sum((np.sin(n * angle) + 2.0 * np.cos(n * angle) for n in numbers), np.full(days, 9.0)), day_of_year


def test_a_gap_is_bridged_exactly_by_up_to_three_waves_of_the_year_and_not_by_a_fourth() -> None:
    for numbers, exact in (((1,), True), ((2,), True), ((3,), True), ((1, 2, 3), True), ((4,), False)):
        whole, day_of_year = waves(*numbers)
        holed = whole.copy()
        holed[300:380] = np.nan
        error = np.abs(followed_through(holed, day_of_year) - whole).max()
        assert (error < 1e-6) == exact, numbers


def test_a_usual_course_is_told_from_300_days_and_else_the_gap_is_a_straight_line() -> None:
    whole, day_of_year = waves(1)
    for known, curved in ((299, False), (300, True)):
        holed = whole.copy()
        holed[100 : 100 + 800 - known] = np.nan
        line = np.interp(np.arange(800), np.flatnonzero(~np.isnan(holed)), holed[~np.isnan(holed)])
        found = followed_through(holed, day_of_year)
        assert (np.abs(found - line).max() > 1.0) == curved
    short = followed_through([np.nan, 1.0, np.nan, np.nan, 4.0, np.nan], range(1, 7))
    assert short.tolist() == [1.0, 1.0, 2.0, 3.0, 4.0, 4.0]


def days_of(first: str, last: str) -> np.ndarray:
    return np.arange(np.datetime64(first), np.datetime64(last) + 1)


def test_a_winter_lies_wholly_in_the_record_from_its_first_day_to_its_last() -> None:
    for first, last, winters in (
        ("2010-09-01", "2011-05-31", [2010]),
        ("2010-09-02", "2011-05-31", []),
        ("2010-09-01", "2011-05-30", []),
    ):
        days = days_of(first, last)
        assert [year for year, _ in winter_spans(days, np.ones(days.size), False)] == winters
    days = days_of("2010-09-01", "2011-05-31")
    soil = np.ones(days.size)
    soil[-8:] = np.nan
    assert winter_spans(days, soil, False) == [(2010, slice(0, 273))], "8 of 273 days are within 3 %"
    soil[-9:] = np.nan
    assert winter_spans(days, soil, False) == []


def test_the_error_and_the_agreement_by_hand() -> None:
    """Errors of 3 and -1 °C: root of 5, mean 1. 30 and 29.9 days stand on two sides of a threshold."""
    days = days_of("2010-01-01", "2010-01-03")
    found = compare(days, [13.0, 9.0, 10.0], [10.0, 10.0, np.nan], False)
    assert (found.days, found.bias, found.lag) == (2, 1.0, None)
    assert found.rmse == pytest.approx(np.sqrt(5.0))
    chill = WinterChill(np.array([30.0, 100.0]), np.array([29.9, 125.0]))
    assert chill.error == pytest.approx((0.1 + 25.0) / 2.0)
    assert (chill.agreed, chill.agreement) == ((6, 8), 0.75)


def test_a_lag_wants_60_changes_that_both_have() -> None:
    """Of n days n - 1 changes, of which a lag of 3 days leaves n - 4."""
    series = np.random.default_rng(1).normal(0.0, 1.0, 64)
    assert best_lag(series, series) == 0
    assert best_lag(series[:63], series[:63]) is None
    assert best_lag(series[:61], series[:61], longest=0) == 0
    moved = np.random.default_rng(2).normal(0.0, 1.0, 200)
    assert [best_lag(np.roll(moved, -lag), moved) for lag in (-4, -3, 3)][1:] == [-3, 3]
    assert best_lag(np.zeros(200), moved) is None
    assert best_lag(moved, np.zeros(200)) is None


# Calibration.


def fit(station: Station) -> Calibrated | None:
    (found,) = calibrate_stations(check_stations([station], 5.0), 5.0)
    return found


def keeping(station: Station, known: np.ndarray) -> Station:
    return replace(station, soil=np.where(known, station.soil, np.nan))


WHOLE = made("whole", TRUTH, days=1500)  # 2015-01-01 to 2019-02-08
DATES = WHOLE.dates


def test_the_year_from_autumn_nearest_the_middle_is_fitted_and_the_others_are_the_test() -> None:
    found = fit(WHOLE)
    assert found is not None
    assert (str(found.first), str(found.last), found.blocks) == ("2016-09-01", "2017-08-31", False)
    assert found.before.days == found.after.days == 1500 - 365
    assert set(found.parameters) == set(PRIOR) < set(CALIBRATION)
    early = fit(keeping(WHOLE, np.datetime64("2017-06-01") > DATES))
    assert early is not None
    assert str(early.first) == "2015-09-01"


def test_a_southern_year_is_fitted_from_march() -> None:
    found = fit(replace(WHOLE, latitude=-45.0))
    assert found is not None
    assert str(found.first) in {"2016-03-01", "2017-03-01"}


def test_a_year_is_fitted_with_nine_tenths_of_its_days_and_90_others() -> None:
    """329 of 365 days are enough and 328 are not; 90 days outside are enough and 89 are not."""
    year = (np.datetime64("2016-09-01") <= DATES) & (np.datetime64("2017-09-01") > DATES)
    start = int(np.flatnonzero(year)[0])
    places = np.arange(DATES.size)
    for inside, outside, blocks in ((329, 90, False), (328, 90, True), (329, 89, True)):
        known = (places >= start) & (places < start + inside)
        known |= (places >= start + 365) & (places < start + 365 + outside)
        found = fit(keeping(WHOLE, known))
        assert found is not None
        assert found.blocks == blocks, (inside, outside)


def test_blocks_of_15_days_take_turns_and_60_days_are_needed() -> None:
    places = np.arange(DATES.size)
    found = fit(keeping(WHOLE, (places >= 600) & (places < 660)))
    assert found is not None
    assert found.blocks
    assert (found.first, found.last) == (DATES[600], DATES[644])
    assert found.after.days == 30
    assert fit(keeping(WHOLE, (places >= 600) & (places < 659))) is None


def test_a_station_is_fitted_alike_alone_and_among_others() -> None:
    other = made("other", {"shift": -1.5}, days=1300, seed=9)
    late = replace(other, dates=other.dates + 40, day_of_year=np.roll(other.day_of_year, -40))
    covered = replace(other, site={"cover": "leaf mulch"})
    stations = [WHOLE, late, covered]
    together = calibrate_stations(check_stations(stations, 5.0), 5.0)
    for station, found in zip(stations, together, strict=True):
        alone = fit(station)
        assert found is not None
        assert alone is not None
        assert (found.first, found.last) == (alone.first, alone.last)
        assert found.parameters == pytest.approx(alone.parameters, abs=0.02)
        assert np.abs(found.model - alone.model)[400:].mean() < 0.03


def test_a_calibrated_site_runs_beside_one_that_is_not() -> None:
    plain, tuned = WHOLE, replace(WHOLE, site={"calibration": {"shift": 2.0}})
    first, second = check_stations([plain, tuned], 5.0)
    assert first.station is plain
    assert second.station is tuned
    assert 1.0 < (second.model - first.model).mean() < 2.0
    (alone,) = check_stations([tuned], 5.0)
    assert second.model == pytest.approx(alone.model, abs=1e-3)


def test_days_of_guessed_precipitation_are_counted() -> None:
    assert WHOLE.precipitation is not None
    holed = WHOLE.precipitation.copy()
    holed[5:12] = np.nan
    assert replace(WHOLE, precipitation=holed).guessed_days == 7
    assert replace(WHOLE, precipitation=None).guessed_days == 0


def test_minimum_and_maximum_that_cross_are_turned() -> None:
    """As they may where a gap of each is bridged alone."""
    low, high = WHOLE.tmin.copy(), WHOLE.tmax.copy()
    crossed = replace(WHOLE, tmin=high, tmax=low)
    assert check_stations([crossed], 5.0)[0].model == pytest.approx(check_stations([WHOLE], 5.0)[0].model)


def test_the_fit_is_where_misfit_and_prior_pull_alike() -> None:
    """At the end of the rounds no small move of a parameter lowers misfit / 40 plus the squared prior deviations."""
    station = made("made", TRUTH, days=800)
    columns = [series[:, None] for series in (station.tmin, station.tmax)]
    at = {"day_of_year": station.day_of_year, "latitude": np.array([45.0]), "depth_cm": 5.0}
    known = station.soil.copy()
    found = calibrate(*columns, known[:, None], start=365, **at)  # type: ignore[arg-type]

    def cost(moved: dict[str, float]) -> float:
        model = seed_zone(station.tmin, station.tmax, calibration=moved, **{**at, "latitude": np.array(45.0)})  # type: ignore[arg-type]
        pulls = [(np.log(value) if CALIBRATION[name] else value) / PRIOR[name] for name, value in moved.items()]
        return float(((model.temperature[365:] - known[365:]) ** 2).sum() / 40.0 + np.square(pulls).sum())

    best = {name: float(value[0]) for name, value in found.items()}
    least = cost(best)
    for name in PRIOR:
        for way in (-1.0, 1.0):
            step = 0.25 * PRIOR[name] * way
            tried = best[name] * np.exp(step) if CALIBRATION[name] else best[name] + step
            assert cost({**best, name: float(tried)}) > least - 0.02, name


def test_a_cover_is_tried_from_nine_tenths_of_a_year() -> None:
    """329 different days of the year are enough, in whatever years they lie."""
    for days, told in ((329, True), (328, False)):
        station = keeping(WHOLE, WHOLE.day_of_year <= days)
        (found,) = try_covers(check_stations([station], 5.0), 5.0)
        assert (found is not None) == told
