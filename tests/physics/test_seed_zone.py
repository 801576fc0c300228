"""The seed zone as a whole: shapes, gaps, covers, hemispheres, and directions that physics demands."""

import numpy as np
import pytest

from chillplan.errors import InputError
from chillplan.physics.parameters import COVER_TABLE, cover_named
from chillplan.physics.seed_zone import CALIBRATION, seed_zone
from chillplan.site import COVERS

DAYS = 600
DAY_OF_YEAR = (np.arange(DAYS) + 90) % 365 + 1


def weather(mean=8.0, swing=14.0, spread=10.0, rain=2.0, days=DAYS):
    season = mean - swing * np.cos(2 * np.pi * (DAY_OF_YEAR[:days] - 20) / 365)
    wobble = 4 * np.sin(np.arange(days) * 1.7)
    tmin = season + wobble - spread / 2
    water = np.where(np.arange(days) % 4 == 0, 4 * rain, 0.0)
    return tmin, tmin + spread, water


def run(tmin, tmax, water=None, days=DAYS, **options):
    options = {"latitude": 45.0, "depth_cm": 5.0, **options}
    return seed_zone(tmin, tmax, day_of_year=DAY_OF_YEAR[:days], precipitation=water, **options)


def test_shapes_and_types():
    tmin, tmax, water = weather()
    one = run(tmin, tmax, water)
    assert one.temperature.shape == (DAYS,)
    assert one.moist.dtype == bool
    columns = [np.stack([x, x, x], axis=1) for x in (tmin, tmax, water)]
    many = run(*columns)
    assert many.temperature.shape == (DAYS, 3)
    np.testing.assert_allclose(many.temperature[:, 2], one.temperature)
    grid = [x[:, :, None] * np.ones((1, 1, 2)) for x in columns]
    assert run(*grid, latitude=np.full((3, 2), 45.0)).temperature.shape == (DAYS, 3, 2)
    single = run(*(x.astype(np.float32) for x in columns))
    assert single.temperature.dtype == np.float32
    np.testing.assert_allclose(single.temperature, many.temperature, atol=0.05)


def test_day_of_year_may_differ_by_column():
    tmin, tmax, water = weather()
    columns = [np.stack([x, x], axis=1) for x in (tmin, tmax, water)]
    both = seed_zone(
        columns[0],
        columns[1],
        day_of_year=np.stack([DAY_OF_YEAR, DAY_OF_YEAR], axis=1),
        latitude=45.0,
        precipitation=columns[2],
        depth_cm=5.0,
    )
    np.testing.assert_allclose(both.temperature[:, 1], run(tmin, tmax, water).temperature)


def test_a_gap_is_missing_and_does_not_spread():
    tmin, tmax, water = weather()
    whole = run(tmin, tmax, water)
    holed = tmin.copy()
    holed[:3] = np.nan
    holed[150:154] = np.nan
    gappy = run(holed, tmax, water, mean_annual_temperature=8.0, aridity=0.9)
    whole = run(tmin, tmax, water, mean_annual_temperature=8.0, aridity=0.9)
    assert np.isnan(gappy.temperature[150:154]).all()
    assert np.isfinite(np.delete(gappy.temperature, [0, 1, 2, 150, 151, 152, 153])).all()
    assert np.abs(gappy.temperature[200:] - whole.temperature[200:]).max() < 0.5


def test_nothing_known_is_all_missing_without_a_warning():
    nothing = run(np.full(DAYS, np.nan), np.full(DAYS, np.nan), np.zeros(DAYS))
    assert np.isnan(nothing.temperature).all()


def test_the_hemispheres_mirror():
    tmin, tmax, water = weather()
    north = run(tmin, tmax, water, mean_annual_temperature=8.0, aridity=0.8)
    shifted = (DAY_OF_YEAR + 182) % 365 + 1
    south = seed_zone(
        tmin,
        tmax,
        day_of_year=shifted,
        latitude=-45.0,
        precipitation=water,
        depth_cm=5.0,
        mean_annual_temperature=8.0,
        aridity=0.8,
    )
    # The earth is nearer to the sun in January, so the southern summer has some 6 % more of it.
    assert np.abs(north.temperature - south.temperature).mean() < 0.5


def test_snow_keeps_the_ground_near_freezing():
    tmin, tmax, water = weather(mean=-2.0, swing=16.0)
    deep = run(tmin, tmax, water)
    none = run(tmin, tmax, np.zeros(DAYS))
    winter = DAY_OF_YEAR < 50
    assert deep.snow_depth[winter].max() > 300
    assert deep.temperature[winter].min() > none.temperature[winter].min() + 2
    given = run(tmin, tmax, np.zeros(DAYS), snow_depth=np.where(winter, 400.0, np.nan))
    assert given.temperature[winter].mean() > none.temperature[winter].mean() + 1
    assert (given.snow_depth[winter] == 400).all()
    assert (deep.ground_minimum[winter] > tmin[winter]).any()


def test_depth_and_cover_damp():
    tmin, tmax, water = weather()

    def unrest(**options):
        return np.diff(run(tmin, tmax, water, **options).temperature[200:]).std()

    assert unrest(depth_cm=1) > unrest(depth_cm=5) > unrest(depth_cm=15)
    assert unrest(cover="bare") > unrest(cover="short grass") > unrest(cover="straw mulch")


def test_sun_warms_and_shade_cools():
    tmin, tmax, water = weather()
    level = run(tmin, tmax, water).temperature[200:].mean()
    assert run(tmin, tmax, water, slope=25.0, aspect=180.0).temperature[200:].mean() > level
    assert run(tmin, tmax, water, slope=25.0, aspect=0.0).temperature[200:].mean() < level
    assert run(tmin, tmax, water, shade=0.8).temperature[200:].mean() < level


def test_dry_ground_is_warmer_and_not_moist():
    tmin, tmax, water = weather(spread=16.0, mean=14.0)
    dry, wet = run(tmin, tmax, np.zeros(DAYS)), run(tmin, tmax, water)
    summer = (DAY_OF_YEAR > 150) & (DAY_OF_YEAR < 240)
    assert dry.temperature[summer].mean() > wet.temperature[summer].mean() + 1
    assert not dry.moist[300:].any()
    assert wet.moist.mean() > 0.7


def test_without_precipitation_it_answers_much_the_same():
    tmin, tmax, water = weather(spread=9.0)
    known, guessed = run(tmin, tmax, water), run(tmin, tmax)
    assert np.abs(known.temperature - guessed.temperature)[150:].mean() < 1.5


def test_extremes_do_not_break_it():
    tmin, tmax, _ = weather(mean=-35.0, swing=35.0)
    cold = run(tmin, tmax, np.full(DAYS, 60.0), latitude=89.0)
    hot = run(tmin + 75, tmax + 85, np.zeros(DAYS), latitude=0.0)
    for zone in (cold, hot):
        assert np.isfinite(zone.temperature).all()
        assert np.abs(zone.temperature).max() < 90


def test_calibration_shifts_and_waves():
    tmin, tmax, water = weather()
    plain = run(tmin, tmax, water)
    same = run(tmin, tmax, water, calibration=dict(CALIBRATION))
    np.testing.assert_array_equal(plain.temperature, same.temperature)
    warmer = run(tmin, tmax, water, calibration={"shift": 2.0})
    assert 0.5 < (warmer.temperature - plain.temperature)[300:].mean() < 2.5
    wave = run(tmin, tmax, water, calibration={"season": 1.0}).temperature - plain.temperature
    assert wave.max() == pytest.approx(1.0, abs=0.01)
    assert DAY_OF_YEAR[np.argmax(wave)] == pytest.approx(172, abs=1)


def test_the_covers_of_the_site_are_all_known():
    assert tuple(cover.name for cover in COVER_TABLE) == COVERS
    assert [cover.name for cover in COVER_TABLE if cover.measured] == ["short grass"]
    with pytest.raises(InputError, match="cover 'moss' is not known: use one of bare"):
        cover_named("moss")


@pytest.mark.parametrize(("latitude", "summer", "autumn"), [(45.0, 172, 264), (-45.0, 355, 80)])
def test_the_calibrated_wave_is_largest_in_the_summer_of_its_hemisphere(latitude, summer, autumn):
    """Solstices on 21 June and 21 December, autumn equinoxes on 22 September and 20 March."""
    tmin, tmax, water = weather()
    plain = run(tmin, tmax, water, latitude=latitude).temperature
    for name, day in (("season", summer), ("turn", autumn)):
        wave = run(tmin, tmax, water, latitude=latitude, calibration={name: 1.0}).temperature - plain
        assert DAY_OF_YEAR[np.argmax(wave)] == pytest.approx(day, abs=2)


def test_a_canopy_keeps_clear_nights_milder():
    """Trees hide the cold sky (common knowledge of growers, no source); in the open the screen's minimum stands."""
    tmin, tmax, _ = weather(mean=12.0, swing=4.0, spread=16.0)
    dry = np.zeros(DAYS)
    np.testing.assert_allclose(run(tmin, tmax, dry).ground_minimum, tmin)
    under = run(tmin, tmax, dry, cover="tree canopy").ground_minimum
    assert (under > tmin).all()
    assert (under < tmin + 5).all()


def test_a_depth_observed_as_it_is_modelled_changes_nothing():
    """A depth is that of the beginning of its day."""
    tmin, tmax, water = weather(mean=-2.0, swing=16.0)
    modelled = run(tmin, tmax, water)
    seen = np.concatenate([[np.nan], modelled.snow_depth[:-1]])
    observed = run(tmin, tmax, water, snow_depth=seen)
    assert modelled.snow_depth.max() > 300
    np.testing.assert_allclose(observed.temperature, modelled.temperature, atol=0.02)


def test_snow_that_is_no_longer_measured_does_not_grow_by_itself():
    """Frost without snowfall cannot deepen it."""
    tmin, tmax = np.full(DAYS, -14.0), np.full(DAYS, -6.0)
    seen = np.full(DAYS, np.nan)
    seen[100:110] = 400.0
    depth = run(tmin, tmax, np.zeros(DAYS), snow_depth=seen).snow_depth
    assert (depth[100:110] == 400.0).all()
    assert (np.diff(depth[109:200]) <= 1e-9).all()
    assert depth[110] > 200.0
