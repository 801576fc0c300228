"""Stations and records in words, and a map on which a ruler finds the stations where they are."""

from __future__ import annotations

import math
import re
from xml.etree import ElementTree

import pytest

from chillplan.report.tables_stations import (
    MapStation,
    print_check,
    print_record,
    print_stations,
    print_tie,
    station_map,
)
from chillplan.weather.nearness import distance_km

SITE = (44.0, -72.0)
PLACES = [("north", 44.09, -72.0), ("east", 44.0, -71.8), ("south-west", 43.9, -72.2), ("far west", 44.0, -72.5)]


def drawn(places: list[tuple[str, float, float]], site: tuple[float, float] = SITE) -> ElementTree.Element:
    stations = [
        MapStation(
            name, latitude, longitude, float(distance_km(*site, latitude, longitude)), 40.0 if n else None, 1.0 + n
        )
        for n, (name, latitude, longitude) in enumerate(places)
    ]
    return ElementTree.fromstring(station_map(*site, "<Hill>", stations))


def circles(picture: ElementTree.Element) -> list[tuple[float, float, float]]:
    return [
        (float(one.get("cx", "")), float(one.get("cy", "")), float(one.get("r", "")))
        for one in picture.iter()
        if one.tag.endswith("circle")
    ]


def test_a_ruler_finds_the_stations_where_they_are() -> None:
    found = circles(drawn(PLACES))
    rings = sorted(radius for _, _, radius in found if radius > 9.0)
    assert rings == [pytest.approx(300.0 * km / 50.0) for km in (10, 25, 50)], "the farthest is 40 km away"
    marks = [(x, y) for x, y, radius in found if radius == 9.0 and x < 720.0][::-1]
    for (x, y), (_, latitude, longitude) in zip(marks, PLACES, strict=True):
        east, south = x - 360.0, y - 360.0
        assert math.hypot(east, south) * 50.0 / 300.0 == pytest.approx(
            float(distance_km(*SITE, latitude, longitude)), 0.02
        )
        assert (east > 0.1, east < -0.1) == (longitude > SITE[1], longitude < SITE[1])
        assert (south < -0.1, south > 0.1) == (latitude > SITE[0], latitude < SITE[0])


def test_the_list_beside_the_map_says_who_is_where() -> None:
    picture = drawn(PLACES)
    texts = [node.text or "" for node in picture.iter() if node.tag.endswith("text")]
    assert "north: 10 km, error 1.0 °C" in texts and "east: 16 km, site +40 m, error 2.0 °C" in texts
    assert "Weather stations around <Hill>" in texts and any("the outer ring is 50 km" in text for text in texts)
    assert [text for text in texts if text.endswith(" km")] == ["10 km", "25 km", "50 km"]
    legend = [(x, y) for x, y, radius in circles(picture) if radius == 9.0 and x > 720.0][::-1]
    assert [y for _, y in legend] == sorted(y for _, y in legend)
    colours = [one.get("fill") for one in picture.iter() if one.get("r") == "9"]
    assert colours.count("#1b6e3c") == 2, "the first, on the map and in the list"


def test_across_the_date_line_and_without_stations() -> None:
    (mark, *_) = [
        (x, y) for x, y, radius in circles(drawn([("over there", -17.0, -179.9)], (-17.0, 179.95))) if radius == 9.0
    ]
    assert 360.0 < mark[0] < 720.0 and mark[1] == pytest.approx(360.0, abs=0.1)
    assert [radius for _, _, radius in circles(drawn([]))] == [300.0], "one ring of 5 km, and no station"
    far = drawn([(f"station {n}", 44.0 + n, -72.0) for n in range(1, 41)])
    marks = [(x, y) for x, y, radius in circles(far) if radius == 9.0]
    assert len([mark for mark in marks if mark[0] < 720.0]) == 40 and len(marks) == 70, "thirty are listed"
    assert any("the outer ring is 500 km" in (node.text or "") for node in far.iter())


ROW = {
    "station": "10001", "name": "Valley [Farm]", "distance_km": 12.4, "height_difference_m": -30.4, "first": 1961,
    "last": 2020, "coverage": 0.987, "expected_error_c": 1.24,
}  # fmt: skip


def test_stations_are_told_with_what_is_known(capsys: pytest.CaptureFixture[str]) -> None:
    unknown = {**ROW, "height_difference_m": None, "first": None, "last": None, "coverage": None, "name": ""}
    print_stations([ROW, unknown], ["The list is of yesterday."])
    first, second = (line.split() for line in capsys.readouterr().out.splitlines() if line.strip().startswith("10001"))
    assert first == ["10001", "Valley", "[Farm]", "12", "km", "-30", "m", "1961-2020", "99%", "1.2", "°C"]
    assert second == ["10001", "12", "km", "?", "?", "?", "1.2", "°C"]
    print_stations([ROW], ["The list is of yesterday."])
    assert capsys.readouterr().out.rstrip().endswith("The list is of yesterday.")
    print_stations([], [])
    assert capsys.readouterr().out == "No station with daily temperatures is near.\n"


RECORD = {
    "station": "10001 Farm", "source": "made", "first": "1990-01-01", "last": "1999-12-31", "days": 3652,
    "coverage": 0.9876, "licence": "none", "notes": ["a [note]"], "missing": {"tmin": 3, "tmax": 4}, "longest_gap": 2,
    "findings": [], "filled_by": "of at most 5 days bridged by a straight line",
    "held_out": {"tmin": {"days": 12, "error_c": 1.26, "bias_c": -0.14}, "tmax": {"days": 0}},
}  # fmt: skip


def test_a_record_is_told_with_its_days_and_its_faults(capsys: pytest.CaptureFixture[str]) -> None:
    print_record({**RECORD, "stored": "here/10001.parquet"})
    out = " ".join(capsys.readouterr().out.split())
    assert "10001 Farm: made 1990-01-01 to 1999-12-31, 3652 days, 98.8% observed; licence: none." in out
    assert "Stored in here/10001.parquet" in out and "- a [note]" in out
    print_check(RECORD)
    out = " ".join(capsys.readouterr().out.split())
    assert "Stored in" not in out and "Days missing: tmin 3, tmax 4; longest gap, in days: 2." in out
    assert "No day looks wrong by any of the eleven checks." in out
    assert (
        "Gaps of tmin of at most 5 days bridged by a straight line: 1.3 °C error, -0.1 °C bias on 12 real days" in out
    )
    assert "Gaps of tmax" not in out
    days = [("1994-05-01", 31.04), ("1994-05-02", 32.0), ("1994-05-03", 33.0), ("1994-05-04", 34.0)]
    print_check({**RECORD, "findings": [{"says": "too warm", "variable": "tmax", "count": 4, "days": days}]})
    out = " ".join(capsys.readouterr().out.split())
    assert "too warm tmax 4 1994-05-01 (31.0)" in out and "1994-05-03 (33.0)" in out and "1994-05-04" not in out
    assert "Nothing was changed: look at these days" in out and "No day looks wrong" not in out


@pytest.mark.parametrize("helps", [True, False])
def test_a_tie_is_told_with_what_it_gains(capsys: pytest.CaptureFixture[str], helps: bool) -> None:
    answer = {
        "days": 61, "tie": {"tmin_mean": -1.26, "tmax_mean": 0.44}, "swing": {"tmin": 0.9, "tmax": 1.1},
        "error_before": {"tmin": 2.2, "tmax": 1.8}, "error_after": {"tmin": 1.1, "tmax": 1.2}, "helps": helps,
    }  # fmt: skip
    print_tie(answer)
    out = capsys.readouterr().out
    assert out.startswith("61 days compared.") and ("leave it out" in out) != helps
    assert re.search(r"tmin\s+-1\.3 °C\s+0\.9 °C\s+2\.2 °C\s+1\.1 °C", out)
    assert re.search(r"tmax\s+\+0\.4 °C\s+1\.1 °C\s+1\.8 °C\s+1\.2 °C", out)
