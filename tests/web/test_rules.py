"""The page's own rules, run in a browser on hundreds of made lots, give what the Python rules give."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from chillplan.advice.calendar_dates import count_back
from chillplan.advice.care import check_interval
from chillplan.advice.outlook import STARTS, outlook, planted_out
from chillplan.advice.result import Plan
from chillplan.advice.visit_solver import Job, roster
from chillplan.journal.chill import PhasePlan, filled_between, ledger_of, phase_progress
from chillplan.report.record import Source
from chillplan.seasons.chance import percentiles
from chillplan.seasons.cut import season_start
from chillplan.seasons.response import response_share
from chillplan.seeds.recipe import CoatStep, Phase, Recipe
from chillplan.seeds.two_winters import two_winters
from chillplan.web.facts import phase_json
from tests.report.conftest import SPECIES
from tests.web.conftest import facts_of, written
from tests.web.hand import Hand, hand, needs_browser

pytestmark = needs_browser
LOTS = 400
RULES = "const { rules } = chillplan;"


@pytest.fixture(scope="module")
def page(autumn: Plan, source: Source, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Hand]:
    path: Path = written(tmp_path_factory.mktemp("rules"), autumn, source, facts_of(autumn, source))
    with hand(path) as opened:
        yield opened


def random_phase(chance: random.Random, kind: str = "") -> Phase:
    low = chance.randrange(0, 120)
    kind = kind or chance.choice(("cold", "warm"))
    return Phase(kind, (float(low), float(low + chance.randrange(0, 80))))  # type: ignore[arg-type]


def days_since_1970(day: date) -> int:
    return (day - date(1970, 1, 1)).days


def test_the_finish_with_what_was_measured(page: Hand) -> None:
    chance = random.Random(1)
    asked, expected = [], []
    for _ in range(LOTS):
        phase = random_phase(chance)
        started = date(2026, 11, 1) + timedelta(days=chance.randrange(60))
        today = started + timedelta(days=chance.randrange(0, 150))
        span = range((today - started).days + 3)
        means = {
            started.toordinal() + day: round(chance.uniform(-8, 26), 1)
            for day in span
            if chance.random() < chance.choice((0.1, 0.6))
        }
        setting = chance.choice((0.0, 2.0, 4.0, 9.0, 15.0, 21.0))
        response = phase_json(phase)["response"]
        reversal = phase.reversal if phase.kind == "cold" else math.inf
        plan = PhasePlan(phase.kind, phase.days, tuple(response), (1.0, 5.0), reversal)
        ledger = ledger_of(plan.response, reversal, started, today, means, filled_between(means), setting)
        found = phase_progress(plan, started, ledger)
        shift = date(1970, 1, 1).toordinal()
        asked.append(
            [
                phase_json(phase),
                days_since_1970(started),
                days_since_1970(today),
                [[day - shift, mean] for day, mean in means.items()],
                setting,
            ]
        )
        expected.append([found.done, None if found.finish is None else days_since_1970(found.finish)])
    script = f"""{RULES}
    return arguments[0].map(([phase, started, now, means, set]) => {{
      const found = rules.finish(phase, started, now, new Map(means), set);
      return [found.done, found.finish];
    }});"""
    answered = page.js(script, asked)
    assert len({finish for _, finish in expected}) > 50
    for number, ((done, finish), (shown, told)) in enumerate(zip(expected, answered, strict=True)):
        assert shown == pytest.approx(done, abs=1e-6), asked[number]
        assert told == finish, asked[number]


def test_cold_had_before_is_taken_off_and_steps_are_counted_back(page: Hand) -> None:
    chance = random.Random(2)
    asked, expected = [], []
    for _ in range(LOTS):
        phases = tuple(random_phase(chance) for _ in range(chance.randrange(1, 4)))
        coat = (CoatStep("soak", (12.0, float(chance.choice((12, 24, 36, 72))))),) if chance.random() < 0.4 else ()
        plant_out = date(2027, 3, 1) + timedelta(days=chance.randrange(100))
        credit = chance.choice((0, 0, 10, 45, 130))
        left, short = credit, []
        for phase in phases:
            taken = min(left, phase.days[1]) if phase.kind == "cold" else 0
            left -= taken
            short.append(replace(phase, days=(0.0, phase.days[1] - taken)))
        dates = count_back(SPECIES[0], Recipe("", coat, tuple(short)), plant_out)
        hours = sum(step.hours[1] for step in coat if step.hours)
        species = {"phases": [phase_json(phase) for phase in phases], "coatDays": math.ceil(hours / 24)}
        asked.append([species, days_since_1970(plant_out), credit])
        expected.append(
            [days_since_1970(dates.prepare), None if dates.into_cold is None else days_since_1970(dates.into_cold)]
        )
    script = f"""{RULES}
    return arguments[0].map(([species, plantOut, credit]) => {{
      const back = rules.countBack(species, plantOut, credit);
      return [back.prepare, back.intoCold];
    }});"""
    assert page.js(script, asked) == expected


def test_shares_chances_and_frost_of_every_date(page: Hand, autumn: Plan) -> None:
    winters = two_winters(autumn.seasons, autumn.ground)
    chance = random.Random(3)
    asked = [(chance.randrange(len(SPECIES)), chance.randrange(0, 336), chance.random() < 0.5) for _ in range(LOTS)]
    expected = []
    for number, index, treated in asked:
        advice = autumn.species[number]
        day = STARTS[np.int32(index) >= STARTS][-1:]
        find = planted_out if treated else outlook
        shares = find(winters, advice.species, advice.recipe, day).share_up[0]
        killing = winters.last_killing_frost(advice.species.seedling_limit)[0]
        low, middle, high = percentiles(shares)
        expected.append([int((shares >= autumn.target).sum()), low, middle, high, float((killing > index).mean())])
    script = f"""{RULES}
    const facts = JSON.parse(document.getElementById("facts").textContent);
    return arguments[0].map(([number, index, treated]) => {{
      const species = facts.species[number];
      const shares = rules.sharesOn(facts, rules.tableOf(treated ? species.planted : species.sown), index);
      const of = (share) => rules.percentile(shares, share) / facts.shares;
      return [rules.goodOf(facts, shares), of(0.1), of(0.5), of(0.9), rules.frostRisk(facts, species.limit, index)];
    }});"""
    answered = page.js(script, asked)
    assert len({good for good, *_ in expected}) > 3, "the dates must differ, or this test says little"
    for said, told in zip(expected, answered, strict=True):
        assert told[0] == said[0] and told[4] == pytest.approx(said[4])
        assert told[1:4] == pytest.approx(said[1:4], abs=1 / 200), "to the grain of the table"


def test_the_share_of_a_day_and_the_interval_of_looks(page: Hand) -> None:
    chance = random.Random(4)
    response = (-2.0, 1.0, 7.0, 12.0)
    temperatures = [*np.arange(-4, 15, 0.5).tolist(), *response]
    shown = page.js(
        f"{RULES} return arguments[0].map((t) => rules.responseShare(t, arguments[1]))", temperatures, response
    )
    assert shown == pytest.approx([response_share(one, response) for one in temperatures])
    looks = [
        (chance.random(), chance.choice((None, "fine", "dry", "mould", "sprouted")), chance.randrange(1, 15))
        for _ in range(LOTS)
    ]
    shown = page.js(f"{RULES} return arguments[0].map((one) => rules.lookAfter(...one))", looks)
    assert shown == [check_interval(*one) for one in looks]


def test_visits_are_as_few_as_the_solver_finds(page: Hand) -> None:
    chance = random.Random(5)
    for _ in range(60):
        days = 90
        open_days = [day for day in range(days) if chance.random() < 0.3]
        windows = []
        for _ in range(chance.randrange(1, 14)):
            first = chance.randrange(days - 1)
            windows.append((first, min(days - 1, first + chance.randrange(0, 30))))
        room = np.zeros(days, dtype=int)
        room[open_days] = 10_000
        found = roster([Job(first, last, 30) for first, last in windows], room, np.zeros(days))
        script = f"""{RULES}
        const open = new Set(arguments[1]);
        const found = rules.fewestDays(arguments[0].map(([from, to]) => ({{ from, to }})), (day) => open.has(day));
        return [found.days.length, found.dayOf.filter((day) => day === null).length, found.dayOf];"""
        count, unmet, met = page.js(script, windows, open_days)
        assert count == len(set(found.day_of) - {-1})
        assert unmet == sum(day < 0 for day in found.day_of)
        assert all(
            day is None or (first <= day <= last and day in open_days)
            for (first, last), day in zip(windows, met, strict=True)
        )


def test_work_that_shares_a_day_is_done_on_a_day_of_the_plan_or_the_first(page: Hand) -> None:
    script = f"""{RULES}
    const open = (day) => day !== 12;
    const windows = [[3, 20], [12, 30], [40, 50]].map(([from, to]) => ({{ from, to }}));
    return rules.fewestDays(windows, open, new Set(arguments[0]));"""
    assert page.js(script, []) == {"days": [13, 40], "dayOf": [13, 13, 40]}
    assert page.js(script, [5, 17, 45]) == {"days": [17, 45], "dayOf": [17, 17, 45]}, "5 does not suit both"


def test_late_work_is_done_on_the_next_day_that_works(page: Hand, autumn: Plan) -> None:
    script = """
    const facts = JSON.parse(document.getElementById("facts").textContent);
    const state = chillplan.standing(facts, []);
    const { visits } = chillplan.visitsNow(facts, state, arguments[0]);
    return visits.map(({ day, tasks }) => [day, tasks.map((one) => one.to)]);"""
    late = days_since_1970(max(task.date_to for task in autumn.tasks if task.place == "hill")) + 9
    ((day, ends),) = page.js(script, late)
    assert day == late and all(end < late for end in ends) and ends


def test_days_keep_their_names(page: Hand) -> None:
    day = date(2026, 11, 28)
    number, iso, weekday = page.js(
        f'{RULES} const n = rules.dayOf("2026-11-28"); return [n, rules.isoOf(n), rules.weekdayOf(n)];'
    )
    assert (number, iso, weekday) == (days_since_1970(day), day.isoformat(), day.weekday())


def test_the_tables_keep_their_shape(page: Hand, autumn: Plan) -> None:
    lengths = page.js(
        f'{RULES} return JSON.parse(document.getElementById("facts").textContent).species'
        ".map((one) => [rules.tableOf(one.sown).length, rules.tableOf(one.planted).length])"
    )
    assert lengths == [[STARTS.size * autumn.winters.years.size] * 2] * len(SPECIES)
    assert (
        page.js('return JSON.parse(document.getElementById("facts").textContent).start')
        == season_start(autumn.season, False).isoformat()
    )
