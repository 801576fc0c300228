"""A map on which a ruler finds the stations where they are."""

from __future__ import annotations

import math
from xml.etree import ElementTree

import pytest

from chillplan.report.tables_stations import MapStation, station_map
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
