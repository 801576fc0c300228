"""The JSON says what the numbers are: percentiles in order, winters without frost counted, every caution kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from chillplan.advice.result import Plan
from chillplan.report.contract import species_json, winter_json
from chillplan.report.tables_lists import species_facts
from chillplan.seasons.cut import Seasons
from chillplan.seasons.summary import Winters

HAZARDS = ("Seed is deadly poisonous.", "Sap blisters the skin.", "Protected: check your own.")
WINTERS = 30
MILD = 4
"""Winters without any frost, of the 30."""


@pytest.fixture
def said(seasons: Seasons) -> dict[str, Any]:
    each = np.arange(WINTERS, dtype=float)
    last, first = 200.0 + each, 60.0 + each
    last[:MILD], first[:MILD] = -np.inf, np.inf
    winters = Winters(
        years=np.arange(1991, 1991 + WINTERS),
        chill_days=100.0 + each,
        effective_chill=50.0 + each,
        cold_days=120.0 + each,
        last_spring_frost=dict.fromkeys((0.0, -2.0, -4.0), last),
        first_autumn_frost=dict.fromkeys((0.0, -2.0, -4.0), first),
        soil_warm=dict.fromkeys((5.0, 10.0, 15.0), 230.0 + each),
        mean_temperature=8.0 + each / 10,
    )
    return winter_json(winters, seasons, 2026)


def test_percentiles_of_dates_and_of_days_rise(said: dict[str, Any]) -> None:
    warm = said["soil_warm"]["10"]
    assert date.fromisoformat(warm["p10"]) < date.fromisoformat(warm["p50"]) < date.fromisoformat(warm["p90"])
    chill = said["chill_days"]
    assert chill["p10"] < chill["p50"] < chill["p90"]
    assert said["last_spring_frost"]["p50"] < said["last_spring_frost"]["p90"]
    assert said["first_autumn_frost"]["p10"] < said["first_autumn_frost"]["p50"]


def test_winters_without_frost_are_counted_and_lend_no_date(said: dict[str, Any]) -> None:
    """No last frost of spring is earlier than any date, no first frost of autumn later than any."""
    assert said["winters_without_frost"] == MILD
    counts = ("winters", "with_date", "earlier_than_any", "later_than_any")
    spring = said["last_spring_frost"]["by_threshold_c"]["0"]
    assert tuple(spring[key] for key in counts) == (WINTERS, WINTERS - MILD, MILD, 0)
    autumn = said["first_autumn_frost"]["by_threshold_c"]["0"]
    assert tuple(autumn[key] for key in counts) == (WINTERS, WINTERS - MILD, 0, MILD)
    assert said["last_spring_frost"]["p10"] is None and said["first_autumn_frost"]["p90"] is None


def test_the_recent_winters_are_the_last_fifteen(said: dict[str, Any]) -> None:
    """Of 15 winters the eighth is the middle one."""
    recent = said["recent"]
    assert (recent["winters"], recent["first_season"], recent["last_season"]) == (15, 2006, 2020)
    assert recent["chill_days"]["p50"] == 122.0 and recent["effective_chill"]["p50"] == 72.0
    assert recent["last_spring_frost"]["p50"] == "2027-03-11"  # day 222 from 1 August
    assert [winter["season"] for winter in said["by_season"]] == list(range(1991, 2021))


def test_every_caution_is_in_the_json(plan: Plan) -> None:
    assert species_json(replace(plan.species[0], cautions=HAZARDS))["cautions"] == list(HAZARDS)
    assert species_facts(replace(plan.species[0].species, cautions=HAZARDS))["cautions"] == list(HAZARDS)


def test_shares_have_four_decimals_and_days_one(plan: Plan) -> None:
    """As fine as the README shows them; a thousandth of a day or of a share says nothing."""
    advice = next(one for one in plan.species if one.outdoors is not None and one.fridge is not None)
    fine = replace(
        advice,
        chance=0.123456,
        chance_range=(0.012345, 0.98764),
        interval=(0.543219, 0.98765432),
        share_up=(0.11111111, 0.22222222, 0.99996),
        outdoors=replace(advice.outdoors, share_up=(0.33333333, 0.44444444, 0.5), chill=(10.04, 20.06, 30.55)),
    )
    told = species_json(fine)
    assert (told["chance"], told["chance_range"], told["interval"]) == (0.1235, [0.0123, 0.9876], [0.5432, 0.9877])
    assert told["share_up"] == {"p10": 0.1111, "p50": 0.2222, "p90": 1.0}
    assert told["outdoors"]["share_up"] == {"p10": 0.3333, "p50": 0.4444, "p90": 0.5}
    assert told["outdoors"]["effective_chill_after_sowing"] == {"p10": 10.0, "p50": 20.1, "p90": 30.6}
    for way in (told["outdoors"], told["fridge"]):
        assert sum(way["outcomes"].values()) == pytest.approx(1.0, abs=0.0003)
        assert all(len(f"{share:g}") <= 6 for share in way["outcomes"].values())
    unknown = species_json(replace(advice, chance=float("nan")))
    assert unknown["chance"] is None
