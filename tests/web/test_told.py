"""What the page is told, read back without a browser: shares, frosts, tasks and the days on the hill."""

from __future__ import annotations

import base64
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from chillplan.advice.result import Plan
from chillplan.advice.visits import Crew
from chillplan.report.reader import Reader
from chillplan.report.record import Source
from chillplan.seeds.two_winters import two_winters
from chillplan.web.page import page_html
from tests.web.conftest import PLANNED, facts_of


@pytest.fixture(scope="module")
def told(autumn: Plan, source: Source) -> dict[str, Any]:
    return facts_of(autumn, source)


def shares_of(told: dict[str, Any], text: str) -> np.ndarray:
    """Share up by sowing date and winter, to one part in ``shares``."""
    parts = np.frombuffer(base64.b64decode(text), np.uint8).reshape(-1, len(told["winters"]))
    return parts / told["shares"]


def test_shares_by_date_and_winter_are_those_of_the_plan(autumn: Plan, told: dict[str, Any]) -> None:
    for advice, said in zip(autumn.species, told["species"], strict=True):
        sown = shares_of(told, said["sown"])
        starts = told["step"] * np.arange(len(sown))
        inside = np.isin(advice.by_date.starts, starts)
        assert inside.all() and (sown >= 0).all() and (sown <= 1).all()
        mean = sown[np.isin(starts, advice.by_date.starts)].mean(axis=1)
        assert mean == pytest.approx(advice.by_date.shares[0], abs=1.01 / told["shares"])
        if advice.fridge is not None:
            planted = shares_of(told, said["planted"])
            day = (advice.fridge.plant_out - date.fromisoformat(told["start"])).days
            near = int(np.abs(starts - day).argmin())
            assert planted[near].mean() == pytest.approx(advice.fridge.outcomes["up in time"], abs=0.1)


def test_the_last_killing_frost_of_each_winter_is_told_by_the_seedlings_limit(
    autumn: Plan, told: dict[str, Any]
) -> None:
    first = date.fromisoformat(told["start"])
    assert first == date(2026, 8, 1) and told["made"] == str(PLANNED)
    assert set(told["frost"]) == {f"{advice.species.seedling_limit:g}" for advice in autumn.species}
    for limit, days in told["frost"].items():
        assert len(days) == len(told["winters"]) == autumn.winters.years.size
        for winter, day in enumerate(days):
            killing = np.flatnonzero(autumn.ground.minimum[:, winter] <= float(limit))
            assert day == killing[-1]
    assert two_winters(autumn.seasons, autumn.ground).temperature.shape[1] == len(told["winters"])


def test_every_task_stands_once_those_of_the_plan_with_its_dates_and_looks_are_left_out(
    autumn: Plan, told: dict[str, Any]
) -> None:
    names = [advice.species.name for advice in autumn.species]
    tasks = {(names[task["species"]], task["key"]): task for task in told["tasks"]}
    assert len(tasks) == len(told["tasks"]) and not any("/check/" in key for _, key in tasks)
    planned = [task for task in autumn.tasks if "/check/" not in task.key]
    assert planned
    for task in planned:
        said = tasks[task.species, task.key]
        assert (said["from"], said["to"]) == (str(task.date_from), str(task.date_to))
        assert (said["minutes"], said["place"]) == (task.minutes, task.place)
    ways = Counter(key.split("/")[0] for _, key in tasks)
    assert ways["outdoors"] and ways["fridge"]
    for advice in autumn.species:  # the way that was not chosen is told too, so that it can be chosen on the page
        assert advice.outdoors is None or (advice.species.name, "outdoors/sow/1") in tasks
        assert advice.fridge is None or (advice.species.name, "fridge/plant out/1") in tasks


def test_seed_of_a_plant_that_would_freeze_has_no_task(autumn: Plan, source: Source) -> None:
    name = autumn.species[0].species.name
    frozen = replace(
        autumn,
        species=(replace(autumn.species[0], killed=True), *autumn.species[1:]),
        tasks=tuple(task for task in autumn.tasks if task.species != name),
    )
    facts = facts_of(frozen, source)
    assert 0 not in {task["species"] for task in facts["tasks"]}
    assert facts["species"][0]["killed"] and not facts["species"][1]["killed"]


def test_the_days_on_the_hill_have_their_light_and_close_under_snow(autumn: Plan, source: Source) -> None:
    facts = facts_of(autumn, source, crew=Crew(weekdays=(5, 6), away=frozenset({date(2027, 4, 3), date(2026, 12, 25)})))
    assert facts["crew"] == {"weekdays": [5, 6], "away": ["2026-12-25", "2027-04-03"]}
    hill, outdoors = facts["hill"], [task for task in facts["tasks"] if task["place"] == "hill"]
    first = date.fromisoformat(hill["first"])
    last = first + timedelta(days=len(hill["light"]) - 1)
    assert first == min(date.fromisoformat(task["from"]) for task in outdoors)
    assert last >= max(date.fromisoformat(task["to"]) for task in outdoors)
    lengths = [
        (int(end[:2]) * 60 + int(end[3:])) - (int(begin[:2]) * 60 + int(begin[3:])) for begin, end in hill["light"]
    ]
    shortest = first + timedelta(days=int(np.argmin(lengths)))
    assert shortest.month == 12 and 500 < min(lengths) < 700  # civil twilight to twilight at 44 degrees north
    assert all(0 <= number < len(hill["light"]) for number in hill["closed"])
    buried = replace(autumn, ground=replace(autumn.ground, snow_depth=autumn.ground.snow_depth * 0 + 400.0))
    assert len(facts_of(buried, source)["hill"]["closed"]) == len(hill["light"])
    bare = replace(autumn, ground=replace(autumn.ground, snow_depth=autumn.ground.snow_depth * 0.0))
    assert facts_of(bare, source)["hill"]["closed"] == []


def test_what_was_asked_is_told_as_it_was_asked(autumn: Plan, source: Source, told: dict[str, Any]) -> None:
    assert (told["accept"], told["target"], told["season"]) == (autumn.accept, autumn.target, 2026)
    assert told["lookingDay"] == 6, "Sunday, where nothing else is said"
    assert facts_of(autumn, source, looking_day=2)["lookingDay"] == 2
    assert (told["units"], told["filed"], told["invented"]) == ("metric", False, True)
    assert told["visits"] == [str(visit.date) for visit in autumn.visits]
    for advice, said in zip(autumn.species, told["species"], strict=True):
        assert (said["common"], said["verdict"], said["good"]) == (
            advice.species.common_name,
            advice.verdict,
            advice.good,
        )
        assert said["sow"] == (
            [str(advice.outdoors.sow_from), str(advice.outdoors.sow_to)] if advice.outdoors else None
        )
        assert said["plantOut"] == (str(advice.fridge.plant_out) if advice.fridge else None)
        assert said["coatDays"] == (1 if advice.recipe.coat else 0)
        assert [phase["days"] for phase in said["phases"]] == [list(phase.days) for phase in advice.recipe.phases]
        assert all(phase["response"] == sorted(phase["response"]) for phase in said["phases"])
        assert [phase["reversal"] is None for phase in said["phases"]] == [
            phase.kind != "cold" for phase in advice.recipe.phases
        ]
        assert (said["lot"], said["coldDone"], said["lotName"]) == (None, 0.0, "")


def test_a_page_of_invented_weather_says_so_and_a_warmer_one_too(autumn: Plan, source: Source) -> None:
    said = "The weather of this report is INVENTED."
    for invented, warming in ((True, 0.0), (False, 0.0), (False, 2.0)):
        told, plan = replace(source, invented=invented), replace(autumn, warming=warming)
        page = page_html(plan, told, Reader(), facts_of(plan, told)).replace("\N{NO-BREAK SPACE}", " ")
        head = page[: page.index("<noscript")] + page.partition("<noscript")[2][:3000]
        assert (said in head) == invented
        assert ("this is a what-if, not a record" in head) == bool(warming)
