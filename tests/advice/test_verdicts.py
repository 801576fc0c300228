"""Verdicts in climates whose answer is known beforehand."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta

import numpy as np
import pandas as pd
import pytest

from chillplan.advice.plan import Request, default_season, make_plan, plant_out_index
from chillplan.advice.result import Plan, SpeciesAdvice
from chillplan.errors import InputError
from chillplan.seasons.cut import cut_seasons
from chillplan.seeds.recipe import WARM_RESPONSE, CoatStep, Germination, Phase, Recipe, Species
from chillplan.site import Site
from tests.records import wave_weather

TODAY = date(2026, 9, 1)
SITE = Site(44.0, -72.0, elevation=300.0)


def species(*phases: Phase, coat: tuple[CoatStep, ...] = (), hard: bool = False, **values: object) -> Species:
    base = {
        "name": "Planta exempli",
        "common_name": "example plant",
        "other_names": (),
        "family": "Exemplaceae",
        "dormancy": "physiological",
        "germination": Germination(5.0, (60.0, 150.0)),
        "seedling_limit": -5.0,
    }
    return Species(**{**base, "hard_coat": hard, "recipes": (Recipe("usual", coat, phases),), **values})  # type: ignore[arg-type]


def cold(low: float, high: float) -> Phase:
    return Phase("cold", (low, high), temperature=(1.0, 5.0))


def warm(low: float, high: float) -> Phase:
    return Phase("warm", (low, high), response=WARM_RESPONSE)


def planned(daily: pd.DataFrame, one: Species, **asked: object) -> Plan:
    request = Request(**{"today": TODAY, **asked})  # type: ignore[arg-type]
    return make_plan(cut_seasons(daily, southern=False), SITE, [one], request)


def advice(daily: pd.DataFrame, one: Species, **asked: object) -> SpeciesAdvice:
    return planned(daily, one, **asked).species[0]


TEMPERATE = wave_weather(mean=9.0, swing=11.0)
COLD_SPROUTER = Germination(1.0, (30.0, 60.0))
WARM = wave_weather(mean=21.0, swing=6.0, noise=2.0)
HARSH = wave_weather(mean=-9.0, swing=14.0, noise=1.0)


EVEN = wave_weather(mean=9.0, swing=11.0, noise=0.0)
"""Every year the same: a requirement is met in every winter or in none."""


def test_a_temperate_winter_chills_outdoors() -> None:
    found = advice(EVEN, species(cold(30, 60)))
    assert found.verdict == "either"
    assert (found.good, found.share_up) == (found.winters, (1.0, 1.0, 1.0))
    assert found.outdoors is not None
    assert found.outdoors.sow_from <= found.outdoors.best <= found.outdoors.sow_to
    restless = advice(TEMPERATE, species(cold(30, 60)))
    assert restless.verdict == "either" and restless.share_up[1] == 1.0


def test_sowing_waits_until_the_ground_is_cool_and_the_ground_lags_behind_the_air() -> None:
    """The wave of the air, 9 - 11 cos, falls through 12 °C where the cosine is -3/11: on 4 October."""
    found = advice(EVEN, species(cold(30, 60)))
    assert found.outdoors is not None
    cool_air = date(2026, 1, 20) + timedelta(days=365.25 * (1.0 - np.arccos(-3.0 / 11.0) / (2.0 * np.pi)))
    assert cool_air == date(2026, 10, 4)
    assert 3 <= (found.outdoors.sow_from - cool_air).days <= 21


def test_a_requirement_is_met_up_to_the_chill_of_the_winter_and_not_beyond() -> None:
    found = advice(EVEN, species(cold(30, 60)))
    assert found.outdoors is not None
    least, _, most = found.outdoors.chill
    need = [int(least) - 5, int(most) + 5]
    under, over = (advice(EVEN, species(cold(days, days), germination=COLD_SPROUTER)) for days in need)
    assert under.by_date.good.max() == under.winters
    assert over.by_date.good.max() == 0
    assert (under.verdict, over.verdict) == ("sow-in-autumn", "start-outdoors-finish-in-fridge")
    assert over.top_up is not None and 0.0 < over.top_up.owed_days[1] < 60.0


def test_a_warm_winter_falls_short() -> None:
    found = advice(WARM, species(cold(60, 90)))
    assert found.verdict == "chill-in-fridge"
    assert found.outdoors is None
    assert found.fridge is not None
    assert (found.fridge.plant_out - found.fridge.prepare).days == 90
    assert "still dormant" in found.reason


def test_a_loss_to_frost_says_when_seed_is_up_and_how_late_the_frost_comes() -> None:
    """Frost of -8 °C on 25 April of every year, the last of -5 °C; the wave alone has its last before."""
    late = EVEN.copy()
    late.loc[(late.index.month == 4) & (late.index.day == 25), "tmin"] = -8.0  # type: ignore[attr-defined]
    found = advice(late, species(cold(30, 60), germination=COLD_SPROUTER))
    assert found.verdict == "chill-in-fridge"
    said = re.search(
        r"comes up before the last killing frost: half of it is up by (\d+ \w+), and -5 °C at the seedling comes until "
        "25 April in a median winter, until 2[56] April in one of ten",  # a season has no leap day
        found.reason,
    )
    assert said is not None, found.reason
    assert date(2026, 3, 1) < datetime.strptime(f"{said[1]} 2026", "%d %B %Y").date() < date(2026, 4, 25)
    assert advice(EVEN, species(cold(30, 60), germination=COLD_SPROUTER)).verdict != "chill-in-fridge"


def test_no_summer_is_no_place_for_it() -> None:
    found = advice(HARSH, species(cold(30, 60), germination=Germination(10.0, (150.0, 350.0))))
    assert found.verdict == "not-here"
    assert found.good == 0


def test_seed_that_has_its_cold_but_not_its_warmth_is_not_called_dormant() -> None:
    cool = wave_weather(mean=3.0, swing=9.0, noise=0.0)
    found = advice(cool, species(cold(30, 60), germination=Germination(12.0, (150.0, 350.0))))
    assert found.good == 0
    assert "too cool to bring up" in found.reason and "still dormant" not in found.reason


def test_an_opened_coat_needs_no_chill() -> None:
    found = advice(TEMPERATE, species(coat=(CoatStep("scarify"),), hard=True))
    assert found.verdict == "sow-in-spring"
    assert any("cut away from the hand" in caution for caution in found.cautions)


def test_hard_seed_left_closed_stays_dormant_but_for_the_share_that_softens() -> None:
    closed = species(hard=True)
    found = advice(EVEN, closed)
    assert found.verdict == "not-here"
    assert found.share_up == pytest.approx([closed.trickle_share] * 3)
    assert found.by_date.shares[3].min() == pytest.approx(1.0 - closed.trickle_share)


def test_cold_warm_cold_takes_two_winters() -> None:
    found = advice(TEMPERATE, species(cold(60, 90), warm(40, 80), cold(60, 90)))
    assert found.verdict == "two-winters-outdoors"
    assert found.winters < planned(TEMPERATE, species(cold(30, 60))).species[0].winters


def test_seed_that_must_not_dry_is_not_sent_to_the_fridge_where_the_winter_does_it() -> None:
    assert advice(TEMPERATE, species(cold(30, 60), storage="never dry")).verdict == "sow-in-autumn"


def test_more_chill_asked_is_never_met_more_often() -> None:
    good = [advice(TEMPERATE, species(cold(days * 0.7, days))).by_date.good.max() for days in (30, 90, 150, 240)]
    assert good == sorted(good, reverse=True)
    assert good[0] > good[-1]


def test_warming_by_degrees_turns_the_verdict_in_the_end() -> None:
    found = [advice(EVEN, species(cold(60, 90)), warming=warmer) for warmer in (0.0, 4.0, 10.0)]
    assert [one.verdict for one in found] == ["either", "either", "chill-in-fridge"]
    chill = [one.outdoors.chill[1] if one.outdoors else 0.0 for one in found]
    assert chill[0] > chill[1] > chill[2]


def test_the_chance_lies_within_the_chances_of_the_model_errors() -> None:
    found = advice(wave_weather(mean=13.0, swing=9.0), species(cold(60, 110)))
    low, high = found.chance_range
    assert low <= found.chance <= high
    assert found.interval[0] <= found.good / found.winters <= found.interval[1]


def test_borderline_is_said() -> None:
    found = [advice(wave_weather(mean=mean, swing=9.0), species(cold(60, 110))) for mean in np.arange(9.0, 17.0)]
    assert any(one.borderline for one in found)
    assert all(any("Borderline" in note for note in one.notes) == one.borderline for one in found)
    assert not all(one.borderline for one in found)


def test_hot_water_carries_its_caution() -> None:
    found = advice(TEMPERATE, species(coat=(CoatStep("hot water", (12.0, 24.0), (85.0, 85.0)),), hard=True))
    assert any("scalds" in caution for caution in found.cautions)


def test_treatment_begins_before_the_first_phase() -> None:
    # Common practice, no source: a soak of about 24 hours comes before the cold, checks are weekly.
    found = advice(WARM, species(cold(30, 30), coat=(CoatStep("soak", (24.0, 24.0)),)))
    assert found.fridge is not None
    assert found.fridge.into_cold is not None
    assert (found.fridge.into_cold - found.fridge.prepare).days == 1
    assert (found.fridge.plant_out - found.fridge.into_cold).days == 30
    assert [(day - found.fridge.into_cold).days for day in found.fridge.checks] == [7, 14, 21, 28]


def test_labels_carry_the_date_started() -> None:
    # Common practice, no source: label every bag with the date it was started.
    plan = planned(WARM, species(cold(30, 60)))
    begin = next(task for task in plan.tasks if task.place == "refrigerator" and "into" in task.action)
    assert begin.date_from.isoformat() in begin.label
    assert "Planta exempli" in begin.label


def test_a_window_that_has_closed_is_planned_for_the_next_season() -> None:
    found = advice(TEMPERATE, species(cold(60, 90)), today=date(2027, 2, 20))
    assert found.outdoors is not None
    assert found.outdoors.sow_to >= date(2027, 2, 20)
    assert any("next season" in note for note in found.notes)


def test_nothing_planned_indoors_begins_in_the_past() -> None:
    for today in (date(2026, 9, 1), date(2027, 1, 10), date(2027, 3, 25), date(2027, 6, 1)):
        found = advice(WARM, species(cold(60, 90)), today=today)
        assert found.fridge is not None
        assert found.fridge.prepare >= today


@pytest.mark.parametrize(
    ("today", "season"), [(date(2026, 9, 1), 2026), (date(2027, 3, 1), 2026), (date(2027, 5, 1), 2027)]
)
def test_season_planned_for(today: date, season: int) -> None:
    assert default_season(today, southern=False) == season


def test_plant_out_dates_are_checked() -> None:
    assert plant_out_index(date(2027, 5, 1), 2026, False, TODAY) == 273
    with pytest.raises(InputError, match="is before today"):
        plant_out_index(date(2026, 5, 1), 2026, False, TODAY)
    with pytest.raises(InputError, match="outside the planting time of season 2026"):
        plant_out_index(date(2026, 11, 1), 2026, False, TODAY)


def test_a_planting_date_names_its_season() -> None:
    """On 5 April the next season is planned, unless the planting date lies in this one."""
    today = date(2027, 4, 5)
    assert planned(WARM, species(cold(20, 30)), today=today).season == 2027
    found = planned(WARM, species(cold(20, 30)), today=today, plant_out=date(2027, 5, 20))
    assert found.season == 2026
    assert found.species[0].fridge is not None and found.species[0].fridge.plant_out == date(2027, 5, 20)


def test_a_planting_date_that_leaves_too_little_time_is_told() -> None:
    found = advice(WARM, species(cold(60, 90)), today=date(2027, 4, 5), plant_out=date(2027, 5, 20))
    (note,) = [note for note in found.notes if "too late, unless" in note]
    assert "had to begin on 2027-02-19" in note and "ready on 2027-07-04" in note  # 90 days before and from today
    in_time = advice(WARM, species(cold(60, 90)), today=date(2027, 2, 19), plant_out=date(2027, 5, 20))
    assert not any("too late" in note for note in in_time.notes)


def test_few_winters_make_a_thin_verdict() -> None:
    short = wave_weather(first="2006-01-01", last="2012-12-31")
    assert advice(short, species(cold(30, 60))).thin
    assert not advice(TEMPERATE, species(cold(30, 60))).thin


def test_a_planting_date_of_today_is_still_to_come() -> None:
    today = date(2027, 5, 1)
    assert plant_out_index(today, 2026, False, today) == 273
    with pytest.raises(InputError, match="is before today"):
        plant_out_index(today - timedelta(1), 2026, False, today)


def test_a_sowing_window_stays_open_through_its_last_day() -> None:
    found = advice(TEMPERATE, species(cold(60, 90)), season=2026).outdoors
    assert found is not None
    on_the_last = advice(TEMPERATE, species(cold(60, 90)), season=2026, today=found.sow_to).outdoors
    after = advice(TEMPERATE, species(cold(60, 90)), season=2026, today=found.sow_to + timedelta(1)).outdoors
    assert on_the_last is not None and on_the_last.sow_to == found.sow_to
    assert after is not None and after.sow_from > found.sow_to


def test_treatment_may_begin_on_the_day_it_has_to() -> None:
    planned_early = advice(WARM, species(cold(60, 90)), season=2026).fridge
    assert planned_early is not None
    begun_today = advice(WARM, species(cold(60, 90)), season=2026, today=planned_early.prepare).fridge
    assert begun_today is not None
    assert (begun_today.prepare, begun_today.plant_out) == (planned_early.prepare, planned_early.plant_out)


def test_the_window_of_the_verdict_is_that_of_its_steps_and_tasks() -> None:
    plan = planned(TEMPERATE, species(cold(60, 90), coat=(CoatStep("soak", (24.0, 24.0)),)))
    found = plan.species[0].outdoors
    assert found is not None
    starts = {date(2026, 8, 1) + timedelta(int(day)) for day in plan.species[0].by_date.starts}
    assert {found.sow_from, found.best, found.sow_to} <= starts
    window = (found.sow_from, found.sow_to)
    assert [(step.date_from, step.date_to) for step in found.steps] == [window, window]
    tasks = [(task.date_from, task.date_to) for task in plan.tasks if task.key.startswith("outdoors/")]
    assert tasks == [window, window]
