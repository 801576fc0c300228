"""Where a record comes from and how far it lies; the risk of a frost after a date, as JSON and in words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chillplan.report.reader import Reader
from chillplan.report.record import distance_km, frost_risk_json, risk_words, source_of
from chillplan.site import Site
from chillplan.weather import nearness
from chillplan.weather.history import History, Provenance
from tests.records import wave_weather

# Day 270 of a season from 1 August is 28 April.
DAYS = np.array([-np.inf, -np.inf, 255.0, 262.0, 264.0, 268.0, 271.0, 275.0, 279.0, 281.0])


def test_the_risk_falls_to_none_and_counts_winters_without_frost() -> None:
    found = frost_risk_json(DAYS, 2026, south=False, last=True)
    assert found["chance_of_frost"] == 0.8
    risks = {entry["date"]: entry["share_of_winters"] for entry in found["risk_after"]}
    assert risks["2027-04-08"] == 0.8  # day 250
    assert risks["2027-04-28"] == 0.4  # day 270: four of ten winters later
    assert list(risks.values())[-1] == 0.0
    assert sorted(risks.values(), reverse=True) == list(risks.values())


def test_dates_by_the_normal_method_leave_out_the_share_without_frost() -> None:
    """Half of all winters is 0.3 / 0.8 of those with frost: mean + spread x (-0.3186), Thom and Shaw (1958)."""
    found = frost_risk_json(DAYS, 2026, south=False, last=True)
    dates = DAYS[np.isfinite(DAYS)]
    expected = dates.mean() - 0.3186 * dates.std(ddof=1)
    assert found["normal_method"]["p10"] is None
    assert found["normal_method"]["p50"] == str(np.datetime64("2026-08-01") + int(np.round(expected)))


def test_words_and_places_without_frost() -> None:
    words = risk_words(DAYS, 2026, south=False, reader=Reader())
    assert words == "after 18 Apr in 70%, after 28 Apr in 40%, after 8 May in 10%"
    none = np.full(30, -np.inf)
    assert risk_words(none, 2026, south=False, reader=Reader()) == ""
    found = frost_risk_json(none, 2026, south=False, last=True)
    assert found == {
        "chance_of_frost": 0.0,
        "normal_method": {"p10": None, "p50": None, "p90": None},
        "risk_after": [],
    }


def test_autumn_and_south() -> None:
    found = frost_risk_json(-DAYS + 350.0, 2026, south=True, last=False)
    assert found["chance_of_frost"] == pytest.approx(0.8)
    assert "risk_after" not in found
    assert found["normal_method"]["p50"].startswith("2026-")


def test_distances_are_those_on_a_globe() -> None:
    """A quarter of the equator is 10,007.5 km on a sphere of 6,371 km, and at 60 degrees half as much."""
    assert distance_km((0.0, 0.0), (0.0, 90.0)) == pytest.approx(10_007.5, abs=1.0)
    assert distance_km((60.0, 10.0), (60.0, 11.0)) == pytest.approx(10_007.5 / 180.0, rel=0.001)
    assert distance_km((44.0, 179.9), (44.0, -179.9)) == pytest.approx(0.2 * 10_007.5 / 90.0 * 0.7193, rel=0.001)
    random = np.random.default_rng(3)
    for _ in range(20):
        (a, b), (c, d) = random.uniform((-89, -180), (89, 180), (2, 2))
        assert distance_km((a, b), (c, d)) == pytest.approx(float(nearness.distance_km(a, b, c, d)), rel=1e-5)


def test_what_is_told_of_a_record_is_what_is_known_of_it() -> None:
    daily = wave_weather().rename_axis("date").assign(tmin_flag="", tmax_flag="")
    here = Provenance("table", "Ithaca", 42.4, -76.5, 300.0)
    site = Site(42.4, -76.2, elevation=340.0)
    told = source_of(History(daily, here), site)
    assert (told.station, told.first, told.last) == ("Ithaca", daily.index[0].date(), daily.index[-1].date())
    assert told.height_difference_m == 40.0 and told.distance_km == pytest.approx(24.6, abs=0.1)
    for origin, place in ((replace(here, elevation=None), site), (here, replace(site, elevation=None))):
        assert source_of(History(daily, origin), place).height_difference_m is None
    low = (
        source_of(History(daily, replace(here, elevation=0.0)), site),
        source_of(History(daily, here), replace(site, elevation=0.0)),
    )
    assert [told.height_difference_m for told in low] == [340.0, -300.0], "the sea's height is a height"
    unplaced = replace(here, latitude=None, longitude=None)
    assert source_of(History(daily, unplaced), site).distance_km is None
