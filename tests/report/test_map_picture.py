"""Pictures of a map: what is drawn, in which colours, with which words."""

from __future__ import annotations

import base64
import itertools
import json
import re
import zlib
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from chillplan.report.map_layers import VERDICT_LOOKS
from chillplan.report.map_panels import SHADES, _shades
from chillplan.report.map_picture import map_html
from chillplan.verdicts import VERDICTS
from tests.report.test_browser import CHROMIUM, DRIVER, browser


def made_map(rows: int = 3, columns: int = 4, periods: int = 2) -> xr.Dataset:
    """A map whose verdicts follow each other, on longitudes from 0 to 360."""
    shape = (periods, 1, 1, rows, columns)
    verdict = (np.arange(np.prod(shape)).reshape(shape) % len(VERDICTS)).astype(float)
    verdict[..., 0, 0] = np.nan
    dims = ("period", "warming", "species", "lat", "lon")
    good = np.where(np.isnan(verdict), np.nan, 20.0)
    with_winters = ("period", "warming", "percentile", "lat", "lon")
    with_frosts = ("period", "warming", "frost", "percentile", "lat", "lon")
    empty = np.repeat(np.isnan(verdict), 3, axis=2)
    return xr.Dataset(
        {
            "verdict": (dims, verdict),
            "chance": (dims, np.where(np.isnan(verdict), np.nan, 83.0)),
            "sow_from": (dims, np.where(np.isnan(verdict), np.nan, 61.0)),
            "effective_chill": (with_winters, np.where(empty, np.nan, 95.0)),
            "last_spring_frost": (with_frosts, np.where(empty[:, :, None], np.nan, 280.0)),
            "good": (dims, good),
            "winters": (dims, np.where(np.isnan(verdict), np.nan, 30.0)),
            "seasons": (("period", "warming", "lat", "lon"), np.where(np.isnan(verdict[:, :, 0]), np.nan, 30.0)),
        },
        {
            "period": [f"{1961 + 30 * number}-{1990 + 30 * number}" for number in range(periods)],
            "warming": [0.0],
            "species": ["Tilia americana"],
            "common_name": ("species", ["basswood"]),
            "percentile": [10.0, 50.0, 90.0],
            "frost": [0.0],
            "lat": ("lat", np.linspace(50.0, 40.0, rows), {"units": "degrees_north"}),
            "lon": ("lon", np.linspace(170.0, 200.0, columns), {"units": "degrees_east"}),
        },
        {"comment": "At least <80> % good.", "source": "invented"},
    )


def page_of(html: str) -> dict:
    """What the page's script is given."""
    found = re.search(r"<script>const map = (.*?);\n\"use strict\"", html, re.DOTALL)
    assert found is not None
    return json.loads(found[1])


def pixels_of(panel: dict) -> np.ndarray:
    """Palette positions of the picture of a panel."""
    content = base64.b64decode(panel["image"].split(",")[1])
    width, height = (int.from_bytes(content[at : at + 4]) for at in (16, 20))
    begin = content.index(b"IDAT") + 4
    length = int.from_bytes(content[begin - 8 : begin - 4])
    rows = np.frombuffer(zlib.decompress(content[begin : begin + length]), np.uint8).reshape(height, width + 1)
    return rows[:, 1:]


FIRST = "verdict|Tilia americana|1961-1990|0"


def test_every_verdict_has_a_colour_and_words_of_its_own() -> None:
    assert tuple(VERDICT_LOOKS) == VERDICTS
    assert len({colour for colour, _ in VERDICT_LOOKS.values()}) == len(VERDICTS)


def test_every_number_is_offered_and_every_choice_has_its_picture() -> None:
    page = page_of(map_html(made_map()))
    assert [layer["key"] for layer in page["layers"]] == [
        "verdict", "later", "chance", "good", "sow_from", "chill", "chill_low", "last_frost",
    ]  # fmt: skip
    assert [layer["group"] for layer in page["layers"]].count("Of the place") == 3
    wanted = set()
    for layer in page["layers"]:
        choices = [
            [one["value"] for one in page["choices"][dim]] if dim in layer["on"] else [""] for dim in page["names"]
        ]
        wanted |= {"|".join((layer["key"], *parts)) for parts in itertools.product(*choices)}
    assert set(page["panels"]) == wanted
    assert page["choices"]["species"] == [{"value": "Tilia americana", "words": "Tilia americana, basswood"}]


@pytest.mark.parametrize(
    ("east", "shift", "edges"),
    [
        ([170.0, 180.0, 190.0, 200.0], 0, (165.0, 205.0)),
        ([230.0, 240.0, 250.0, 260.0], 0, (-135.0, -95.0)),
        ([0.0, 90.0, 180.0, 270.0], -2, (-225.0, 135.0)),
    ],
)
def test_longitudes_to_360_are_drawn_from_west_to_east(east: list[float], shift: int, edges: tuple) -> None:
    data = made_map().assign_coords(lon=("lon", east, {"units": "degrees_east"}))
    page = page_of(map_html(data))
    expected = np.nan_to_num(np.roll(data["verdict"].values[0, 0, 0], -shift, axis=1), nan=255)
    assert (pixels_of(page["panels"][FIRST]) == expected).all()
    assert page["frame"]["edges"][:2] == pytest.approx(edges)


def test_a_plain_grid_is_drawn_cell_by_cell() -> None:
    data = made_map().assign_coords(lon=("lon", [1.0, 2.0, 3.0, 4.0], {"units": "degrees_east"}))
    expected = np.nan_to_num(data["verdict"].values[0, 0, 0], nan=255)
    for same in (data, data.isel(lat=slice(None, None, -1)), data.transpose(..., "lon", "lat")):
        assert (pixels_of(page_of(map_html(same))["panels"][FIRST]) == expected).all()


def test_turned_grids_show_each_pixel_the_nearest_place() -> None:
    data = made_map(rows=6, columns=6, periods=1)
    rows, columns = np.meshgrid(np.linspace(50.0, 45.0, 6), np.linspace(1.0, 8.0, 6), indexing="ij")
    straight = data.assign_coords(
        lat=("lat", rows[:, 0], {"units": "degrees_north"}), lon=("lon", columns[0], {"units": "degrees_east"})
    )
    turned = data.drop_vars(["lat", "lon"]).rename(lat="y", lon="x")
    turned = turned.assign_coords(
        latitude=(("y", "x"), rows, {"units": "degrees_north"}),
        longitude=(("y", "x"), columns, {"units": "degrees_east"}),
    )
    first, second = (page_of(map_html(each)) for each in (straight, turned))
    assert first["frame"]["edges"] == pytest.approx(second["frame"]["edges"], abs=0.5)
    seen = pixels_of(second["panels"]["verdict|Tilia americana|1961-1990|0"])
    assert set(np.unique(seen)) >= set(range(len(VERDICTS)))
    assert seen[0, -1] == 5
    assert seen[0, 0] == 255


def test_legends_are_words_with_shares_that_add_up() -> None:
    panels = page_of(map_html(made_map()))["panels"]
    for panel in panels.values():
        assert sum(share for _, _, share in panel["key"]) == pytest.approx(1.0)
        assert panel["absent"] == 1
    assert any(
        words.startswith("was: ") and "; becomes: " in words
        for _, words, _ in panels["later|Tilia americana||0"]["key"]
    )
    assert [words for _, words, _ in panels[FIRST.replace("verdict", "chance")]["key"]][-1] == (
        "90 to 100 %: 9 or more winters of 10"
    )


def test_chances_and_dates_fall_into_the_class_that_names_them() -> None:
    data = made_map(periods=1)
    data["chance"][...] = np.where(data["verdict"].isnull(), np.nan, 83.4)
    data["chance"][0, 0, 0, 0, 1] = 60.0
    data["sow_from"][...] = 61.0  # 1 October
    data["sow_from"][0, 0, 0, 0, 1] = 60.0
    data["sow_from"][0, 0, 0, 0, 2] = np.nan
    page = page_of(map_html(data))

    def said(layer: str, place: int) -> tuple[str, str]:
        panel = page["panels"][FIRST.replace("verdict", layer)]
        return panel["key"][pixels_of(panel).ravel()[place]][1], panel["texts"][panel["says"][place]]

    assert said("chance", 1) == ("60 to 80 %: 6 to 8 winters of 10", "60 %")
    assert said("chance", 3) == ("80 to 90 %: 8 to 9 winters of 10", "83 %")
    assert said("sow_from", 1) == ("16 to 30 September", "30 September")
    assert said("sow_from", 2) == ("no date outdoors is good often enough",) * 2
    assert said("sow_from", 3) == ("1 to 15 October", "1 October")


@pytest.mark.parametrize(("lowest", "highest", "step"), [(93.0, 118.0, 5), (50.0, 125.0, 10), (0.0, 260.0, 40)])
def test_days_stand_in_few_classes_that_hold_them(lowest: float, highest: float, step: int) -> None:
    """At most eight classes, of a round number of days, as narrow as that allows."""
    data = made_map(periods=1)
    values = np.linspace(lowest, highest, 12)
    data["effective_chill"][...] = values.reshape(3, 4)
    page = page_of(map_html(data))
    (panel,) = [panel for name, panel in page["panels"].items() if name.startswith("chill|")][:1]
    words = [words for _, words, _ in panel["key"]]
    assert len(words) <= 8 and words[0] == f"{lowest // step * step:.0f} to {lowest // step * step + step:.0f} days"
    for place, value in list(enumerate(values))[1:]:
        begin, end = map(int, words[pixels_of(panel).ravel()[place]].removesuffix(" days").split(" to "))
        assert begin <= value < end and end - begin == step
        assert panel["texts"][panel["says"][place]] == f"{round(value)} days"


@pytest.mark.parametrize("count", [1, 2, 5, 6, 9])
def test_classes_are_darker_the_lower_they_are(count: int) -> None:
    """Also in print without colour: weights of Rec. 709 for red, green and blue."""
    shades = [[int(shade[at : at + 2], 16) for at in (1, 3, 5)] for shade in _shades(count)]
    light = [0.2126 * red + 0.7152 * green + 0.0722 * blue for red, green, blue in shades]
    assert len(light) == count and light == sorted(light)
    assert all(after - before > 8 for before, after in itertools.pairwise(light))
    ends = {1: [SHADES[2]]}.get(count, [SHADES[0], SHADES[-1]])
    assert [_shades(count)[0], _shades(count)[-1]] == [ends[0], ends[-1]]
    assert count != 5 or tuple(_shades(5)) == SHADES


def test_rare_changes_are_shown_together() -> None:
    """Twelve kinds of change have a colour of their own; a place with a rarer one is not shown as unchanged."""
    data = made_map(rows=10, columns=10)
    size = len(VERDICTS)
    first = np.arange(100) % size
    data["verdict"][0, 0, 0] = first.reshape(10, 10)
    data["verdict"][1, 0, 0] = ((first + 1 + np.arange(100) // size) % size).reshape(10, 10)
    page = page_of(map_html(data))
    panel = page["panels"]["later|Tilia americana||0"]
    words = [words for _, words, _ in panel["key"]]
    assert words.count("another change") == 1 and len(words) == len(set(words)) == 14
    same = data["verdict"].values[0, 0, 0] == data["verdict"].values[1, 0, 0]
    shown = pixels_of(panel)[:10, :10]
    assert ((shown == words.index("no change")) == same).all()
    assert sum(share for _, _, share in panel["key"]) == pytest.approx(1.0)


def test_south_of_the_equator_the_same_day_has_another_date() -> None:
    data = made_map(periods=1).assign_coords(lat=("lat", [-30.0, -35.0, -40.0], {"units": "degrees_north"}))
    data["sow_from"][...] = 61.0
    panel = page_of(map_html(data))["panels"][FIRST.replace("verdict", "sow_from")]
    assert "1 to 15 April" in [words for _, words, _ in panel["key"]]
    both = data.assign_coords(lat=("lat", [10.0, 0.0, -10.0], {"units": "degrees_north"}))
    panel = page_of(map_html(both))["panels"][FIRST.replace("verdict", "sow_from")]
    assert "1 to 15 October, south of the equator 1 to 15 April" in [words for _, words, _ in panel["key"]]


def test_many_dates_are_drawn_as_months() -> None:
    data = made_map(periods=1)
    data["sow_from"][...] = np.arange(12).reshape(1, 1, 1, 3, 4) * 16.0
    panel = page_of(map_html(data))["panels"][FIRST.replace("verdict", "sow_from")]
    words = [words for _, words, _ in panel["key"]]
    assert words == ["August", "September", "October", "November", "December", "January"]
    assert len({colour for colour, _, _ in panel["key"]}) == 6
    assert words[pixels_of(panel).ravel()[4]] == "October"  # day 64 is 4 October
    assert panel["texts"][panel["says"][4]] == "4 October"


@pytest.mark.parametrize(("halves", "classes"), [(9, 9), (10, 5)])
def test_nine_half_months_are_told_apart_and_ten_are_told_as_months(halves: int, classes: int) -> None:
    data = made_map(periods=1)
    data["sow_from"][...] = np.minimum(np.arange(12).reshape(1, 1, 1, 3, 4), halves - 1) * 15.3 + 3.0
    panel = page_of(map_html(data))["panels"][FIRST.replace("verdict", "sow_from")]
    assert len(panel["key"]) == classes


def test_a_year_without_frost_is_said() -> None:
    data = made_map(periods=1)
    data["last_spring_frost"][...] = -np.inf
    panel = page_of(map_html(data))["panels"]["last_frost||1961-1990|0"]
    assert [words for _, words, share in panel["key"] if share] == ["no such frost"]


def test_nothing_is_fetched_and_names_cannot_break_out() -> None:
    data = made_map().assign_coords(species=["</script><b>x"])
    html = map_html(data)
    assert not re.search(r"""<(script|link|img)[^>]+(src|href)=["']http""", html)
    assert "</script><b>x" not in html
    assert "<b>x" not in html
    assert "&lt;80&gt;" in html


def test_a_large_grid_stays_small_and_one_with_many_species_too() -> None:
    html = map_html(made_map(rows=400, columns=500, periods=1))
    library = max(len(part) for part in html.split("<script>"))
    assert len(html) - library < 1_500_000
    assert "coarser than the map" not in html


def test_a_picture_coarser_than_its_map_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("chillplan.report.map_picture.ALL_PIXELS", 10_000)
    html = map_html(made_map(rows=80, columns=90, periods=1))
    assert "The picture is coarser than the map." in html


def test_places_in_a_row_are_drawn_as_points() -> None:
    data = made_map().stack(place=("lat", "lon")).reset_index("place")
    page = page_of(map_html(data))
    assert page["frame"]["drawn"]
    assert len(page["frame"]["x"]) == 12
    assert page["panels"][FIRST]["colour"][:3] == [-1, 1, 2]
    assert "image" not in page["panels"][FIRST]


@pytest.mark.skipif(CHROMIUM is None or DRIVER is None, reason="Chromium and its driver are not at hand")
@pytest.mark.parametrize("width", [360, 1200])
def test_in_a_browser_each_layer_is_drawn_and_nothing_is_cut_off(tmp_path: Path, width: int) -> None:
    path = tmp_path / "map.html"
    path.write_text(map_html(made_map(rows=6, columns=9)), encoding="utf-8")
    with browser(path, width) as opened:
        for number in range(len(page_of(path.read_text(encoding="utf-8"))["layers"])):
            opened.execute_script(
                "const s = document.querySelector('select[name=layer]'); s.selectedIndex = arguments[0];"
                "s.dispatchEvent(new Event('change'))",
                number,
            )
            assert opened.execute_script("return document.querySelectorAll('#map image').length") == 1
            assert opened.execute_script("return document.querySelectorAll('#key li').length") >= 2
            wide, seen = opened.execute_script(
                "const d = document.documentElement; return [d.scrollWidth, d.clientWidth]"
            )
            assert wide <= seen
        assert opened.get_log("browser") == []
