"""The answers of the soil check, from figures made by hand: every cell, every sentence, every point of the picture."""

from __future__ import annotations

import csv
import io
import math
from datetime import date
from xml.etree import ElementTree

import numpy as np
import pytest

from chillplan.report.soilcheck import Found, csv_of, json_of, print_soilcheck, winter_picture
from chillplan.seasons.soil_covers import CoverTrial
from chillplan.seasons.soil_faults import SoilFaults
from chillplan.seasons.soil_stations import Calibrated, Checked, Station
from chillplan.seasons.soilcheck import SoilCheck, WinterChill
from tests.report.test_recorded import same

NOT_KNOWN = float("nan")


def chill(*pairs: tuple[float, float]) -> WinterChill:
    return WinterChill(np.array([model for model, _ in pairs]), np.array([soil for _, soil in pairs]))


def check(rmse: float, bias: float = 0.25, lag: int | None = 0, days: int = 700) -> SoilCheck:
    """Two winters: chill off by 4 and 8 days, agreed on 7 of 8 pairs; to the cold edge by 1 and 2, on all."""
    usual, edge = chill((64.0, 68.0), (96.0, 88.0)), chill((50.0, 51.0), (80.0, 82.0))
    return SoilCheck(days, rmse, bias, (2001, 2002), usual, edge, lag)


NOTHING = SoilCheck(0, NOT_KNOWN, NOT_KNOWN, (), chill(), chill(), None)


def checked(name: str, of: SoilCheck, notes: tuple[str, ...] = (), rain: list[float] | None = None) -> Checked:
    dates = np.arange("2001-01-01", "2001-01-05", dtype="datetime64[D]")
    air = np.zeros(4)
    water = None if rain is None else np.array(rain)
    faults = SoilFaults(air == 0.0, air == 0.0, None, notes)
    return Checked(Station(name, 45.0, 100.0, dates, np.arange(4), air, air, air, water), air, of, faults)


def tuned(before: float, after: float) -> Calibrated:
    first, last = np.datetime64("2001-01-01"), np.datetime64("2001-12-31")
    return Calibrated({"shift": 0.123456}, first, last, False, check(before), check(after), np.zeros(4))


COVERS = CoverTrial("short grass", {"short grass": check(1.5), "bare": check(1.0), "leaf mulch": check(1.75)})
ALIKE = CoverTrial("short grass", {"short grass": check(1.5), "bare": check(1.5), "leaf mulch": check(1.75)})
GARDEN = Found(checked("garden", check(1.5), ("a [stuck] sensor",), [0.0, NOT_KNOWN, NOT_KNOWN, 2.0]), COVERS)
SLOPE = Found(checked("slope", check(2.5, -0.5, lag=-2)), ALIKE, tuned(2.5, 1.25))
EMPTY = Found(checked("pond", NOTHING))
FIGURES = {
    "days": 700,
    "rmse_c": 1.5,
    "bias_c": 0.25,
    "chill_mae_days": 6.0,
    "agreement": 0.875,
    "cold_edge": {"zero_c": -5.0, "full_c": 0.0, "chill_mae_days": 1.5, "agreement": 1.0},
}


def said(capsys: pytest.CaptureFixture[str], *stations: Found, depth: float = 5.0) -> tuple[list[str], str]:
    print_soilcheck(stations, depth)
    out = capsys.readouterr().out
    return [" ".join(line.split()) for line in out.splitlines()], " ".join(out.split())


def test_the_json_of_a_station_holds_each_figure_under_its_name() -> None:
    (row,) = json_of([GARDEN], 5.0)["stations"]
    assert row == {
        "station": "garden",
        **FIGURES,
        "winters": 2,
        "lag_days": 0,
        "precipitation_used": True,
        "precipitation_guessed_days": 2,
        "notes": ["a [stuck] sensor"],
        "covers": {
            "stated": "short grass",
            "suggested": "bare",
            "clearly_better_c": 0.5,
            "tried": [
                {"cover": cover, **FIGURES, "rmse_c": rmse}
                for cover, rmse in (("short grass", 1.5), ("bare", 1.0), ("leaf mulch", 1.75))
            ],
        },
    }
    (row,) = json_of([SLOPE], 5.0)["stations"]
    assert (row["lag_days"], row["precipitation_used"], row["precipitation_guessed_days"]) == (-2, False, 0)
    assert row["covers"]["suggested"] is None
    assert row["calibration"] == {
        "parameters": {"shift": 0.1235},
        "fitted_from": "2001-01-01",
        "fitted_to": "2001-12-31",
        "days_in_turn": False,
        "before": {**FIGURES, "rmse_c": 2.5},
        "after": {**FIGURES, "rmse_c": 1.25},
    }


def test_the_json_over_all_stations_is_of_those_with_figures() -> None:
    """Of errors 1.5 and 2.5: 2 in the middle, 2.4 at nine in ten. Calibrated are those that were, alone."""
    found = json_of([GARDEN, SLOPE, EMPTY], 10.0)
    assert (found["schema"], found["depth_cm"], len(found["stations"])) == (1, 10.0, 3)
    assert (found["median_rmse_c"], found["mean_rmse_c"], found["p90_rmse_c"]) == (2.0, 2.0, 2.4)
    assert (found["chill_mae_days"], found["agreement"], found["cold_edge"]) == (6.0, 0.875, FIGURES["cold_edge"])
    assert found["calibrated"]["before"]["median_rmse_c"] == 2.5
    assert found["calibrated"]["after"]["median_rmse_c"] == 1.25
    assert found["stations"][2]["covers"] is None and "calibration" not in found["stations"][2]
    none = json_of([EMPTY], 5.0)
    assert none["median_rmse_c"] is none["mean_rmse_c"] is none["p90_rmse_c"] is none["agreement"] is None
    assert "calibrated" not in none
    skewed = json_of([Found(checked(str(error), check(error))) for error in (1.0, 1.5, 5.0)], 5.0)
    assert (skewed["median_rmse_c"], skewed["mean_rmse_c"], skewed["p90_rmse_c"]) == (1.5, 2.5, 4.3)


def test_the_spreadsheet_has_each_figure_in_its_column() -> None:
    rows = list(csv.DictReader(io.StringIO(csv_of([GARDEN, SLOPE, EMPTY]))))
    assert rows[0] == {
        "station": "garden", "days": "700", "rmse_c": "1.5", "bias_c": "0.25", "chill_mae_days": "6.0",
        "agreement": "0.875", "winters": "2", "lag_days": "0", "calibrated_rmse_c": "",
        "calibrated_chill_mae_days": "", "suggested_cover": "bare", "chill_mae_days_to_cold_edge": "1.5",
    }  # fmt: skip
    assert (rows[1]["calibrated_rmse_c"], rows[1]["calibrated_chill_mae_days"]) == ("1.25", "6.0")
    assert (rows[1]["suggested_cover"], rows[1]["lag_days"], rows[1]["bias_c"]) == ("", "-2", "-0.5")
    assert (rows[2]["rmse_c"], rows[2]["lag_days"], rows[2]["winters"]) == ("", "", "0")


def test_the_table_has_each_figure_in_its_column(capsys: pytest.CaptureFixture[str]) -> None:
    lines, _ = said(capsys, GARDEN, SLOPE, EMPTY)
    assert "Station days error bias winters chill to -5 agree lag" in lines
    assert "garden 700 1.50 +0.25 2 6.0 1.5 88 0" in lines
    assert "slope 700 2.50 -0.50 2 6.0 1.5 88 -2" in lines
    assert "pond 0 – – 0 – – – –" in lines


def test_the_soil_check_says_what_was_compared_and_what_is_assumed(capsys: pytest.CaptureFixture[str]) -> None:
    for stations, water in (
        ([GARDEN], "with precipitation"),
        ([SLOPE], "without precipitation"),
        ([GARDEN, SLOPE], "with precipitation where the record has it"),
    ):
        _, words = said(capsys, *stations, depth=7.5)
        assert words.startswith(f"Seed-zone model against soil thermometers at 7.5 cm, {water}. Error and bias")
    _, words = said(capsys, GARDEN)
    for sentence in (
        "Error and bias of the daily mean (°C), chill error of a winter (days), agreement (%), best lag (days).",
        "Observed: air and soil. Modelled: the seed zone. Assumed: how a day counts as chill (0 at -2, 1 from 1 to 7, "
        "0 at 12 °C); it may as well count down to -5 °C (1 from 0), and the chill error is given for both. Chill "
        "error: mean error of a winter's effective chill, September to May (six months later in the south).",
        "garden: a [stuck] sensor",
        "Precipitation is missing on 2 days: guessed there from the daily range.",
    ):
        assert sentence in words
    assert "All stations" not in words and "calibration: " not in words
    assert "guessed there" not in said(capsys, SLOPE)[1]


def test_the_figures_over_all_stations_are_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    _, words = said(capsys, GARDEN, SLOPE)
    rest = "chill error 6.00 days, down to -5 °C 1.50 days, agreement 87.5 %"
    assert f"All stations: median error 2.00 °C, mean 2.00 °C, 90th percentile 2.40 °C, {rest}" in words
    fit = "median error {0} °C, mean {0} °C, 90th percentile {0} °C, "
    assert f"Days not fitted, before calibration: {fit.format('2.50')}{rest}" in words
    assert f"Days not fitted, after calibration: {fit.format('1.25')}{rest}" in words
    assert "Precipitation is missing on 2 days at 1 of 2 stations: guessed there from the daily range." in words
    _, words = said(capsys, EMPTY, EMPTY)
    none = "median error –, mean –, 90th percentile –, chill error –, down to -5 °C –"
    assert f"All stations: {none}" in words and "agreement –" not in words


@pytest.mark.parametrize(
    ("lag", "told"),
    [
        (1, "the soil record fits the air best when dated 1 day earlier"),
        (-1, "the air record fits the soil best when dated 1 day earlier"),
        (2, "the soil record fits the air best when dated 2 days earlier"),
        (0, ""),
        (None, ""),
    ],
)
def test_a_record_dated_wrong_is_named(capsys: pytest.CaptureFixture[str], lag: int | None, told: str) -> None:
    lines, words = said(capsys, Found(checked("slope", check(1.0, lag=lag))))
    told_of = f"slope: {told}: check on which day morning readings are entered"
    assert (told_of in words) if told else ("dated" not in words)
    sign = "–" if lag is None else f"{lag:+d}" if lag else "0"
    assert f"slope 700 1.00 +0.25 2 6.0 1.5 88 {sign}" in lines


def test_covers_are_told_of_one_station_always_and_of_several_where_one_fits_better(
    capsys: pytest.CaptureFixture[str],
) -> None:
    better = (
        "bare fits clearly better than short grass, the cover stated: error 1.00 against 1.50 °C; to use it, "
        "say --cover 'bare'"
    )
    no_better = (
        "no cover fits clearly better (by 0.5 °C) than short grass, the cover stated: error 1.50 °C; bare 1.50, "
        "leaf mulch 1.75"
    )
    like = "A cover says what the ground acts like, not what grows on it; soilcheck --calibrate comes closer than any."
    _, words = said(capsys, GARDEN)
    assert f"garden: {better}" in words and like in words and "stations" not in words
    _, words = said(capsys, SLOPE)
    assert f"slope: {no_better}" in words and like not in words
    _, words = said(capsys, GARDEN, SLOPE)
    assert f"garden: {better}" in words and no_better not in words and like in words
    assert "Another cover fits clearly better (by 0.5 °C) at 1 of 2 stations." in words
    _, words = said(capsys, SLOPE, SLOPE)
    assert "at 0 of 2 stations." in words and like not in words
    assert "cover" not in said(capsys, EMPTY)[1]


def test_everything_the_soil_check_prints_is_what_was_found(capsys: pytest.CaptureFixture[str]) -> None:
    for stations in ([GARDEN], [SLOPE], [GARDEN, SLOPE, EMPTY]):
        print_soilcheck(stations, 5.0)
    same("soil.txt", capsys.readouterr().out)


AIR = [-3.0, 4.0, NOT_KNOWN, 12.0, 6.0]
MODEL = [1.0, 2.0, 3.0, 4.0, 5.0]
SOIL = [1.5, NOT_KNOWN, 3.5, 4.5, 5.5]


def drawn(first: date, *series: list[float], title: str = "<garden> 2001/02") -> ElementTree.Element:
    picture = ElementTree.fromstring(winter_picture(title, first, *series))
    assert not any((node.tail or "").strip() for node in picture.iter()), "no word stands outside its place"
    return picture


def of(picture: ElementTree.Element, tag: str) -> list[ElementTree.Element]:
    return [node for node in picture.iter() if node.tag.endswith(tag)]


def y_of(value: float, low: float, high: float) -> float:
    """Between 52 from the upper and 40 from the lower edge of 420."""
    return 52.0 + 328.0 * (high - value) / (high - low)


def test_every_point_of_the_soil_picture_stands_on_its_day_and_at_its_degrees() -> None:
    """From -5 to 15 °C, the next fives; five days between 56 from the left and 16 from the right edge of 960."""
    picture = drawn(date(2001, 10, 30), AIR, MODEL, SOIL)
    days = [56.0, 278.0, 500.0, 722.0, 944.0]
    for line, values in zip(of(picture, "path"), (AIR, MODEL, SOIL), strict=True):
        found, pen = line.get("d", ""), "M"
        expected = []
        for x, value in zip(days, values, strict=True):
            if math.isnan(value):
                pen = "M"
            else:
                expected.append(f"{pen}{x:.1f} {y_of(value, -5.0, 15.0):.1f}")
                pen = "L"
        assert found == " ".join(expected)
    colours = [line.get("stroke") for line in of(picture, "path")]
    assert len(set(colours)) == 3
    keys = [line.get("stroke") for line in of(picture, "line") if line.get("stroke-width") == "3"]
    assert keys == colours, "the key of each line has its colour"
    names = [node.text for node in of(picture, "text") if node.text in {"air", "model", "thermometer"}]
    assert names == ["air", "model", "thermometer"]


def test_the_degrees_and_months_of_the_soil_picture_are_where_they_say() -> None:
    picture = drawn(date(2001, 10, 30), AIR, MODEL, SOIL)
    texts = {node.text: (float(node.get("x", "")), float(node.get("y", ""))) for node in of(picture, "text")}
    for value in (-5, 0, 5, 10, 15):
        x, y = texts[f"{value} °C"]
        assert x < 56.0 and y == pytest.approx(y_of(value, -5.0, 15.0) + 4.0, abs=0.06)
    assert "20 °C" not in texts and "-10 °C" not in texts
    grid = [line for line in of(picture, "line") if line.get("x1") == "56" and line.get("x2") == "944"]
    assert [float(line.get("y1", "")) for line in grid] == [
        pytest.approx(y_of(value, -5.0, 15.0), abs=0.06) for value in (-5, 0, 5, 10, 15)
    ]
    assert all(line.get("y1") == line.get("y2") for line in grid)
    dark = [line.get("stroke") for line in grid]
    assert dark[1] != dark[0] == dark[2] == dark[3], "freezing stands out"
    assert texts["Nov 2001"][0] == 504.0, "two days after 30 October"
    (month,) = [line for line in of(picture, "line") if line.get("x1") == "500.0"]
    assert (month.get("x2"), month.get("y1"), month.get("y2")) == ("500.0", "52", "380")
    whole, band = of(picture, "rect")
    assert (whole.get("width"), whole.get("height"), whole.get("fill")) == ("960", "420", "white")
    assert picture.get("viewBox") == "0 0 960 420"
    top, bottom = y_of(7.0, -5.0, 15.0), y_of(1.0, -5.0, 15.0)
    assert float(band.get("y", "")) == pytest.approx(top, abs=0.06)
    assert float(band.get("height", "")) == pytest.approx(bottom - top, abs=0.11)
    assert (band.get("x"), band.get("width")) == ("56", "888")
    assert "green band: 1 to 7 °C, a full day of chill" in texts and "<garden> 2001/02" in texts
    assert picture.get("aria-label") == "<garden> 2001/02"


def test_a_picture_of_warm_cold_or_no_soil_is_whole() -> None:
    """The green band ends at the edge of the picture, and a picture of nothing has degrees too."""
    warm = drawn(date(2001, 1, 1), [22.0, 23.0], [21.0, 22.0], [21.0, 22.0])
    assert float(of(warm, "rect")[1].get("height", "")) == 0.0
    cool = drawn(date(2001, 1, 1), [2.0, 3.0], [3.0, 3.0], [3.0, 3.0])
    band = of(cool, "rect")[1]
    assert float(band.get("y", "")) == 52.0, "nothing above 5 °C is drawn"
    assert float(band.get("height", "")) == pytest.approx(y_of(1.0, 0.0, 5.0) - 52.0, abs=0.06)
    nothing = drawn(date(2001, 1, 1), [NOT_KNOWN], [NOT_KNOWN], [NOT_KNOWN])
    assert {"0 °C", "5 °C"} <= {node.text for node in of(nothing, "text")}
    level = drawn(date(2001, 1, 1), [5.0], [5.0], [5.0])
    assert [line.get("d") for line in of(level, "path")] == ["M56.0 380.0"] * 3
    assert "Jan 2001" in {node.text for node in of(level, "text")}
