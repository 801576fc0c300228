"""What lists and maps say of rows made by hand, whole: species, seed to sow, places, warmings, records, stations."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import xarray as xr

from chillplan.report.map_panels import panels_of
from chillplan.report.map_picture import map_html
from chillplan.report.reader import reader_for
from chillplan.report.tables_lists import (
    amount_json,
    list_rows,
    page_json,
    print_amounts,
    print_list,
    print_map_summary,
    print_page,
    print_sites,
    print_warmings,
)
from chillplan.report.tables_stations import (
    MapStation,
    print_check,
    print_record,
    print_stations,
    print_tie,
    station_map,
)
from chillplan.seeds.amounts import Amount, Lot
from chillplan.seeds.page import Section
from chillplan.verdicts import VERDICTS
from tests.report.handmade import NAMELESS, WHITE, hand_plan
from tests.report.test_map_picture import page_of
from tests.report.test_recorded import same, written

PAGE = (Section("Indoors", ("Soak it.", "Chill it at [4] °C."), numbered=True), Section("Take care", ("Poison.",)))
FULL = replace(
    WHITE, other_names=("pale aster", "[moon] aster"), uses=("meadow", "[bees]"), note="A note.", seeds_per_gram=450.0
)
NOTES = ("A first [note].", "A second.")


def test_a_list_of_species_says_what_the_table_holds(capsys: pytest.CaptureFixture[str]) -> None:
    advices = {advice.species.name: advice for advice in hand_plan().species}
    rows = list_rows([FULL, replace(NAMELESS, name="Other")], advices)
    print_list(list_rows([FULL], advices), with_verdict=True)
    print_list(rows, with_verdict=False)
    print_page(FULL, PAGE)
    print_page(replace(NAMELESS, family="", dormancy=""), PAGE[1:])
    same("species.txt", capsys.readouterr().out)
    same("species.json", written({"rows": rows, "page": page_json(FULL, PAGE)}))


def test_the_seed_to_sow_is_told_in_every_column(capsys: pytest.CaptureFixture[str]) -> None:
    lot = Lot(purity=0.9, viability=0.8, seeds_per_gram=450.0)
    enough = Amount(100, 0.9, 0.91236, 0.32456, 345, 0.95678, 2, 0.98765)
    none = Amount(50, 0.95, 0.5, 0.1, None, None, None, 0.6)
    rows = [amount_json(FULL, lot, enough, 8), amount_json(WHITE, Lot(), none, None)]
    print_amounts(rows, "A [basis].", NOTES)
    rows[1]["common_name"] = ""
    print_amounts(rows[1:], "A [basis].", ())
    print_amounts(rows[:1], "A [basis].", (), ounces=True)
    same("amounts.txt", capsys.readouterr().out)
    same("amounts.json", written(rows))


def test_many_places_and_warmings_are_told_row_by_row(capsys: pytest.CaptureFixture[str]) -> None:
    verdicts = {"sow-in-autumn": 30, "either": 50, "not-here": 20}
    map_row = {
        "species": "Aster [albus]", "period": "1961-1990", "warming": 0.0, "places": 100, "median_chance": 0.873,
        "verdicts": verdicts,
    }  # fmt: skip
    warmer = map_row | {"period": "1991-2020", "warming": 2.0, "places": 0, "median_chance": None, "verdicts": {}}
    print_map_summary([map_row])
    print_map_summary([map_row, warmer])
    site = {
        "site": "[field]", "species": "Aster [albus]", "verdict": "either", "good_winters": 9, "winters": 10,
        "chance": 0.874, "sow_from": "2026-10-21", "sow_to": "2026-12-01", "plant_out": "2027-04-19",
    }  # fmt: skip
    print_sites([site, site | {"site": "bank", "verdict": "not-here", "sow_from": "", "sow_to": "", "plant_out": ""}])
    plan = hand_plan()
    us, metric = reader_for("us", None), reader_for("metric", None)
    plans = [plan, replace(plan, warming=2.0)]
    print_warmings(plans, {"Aster [albus]": ("[either]", "chill in fridge")}, 1, us)
    print_warmings(plans, {}, 3, metric)
    same("places.txt", capsys.readouterr().out)


STATION = {
    "station": "S1", "name": "Mill [2]", "distance_km": 12.4, "height_difference_m": -40.0, "first": 1991, "last": 2020,
    "coverage": 0.987, "expected_error_c": 1.23,
}  # fmt: skip
HOT = [(f"2001-01-0{number}", 40.04 + number) for number in (1, 2, 3, 4)]
RECORD = {
    "station": "S1", "source": "a [file]", "first": "1991-01-01", "last": "2020-12-31", "days": 10958,
    "coverage": 0.98765, "licence": "[none]", "stored": "a [folder]", "notes": NOTES, "longest_gap": 2,
    "missing": {"tmin": 3, "tmax": 4},
    "findings": [
        {"says": "too warm", "variable": "tmax", "count": 4, "days": HOT},
    ],
    "held_out": {
        "tmin": {"days": 90, "error_c": 1.26, "bias_c": -0.14}, "tmax": {"days": 0, "error_c": None, "bias_c": None},
    },
    "filled_by": "from neighbours",
}  # fmt: skip
TIE = {
    "days": 321, "tie": {"tmin_mean": -1.24, "tmax_mean": 0.86}, "swing": {"tmin": 2.04, "tmax": 1.96},
    "error_before": {"tmin": 3.33, "tmax": 2.22}, "error_after": {"tmin": 1.11, "tmax": 1.44}, "helps": False,
}  # fmt: skip


def test_stations_and_records_are_told_row_by_row(capsys: pytest.CaptureFixture[str]) -> None:
    unknown = STATION | {"name": "", "height_difference_m": None, "first": None, "coverage": None}
    print_stations([STATION, unknown], NOTES)
    print_stations([], NOTES)
    print_record({key: value for key, value in RECORD.items() if key != "stored"})
    print_check(RECORD)
    print_check(RECORD | {"findings": [], "held_out": {}})
    print_tie(TIE)
    print_tie(TIE | {"helps": True})
    same("stations.txt", capsys.readouterr().out)


def test_the_map_of_stations_is_drawn_as_it_is_listed() -> None:
    near = MapStation("near", 44.1, -72.0, 11.1, None, 0.94)
    far = MapStation("<far>", 43.5, -71.0, 97.0, 120.4, 1.26)
    same("station-map.txt", station_map(44.0, -72.0, "<Hill>", [near, far]).replace("><", ">\n<"))
    ranks = station_map(44.0, -72.0, "Hill", [near] * 31)
    assert ranks.count("near: 11 km") == 30 and ranks.count(">31<") == 1


def places_map(south: bool = False) -> xr.Dataset:
    """Five places in a row of two periods and two warmings; the last has no answer."""
    dims, shape = ("period", "warming", "species", "lat", "lon"), (2, 2, 1, 1, 5)
    verdict = np.array([0.0, 1.0, 2.0, 6.0, np.nan]) * np.ones(shape)
    verdict[1, :, 0, 0, 0], verdict[:, 1, 0, 0, 1] = 2.0, 4.0

    def of(*values: float) -> np.ndarray:
        return np.where(np.isnan(verdict), np.nan, np.array(values) * np.ones(shape))

    chill = np.array([41.0, 57.4, 98.6, 120.0, np.nan])[None, :] - np.array([9.0, 0.0, -9.0])[:, None]
    chill = chill[None, None, :, None, :] * np.ones((2, 2, 3, 1, 5))
    frost = np.array([250.0, 265.4, 280.0, -np.inf, np.nan])[None, :] + np.array([-9.0, 0.0, 9.0])[:, None]
    frost = frost[None, None, None, :, None, :] * np.ones((2, 2, 1, 3, 1, 5))
    placed, frosts = (
        ("period", "warming", "percentile", "lat", "lon"),
        ("period", "warming", "frost", "percentile", "lat", "lon"),
    )
    north = -44.0 if south else 44.0
    return xr.Dataset(
        {
            "verdict": (dims, verdict),
            "chance": (dims, of(12.0, 20.0, 85.4, 90.0, 0.0)),
            "good": (dims, of(3.0, 12.0, 24.0, 30.0, 0.0)),
            "winters": (dims, of(30.0, 30.0, 30.0, 30.0, 0.0)),
            "interval_low": (dims, of(4.0, 39.6, 60.0, 88.0, 0.0)),
            "sow_from": (dims, of(61.0, 75.0, 90.0, np.nan, 0.0)),
            "sow_to": (dims, of(100.0, 110.0, 120.0, np.nan, 0.0)),
            "plant_out": (dims, of(250.0, 260.0, np.nan, 270.0, 0.0)),
            "effective_chill": (placed, chill),
            "last_spring_frost": (frosts, frost),
            "first_autumn_frost": (frosts, frost - 200.0),
            "seasons": (("period", "warming", "lat", "lon"), np.where(np.isnan(verdict[:, :, 0]), np.nan, 30.0)),
        },
        {
            "period": ["1961-1990", "all"],
            "warming": [0.0, 2.0],
            "species": ["Tilia americana"],
            "common_name": ("species", ["basswood"]),
            "percentile": [10.0, 50.0, 90.0],
            "frost": [0.0],
            "lat": ("lat", [north], {"units": "degrees_north"}),
            "lon": ("lon", np.linspace(1.0, 5.0, 5), {"units": "degrees_east"}),
        },
        {"comment": "A comment.", "source": "invented"},
    )


def of_map(data: xr.Dataset) -> str:
    """Pictures of a map: classes with their shares, what each place shows and says; of numbers, the first choice's."""
    lines = []
    for panel in panels_of(data):
        if panel.layer.variable != "verdict" and panel.chosen != panel.chosen | {"period": "1961-1990", "warming": "0"}:
            continue
        lines.append(f"== {panel.layer.key} {panel.chosen}: {panel.title}")
        lines += [
            f"{share:.4f} {words}" for (_, words), share in zip(panel.classes, panel.shares(), strict=True) if share
        ]
        lines.append(f"of {len(panel.classes)} classes: {panel.index.tolist()}")
        lines.append(" | ".join(panel.texts[at] for at in panel.says))
    return "\n".join(lines)


def test_every_picture_of_a_map_says_what_its_places_hold() -> None:
    assert len(VERDICTS) == 7, "verdict 6 is the last"
    data = places_map()
    same("map.txt", of_map(data))
    same("map-south.txt", of_map(places_map(south=True).isel(period=[0], warming=[0])))
    told = page_of(map_html(data))
    del told["panels"]
    same("map.json", written(told))


def test_readers_who_do_not_see_a_map_are_told_the_shares() -> None:
    page = map_html(places_map())
    table = page[page.index('id="shares"') : page.index("</table>")]
    rows = (re.sub(r"<[^>]*>", " ", row) for row in table.split("<tr>")[1:])
    same("map-shares.txt", "\n".join(" | ".join(row.split("  ")) for row in rows))
