"""A history is carried to the site: height by season, cold air, ties; a record that cannot be of it is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from chillplan.errors import DataGapError, InputError
from chillplan.site import Site
from chillplan.weather.history import History, Provenance, Record, history_of
from chillplan.weather.move import LAPSE_RATES, cold_air_offset, lapse_rate, move_to_site
from chillplan.weather.nearness import distance_km, expected_error
from chillplan.weather.read import load_history, read_weather
from chillplan.weather.read_noaa import read_dly
from chillplan.weather.tie import fit_tie, tie_offset
from tests.records import wave_weather
from tests.weather.made_weather import daily_frame


def _history(frame: pd.DataFrame, elevation: float | None = 100.0, latitude: float = 44.0) -> History:
    daily = frame.set_index("date").assign(tmin_flag="", tmax_flag="")
    return History(daily, Provenance("made", "made", latitude, -72.0, elevation))


SITE = Site(latitude=44.1, longitude=-72.0, elevation=600.0)


def test_lapse_rates_stay_within_the_published_range_and_have_no_steps() -> None:
    # Minder et al. (2010): 2.5 to 7.5 °C/km over months and variables.
    days = np.arange(1, 367)
    for name in ("tmin", "tmax"):
        rate = lapse_rate(name, days)
        assert rate.min() >= 2.5
        assert rate.max() <= 7.5
        assert np.abs(np.diff(rate)).max() < 0.1
        np.testing.assert_allclose(lapse_rate(name, days, southern=True), lapse_rate(name, days + 182.625), atol=1e-9)
    assert lapse_rate("tmax", 196) == pytest.approx(6.5)
    assert np.mean(LAPSE_RATES["tmin"]) < np.mean(LAPSE_RATES["tmax"])


def test_minima_fall_most_with_height_in_spring_and_maxima_in_the_warm_half_year() -> None:
    """Blandford et al. (2008): minima most in spring, least in midsummer; Rolland (2003): steeper in summer."""
    middles = {month: pd.Timestamp(2001, month, 15).day_of_year for month in range(1, 13)}
    minima, maxima = (
        {month: float(lapse_rate(name, day)) for month, day in middles.items()} for name in ("tmin", "tmax")
    )
    spring = {month for month, rate in minima.items() if rate > 4.0}
    assert spring == {3, 4, 5}, "March to May"
    assert {month for month, rate in maxima.items() if rate > 6.0} == {4, 5, 6, 7, 8, 9}
    assert min(maxima[month] for month in (6, 7, 8)) > max(maxima[month] for month in (12, 1, 2))
    southern = [float(lapse_rate("tmin", day, southern=True)) for day in middles.values()]
    assert [month for month, rate in enumerate(southern, 1) if rate > 4.0] == [9, 10, 11]


def test_higher_is_colder_and_the_way_back_undoes_it(frame: pd.DataFrame) -> None:
    low = _history(frame)
    high = move_to_site(low, SITE)
    drop_tmax = (low.daily["tmax"] - high.daily["tmax"])[low.daily.index.month == 7].mean()
    assert drop_tmax == pytest.approx(3.25, abs=0.01)  # 500 m at 6.5 °C/km
    assert high.attributes["height_difference_m"] == "500"
    assert float(high.attributes["distance_km"]) == pytest.approx(11.1, abs=0.1)
    assert any("Moved 500 m up: tmax by -2.7 °C, tmin by -1.7 °C" in note for note in high.provenance.notes)
    station = replace(high.provenance, elevation=600.0)
    back = move_to_site(replace(high, provenance=station), replace(SITE, elevation=100.0))
    np.testing.assert_allclose(back.daily["tmin"], low.daily["tmin"], atol=1e-9)


def test_unknown_height_moves_nothing_and_says_so(frame: pd.DataFrame) -> None:
    moved = move_to_site(_history(frame, elevation=None), SITE)
    np.testing.assert_array_equal(moved.daily["tmin"], frame["tmin"])
    assert "height is not known (pass --station-elevation)" in moved.provenance.notes[-1]


def test_cold_air_gathers_on_clear_nights_only() -> None:
    offset = cold_air_offset([0.0, 0.0, 0.0, np.nan], [5.0, 10.0, 20.0, 3.0], "valley floor")
    np.testing.assert_allclose(offset[:3], [0.0, -1.5, -3.0])
    assert np.isnan(offset[3])
    assert (cold_air_offset([0.0], [20.0], "crest") > 0).all()


@pytest.mark.parametrize("terrain", ["valley floor", "slope", "crest"])
def test_moved_minima_never_pass_the_maxima(frame: pd.DataFrame, terrain: str) -> None:
    for height in (50.0, 5000.0):
        moved = move_to_site(_history(frame, elevation=2000.0), replace(SITE, terrain=terrain, elevation=height))
        assert (moved.daily["tmin"] <= moved.daily["tmax"]).all()


def test_slope_aspect_and_cover_leave_the_air_alone(frame: pd.DataFrame) -> None:
    """Sunshine, sky and insulation over the seed belong to the seed zone; here they would count twice."""
    flat = move_to_site(_history(frame), SITE)
    steep = move_to_site(_history(frame), replace(SITE, slope=30.0, aspect=180.0, cover="tree canopy"))
    pd.testing.assert_frame_equal(flat.daily, steep.daily)


def test_distance_by_great_circle() -> None:
    # One degree along a meridian of a sphere of 6371.0088 km radius: 111.195 km (geometry).
    assert distance_km(0.0, 0.0, 1.0, 0.0) == pytest.approx(111.195, abs=0.001)
    assert distance_km(60.0, 179.5, 60.0, -179.5) == pytest.approx(55.6, abs=0.1)
    assert distance_km(90.0, 0.0, -90.0, 50.0) == pytest.approx(20015.1, abs=0.1)


def test_what_makes_a_station_worse_for_a_site() -> None:
    base = expected_error(20.0, 50.0, 30.0)
    assert expected_error(60.0, 50.0, 30.0) > base
    assert expected_error(20.0, 600.0, 30.0) > base
    assert expected_error(20.0, 50.0, 12.0) > base
    assert expected_error(20.0, 50.0, 30.0, coverage=0.5) > base
    assert expected_error(20.0, 50.0, 30.0, age=40.0) > base
    assert expected_error(20.0, np.nan, np.nan, np.nan, np.nan) == pytest.approx(base, abs=0.01)
    assert expected_error(20.0, 50.0, 90.0) == base


def readings(frame: pd.DataFrame, first: str, last: str, noise: float = 0.8) -> History:
    """A hillside 2 °C colder at night (3 in winter, 1 in summer), 1 °C cooler by day."""
    part = frame[(frame.date >= first) & (frame.date <= last)].copy()
    random = np.random.default_rng(5)
    wave = np.cos(2 * np.pi * part.date.dt.day_of_year / 365.25)
    part["tmin"] += -2.0 - wave + random.normal(0, noise, len(part))
    part["tmax"] += -1.0 + random.normal(0, noise, len(part))
    return _history(part)


def test_a_year_of_readings_finds_the_offset(frame: pd.DataFrame) -> None:
    tie = fit_tie(_history(frame), readings(frame, "2003-01-01", "2003-12-31"))
    assert tie.coefficients["tmin_mean"] == pytest.approx(-2.0, abs=0.15)
    assert tie.coefficients["tmin_cosine"] == pytest.approx(-1.0, abs=0.15)
    assert tie.coefficients["tmax_mean"] == pytest.approx(-1.0, abs=0.15)
    assert tie.error_before["tmin"] > 2.0
    assert tie.error_after["tmin"] < 1.0
    assert tie.helps
    tied = move_to_site(_history(frame), replace(SITE, elevation=100.0, tie=tie.coefficients))
    winter = tied.daily.index.month == 1
    assert (tied.daily["tmin"] - frame.set_index("date")["tmin"])[winter].mean() == pytest.approx(-2.95, abs=0.2)


def test_a_short_overlap_is_drawn_toward_the_lapse_estimate(frame: pd.DataFrame) -> None:
    tie = fit_tie(_history(frame), readings(frame, "2003-07-01", "2003-07-20"))
    summer, winter = tie_offset(tie.coefficients, "tmin", 196), tie_offset(tie.coefficients, "tmin", 15)
    assert -1.6 < summer < -0.4  # what was seen: about -1
    assert abs(winter) < 1.5  # never seen: no more than what summer says, not -3 by chance


def test_too_few_common_days_are_refused(frame: pd.DataFrame) -> None:
    with pytest.raises(DataGapError, match="share 10 days with tmin and tmax: at least 14 are needed"):
        fit_tie(_history(frame), readings(frame, "2003-07-01", "2003-07-10"))


def test_the_tie_lowers_the_error_between_real_stations(observations: Path) -> None:
    """Ithaca tied to Millbrook by 60 days of early 2013, scored on the years after."""
    from chillplan.weather.read import load_history

    target = load_history([observations / "uscrn_soil_development.parquet"], station="NY_Ithaca_13_E")
    source = load_history([observations / "cary_millbrook_NY.csv"])
    source = replace(source, provenance=replace(source.provenance, elevation=128.0, latitude=41.786, longitude=-73.741))
    place = Site(latitude=42.44, longitude=-76.25, elevation=target.provenance.elevation)
    moved = move_to_site(source, place)
    short = replace(target, daily=target.daily.loc["2013-03-01":"2013-04-30"])
    tied = move_to_site(source, replace(place, tie=fit_tie(moved, short).coefficients))
    later = target.daily.loc["2014-01-01":].index.intersection(source.daily.index)

    def error(history: History) -> float:
        gap = history.daily.loc[later, "tmin"] - target.daily.loc[later, "tmin"]
        return float(np.sqrt(np.nanmean(gap**2)))

    assert error(moved) < error(source)
    assert error(tied) < error(source)


def test_a_southern_site_moves_by_its_own_seasons() -> None:
    frame = daily_frame(southern=True)
    low = _history(frame, latitude=-41.0)
    high = move_to_site(low, Site(latitude=-41.1, longitude=-72.0, elevation=600.0))
    drop = low.daily["tmax"] - high.daily["tmax"]
    assert drop[low.daily.index.month == 1].mean() == pytest.approx(3.25, abs=0.01)
    assert drop[low.daily.index.month == 7].mean() == pytest.approx(2.25, abs=0.01)


def without_place(frame: pd.DataFrame) -> History:
    history = _history(frame)
    return replace(history, provenance=replace(history.provenance, latitude=None, longitude=None))


def test_a_latitude_of_the_wrong_sign_is_refused(frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match=r"latitude -44 lies south .* °C warmer from May to October: check the sign"):
        move_to_site(without_place(frame), Site(latitude=-44.0, longitude=-72.0))
    with pytest.raises(InputError, match=r"latitude 41 lies north .* warmer from November to April"):
        move_to_site(without_place(daily_frame(southern=True)), Site(latitude=41.0, longitude=175.0))
    warm = frame.assign(tmin=frame["tmin"] + 16.0, tmax=frame["tmax"] + 16.0)
    tropics = move_to_site(without_place(warm), Site(latitude=-10.0, longitude=-72.0))
    assert len(tropics.daily) == len(frame)


ELSEWHERE = Site(42.4, -76.2, elevation=300.0)


def record(latitude: float = 42.4, longitude: float = -76.2, elevation: float | None = 300.0, **wave: float) -> History:
    daily = wave_weather(**wave).rename_axis("date").assign(tmin_flag="", tmax_flag="")  # type: ignore[arg-type]
    return History(daily, Provenance("table", "Ithaca", latitude, longitude, elevation))


@pytest.mark.parametrize(
    ("latitude", "longitude", "sign"),
    [(42.4, 76.2, "longitude"), (-42.4, -76.2, "latitude"), (-42.4, 76.2, "latitude")],
)
def test_a_sign_that_is_wrong_is_asked_about_and_both_places_named(
    latitude: float, longitude: float, sign: str
) -> None:
    with pytest.raises(
        InputError, match=rf"{latitude:g}, longitude {longitude:g} is .*'Ithaca' at 42.4, -76.2: is.*{sign}"
    ):
        move_to_site(record(), replace(ELSEWHERE, latitude=latitude, longitude=longitude))


def test_a_place_on_another_continent_is_refused_and_a_near_one_is_not() -> None:
    with pytest.raises(InputError, match="check the place, or give a record from nearer"):
        move_to_site(record(), replace(ELSEWHERE, latitude=50.0, longitude=10.0))
    move_to_site(record(), replace(ELSEWHERE, latitude=45.0, longitude=-80.0))


@pytest.mark.parametrize(("height", "said"), [(8849.0, "more than 3000 m"), (-450.0, "below the lowest land")])
def test_a_height_far_from_that_of_the_station_is_refused(height: float, said: str) -> None:
    with pytest.raises(InputError, match=said):
        move_to_site(record(elevation=3.0), replace(ELSEWHERE, elevation=height))


@pytest.mark.parametrize("unit", ["fahrenheit", "tenths"])
def test_a_unit_against_the_climate_is_refused(tmp_path: Path, unit: str) -> None:
    daily_frame().to_csv(tmp_path / "record.csv", index=False)
    history = load_history([tmp_path / "record.csv"], units=unit, latitude=42.4, longitude=-76.2)
    with pytest.raises(InputError, match=r"yearly mean .* check the unit of the temperatures \(--weather-units"):
        move_to_site(history, ELSEWHERE)


def test_a_header_of_fahrenheit_over_celsius_is_refused(tmp_path: Path) -> None:
    daily_frame().rename(columns={"tmin": "tmin_f", "tmax": "tmax_f"}).to_csv(tmp_path / "record.csv", index=False)
    with pytest.raises(InputError, match=r"no place at latitude 42\.4 at 300 m is that cold"):
        move_to_site(load_history([tmp_path / "record.csv"]), ELSEWHERE)


# Yearly precipitation from climate normals, from memory: Mawsynram, the wettest place known, 11,900 mm.
@pytest.mark.parametrize(("daily", "taken"), [(11_900 / 365.25, True), (254.0, False), (40.0, False)])
def test_more_rain_than_falls_anywhere_is_refused(daily: float, taken: bool) -> None:
    history = record()
    wet = replace(history, daily=history.daily.assign(precipitation=daily))
    if taken:
        move_to_site(wet, ELSEWHERE)
        return
    with pytest.raises(InputError, match=r"mm of precipitation a year; no place is that wet: check its unit"):
        move_to_site(wet, ELSEWHERE)


# Yearly means from climate normals, from memory: Yakutsk -9, Key West 26, Lhasa 8 at 3650 m, Singapore 27.
@pytest.mark.parametrize(
    ("latitude", "elevation", "mean", "swing"),
    [(62.0, 100.0, -9.0, 28.0), (24.6, 2.0, 26.0, 4.0), (29.7, 3650.0, 8.0, 8.0), (1.4, 15.0, 27.0, 0.5)],
)
def test_real_climates_are_taken(latitude: float, elevation: float, mean: float, swing: float) -> None:
    move_to_site(record(latitude, 0.0, elevation, mean=mean, swing=swing), Site(latitude, 0.0, elevation=elevation))


def test_a_stray_year_is_left_out_and_named() -> None:
    frame = daily_frame()
    stray = pd.concat([frame, frame.tail(1).assign(date=pd.Timestamp("2180-06-01"))], ignore_index=True)
    history = history_of([Record(stray, "farm", "table", "farm.csv")])
    assert history.coverage == 1.0
    assert history.provenance.notes == ("1 day far from all others left out, the year is wrong: 2180-06-01.",)


def test_spikes_and_crossed_days_are_named(tmp_path: Path) -> None:
    frame = daily_frame().assign(tmax=lambda rows: rows["tmax"].round(1))
    frame.loc[[500, 900], "tmax"] += 45.0
    frame.to_csv(tmp_path / "record.csv", index=False)
    notes = " ".join(load_history([tmp_path / "record.csv"]).provenance.notes)
    for day in (500, 900):
        assert f"{frame['date'][day]:%Y-%m-%d}" in notes
    crossed = daily_frame()
    at = np.arange(0, len(crossed), 100)
    crossed.loc[at, ["tmin", "tmax"]] = crossed.loc[at, ["tmax", "tmin"]].to_numpy()
    crossed.to_csv(tmp_path / "crossed.csv", index=False)
    (history,) = read_weather([tmp_path / "crossed.csv"])
    assert f"{len(at)} days with tmin above tmax removed: 2000-01-01" in " ".join(history.provenance.notes)


def test_rain_in_inches_without_a_unit_is_asked_about(tmp_path: Path) -> None:
    frame = daily_frame()
    rain = np.where(np.arange(len(frame)) % 4 == 0, 0.4, 0.0)
    frame.assign(precipitation=rain).to_csv(tmp_path / "record.csv", index=False)
    with pytest.raises(InputError, match="name the column precipitation_in"):
        read_weather([tmp_path / "record.csv"])
    frame.assign(precipitation_in=rain).to_csv(tmp_path / "record.csv", index=False)
    assert read_weather([tmp_path / "record.csv"])[0].daily["precipitation"].max() == pytest.approx(0.4 * 25.4)


def test_impossible_rain_is_removed_and_named(tmp_path: Path) -> None:
    rain = np.full(len(daily_frame()), 2.5)
    rain[[40, 41]] = -5.0, 25_400.0
    daily_frame().assign(precipitation_mm=rain).to_csv(tmp_path / "record.csv", index=False)
    (history,) = read_weather([tmp_path / "record.csv"])
    assert history.daily["precipitation"].iloc[[40, 41]].isna().all()
    said = "2 values of precipitation outside 0 to 1825 mm removed: 2000-02-10, 2000-02-11."
    assert said in history.provenance.notes


def test_a_broken_letter_of_an_element_is_a_damaged_line() -> None:
    days = "".join(f"{value:5d}   " for value in [120] * 31)
    good = [f"USW00014839200001{name}{days}" for name in ("TMAX", "TMIN", "WT01", "TAVG")]
    assert len(read_dly("\n".join(good), "a.dly")) == 1
    with pytest.raises(InputError, match=r"line 3 of 'a\.dly' is not of the GHCN-Daily layout"):
        read_dly("\n".join([*good[:2], good[0].replace("TMAX", "TMQX")]), "a.dly")
