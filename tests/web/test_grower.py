"""A scripted grower on a phone without a network: the jobs of the page, in few taps."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from chillplan.advice.result import Plan
from chillplan.advice.wording import FOR_ALL, MOULD
from chillplan.journal.store import open_journal
from chillplan.report.record import Source
from chillplan.seeds.recipe import Species
from chillplan.web.facts import held_by
from tests.web.conftest import PLANNED, facts_of, written
from tests.web.hand import DESK, PHONE, Hand, hand, needs_browser

pytestmark = needs_browser
AXE = Path(__file__).parents[2] / "chillplan/web/app/node_modules/axe-core/axe.min.js"
SCREENS = ("today", "seed", "box", "beds", "more")


def test_what_to_do_today_takes_no_tap(grower: Hand, autumn: Plan) -> None:
    shown = grower.text()
    due = [task for task in autumn.tasks if task.date_from <= PLANNED and "/check/" not in task.key]
    assert due, "the plan must have something due, or this test says nothing"
    for task in due[:6]:
        name = next(one.species.common_name for one in autumn.species if one.species.name == task.species)
        assert name in shown and task.action in shown
    assert "Next visit to the hill" in shown and "To look at this week" in shown
    assert grower.taps == 0
    assert "4 × short quest" in shown, "bags of one species are counted, not listed"
    nav = "document.querySelector('.screens').getBoundingClientRect().top"
    looking = "[...document.querySelectorAll('#page button')].find((one) => one.textContent === 'Look in the box')"
    assert grower.js(f"return {looking}.getBoundingClientRect().bottom <= {nav}"), "seen without scrolling"
    assert grower.js("return document.querySelector('.screens').getBoundingClientRect().bottom <= innerHeight + 1")


def test_steps_of_equal_dates_stand_in_the_order_of_the_plan(grower: Hand) -> None:
    shown = grower.js(
        "const facts = JSON.parse(document.getElementById('facts').textContent);"
        "for (const task of facts.tasks) { task.from = task.to = facts.made; }"
        "return [facts.tasks.map((task) => [facts.species[task.species].name, task.key]),"
        "chillplan.tasksNow(facts, chillplan.standing(facts, [])).map((task) => [task.species.name, task.key])]"
    )
    planned, ordered = ([tuple(step) for step in steps] for steps in shown)
    assert len(ordered) > 3 and ordered == [step for step in planned if step in set(ordered)]
    assert ordered != sorted(ordered), "an order by name would do as well, and the test would say nothing"


def test_the_weekly_look_at_ten_bags_with_two_exceptions(grower: Hand) -> None:
    grower.tap("The box")
    assert grower.js("return document.querySelectorAll('.look > li').length") == 10
    names = grower.js("return [...document.querySelectorAll('.look .exceptions')].map((one) => one.ariaLabel)")
    grower.tap(f"Mould: {names[0]}")
    assert "gloves and a mask" in grower.text(), "the advice, with its caution, stands at the tap"
    grower.tap(f"Sprouted: {names[-1]}", number=-1)
    grower.tap("7", ".look")
    grower.tap("All the rest is fine: keep")
    assert grower.taps <= 8
    looks = grower.kept(10)
    assert sorted(look["finding"] for look in looks) == ["fine"] * 8 + ["mould", "sprouted"]
    assert next(look["sprouted"] for look in looks if look["finding"] == "sprouted") == 7
    assert len({look["batch"] for look in looks}) == 10


def test_a_lot_is_entered_in_six_taps_and_its_way_moves_the_work(grower: Hand) -> None:
    grower.tap("My seed")
    grower.tap("Add seed")
    grower.tap("middle quest", ".form")
    grower.tap("200", ".form")
    grower.tap("Cold store", ".form")
    grower.tap("Keep this lot")
    assert grower.taps <= 6
    grower.wait("document.querySelector('#page .rows').textContent.includes('200 seeds')")
    (lot,) = grower.kept(1)
    assert lot["lot"]["species"] == "Quaesita media" and lot["lot"]["amount"] == "200 seeds"
    ways = grower.js(
        "const facts = JSON.parse(document.getElementById('facts').textContent);"
        "return chillplan.tasksNow(facts, chillplan.standing(facts, arguments[0]))"
        ".filter((task) => task.species.name === 'Quaesita media').map((task) => task.way)",
        [lot],
    )
    assert ways and set(ways) == {"fridge"}


def test_the_planting_date_moves_into_the_cold_at_once(grower: Hand) -> None:
    grower.tap("My seed")
    before = grower.text("#into-cold")
    script = """
    const slider = document.querySelector("#planting input[type=range]");
    const set = Object.getOwnPropertyDescriptor(HTMLInputElement.prototype, "value").set;
    const began = performance.now();
    set.call(slider, Number(slider.value) + 10);
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    const done = arguments[0];
    const look = () => document.querySelector("#into-cold").textContent === %s
      ? requestAnimationFrame(look) : done(performance.now() - began);
    requestAnimationFrame(look);
    """
    took = grower.driver.execute_async_script(script % json.dumps(before))
    assert took < 1000, "the figure itself is the benchmark's; this only fails where it hangs"
    assert grower.text("#into-cold") != before
    assert "winters good" in grower.text("#planting") and "Frost that kills" in grower.text("#planting")
    assert grower.js("return document.querySelectorAll('#planting .winters rect').length") > 5
    moved = grower.text("#planting .answer b")
    grower.tap("Keep this date")
    grower.kept(1)
    grower.open("seed")
    assert grower.text("#planting .answer b") == moved, "kept over closing the page"


def test_a_warm_spell_in_the_box_moves_the_finish(grower: Hand) -> None:
    grower.tap("The box")
    before = grower.text(".look > li small:nth-of-type(2)")
    for label, value in (("From", "2026-11-21"), ("To", "2026-11-26"), ("Temperature", "59")):
        grower.fill(label, value)
    grower.tap("°F")
    grower.tap("Keep 15\u00a0°C")
    grower.wait("document.querySelector('.look').innerText.includes('later than planned')")
    assert before != grower.text(".look > li small:nth-of-type(2)")
    (reading,) = grower.kept(1)
    assert (reading["celsius"], reading["from"], reading["to"]) == (15, "2026-11-21", "2026-11-26")


def test_days_that_do_not_work_form_the_visits_anew(grower: Hand) -> None:
    grower.tap("More")
    first = grower.text(".visits > li b")
    day = grower.js(
        "const facts = JSON.parse(document.getElementById('facts').textContent);"
        "return chillplan.rules.isoOf(chillplan.visitsNow(facts, chillplan.standing(facts, [])).visits[0].day)"
    )
    grower.fill("Days that do not work", day, "#days")
    grower.tap("Cross off a day")
    grower.wait(f"document.querySelector('.visits > li b').textContent !== {json.dumps(first)}")
    grower.tap("Sun", "#days")
    assert len(grower.kept(2)) == 2


def test_sown_and_counted_against_what_was_promised(grower: Hand) -> None:
    grower.tap("Beds")
    grower.choose("What did you sow?", "short quest")
    grower.fill("How many", "50", ".form")
    grower.fill("Bed", "by the <b>gate</b>", ".form")
    grower.tap("Keep this sowing")
    grower.wait("document.querySelector('#page .rows li')")
    assert "by the <b>gate</b>" in grower.text() and "promised for that date" in grower.text()
    grower.fill("Up now", "3")
    grower.tap("Keep count")
    grower.wait("document.querySelector('#page .rows').innerText.includes('3 up')")
    assert [entry["kind"] for entry in sorted(grower.entries(), key=lambda one: one["at"])] == ["sow", "count"]


def test_done_puts_seed_into_the_box_without_typing(autumn: Plan, source: Source, tmp_path: Path) -> None:
    page = written(tmp_path, autumn, source, facts_of(autumn, source))
    task = next(
        one for one in autumn.tasks if one.key.startswith("fridge/cold phase") or one.key.startswith("fridge/warm")
    )
    name = next(one.species.common_name for one in autumn.species if one.species.name == task.species)
    with hand(page, PHONE, task.date_from.isoformat()) as opened:
        opened.tap(f"Done: {name}, {task.action}")
        assert sorted(entry["kind"] for entry in opened.kept(2)) == ["begin", "task"]
        opened.tap("The box")
        assert name in opened.text()


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_nothing_is_asked_of_a_network_and_the_console_stays_empty(boxed: Path, size: tuple[int, int]) -> None:
    with hand(boxed, size, PLANNED.isoformat()) as opened:
        for screen in (*SCREENS, "report", "report-whole"):
            opened.js("location.hash = arguments[0]", screen)
            opened.wait("document.querySelector('#page').children.length > 0")
            assert opened.js("return document.documentElement.scrollWidth <= innerWidth"), screen
        opened.wait("document.documentElement.dataset.charts === 'drawn'")
        assert opened.faults() == []
        assert opened.js("return getComputedStyle(document.querySelector('h2')).display") != "none"


def test_the_policy_stops_a_script_that_was_smuggled_in(boxed: Path) -> None:
    with hand(boxed) as opened:
        ran = opened.js(
            "const script = document.createElement('script'); script.textContent = 'window.smuggled = 1';"
            "document.body.append(script); return window.smuggled ?? null"
        )
        assert ran is None


@pytest.mark.skipif(not AXE.is_file(), reason="axe-core is not at hand: npm ci in chillplan/web/app")
@pytest.mark.parametrize("size", [PHONE, DESK])
def test_axe_finds_nothing(boxed: Path, size: tuple[int, int]) -> None:
    run = """
    const done = arguments[0];
    const told = ({ id, nodes }) => [id, nodes.slice(0, 3).map((node) => node.html.slice(0, 160))];
    axe.run(document).then((found) => done(found.violations.map(told)));
    """
    with hand(boxed, size, PLANNED.isoformat()) as opened:
        opened.js(AXE.read_text(encoding="utf-8"))
        for screen in (*SCREENS, "report", "species-1"):
            opened.js("location.hash = arguments[0]", screen)
            opened.wait("document.querySelector('#page').children.length > 0")
            if screen == "seed":
                opened.tap("Add seed")
            if screen == "box":
                opened.tap("Mould: short quest")
            opened.js("document.getAnimations().forEach((one) => one.finish())")
            assert opened.driver.execute_async_script(run) == [], screen


def test_targets_are_large_and_the_keyboard_goes_everywhere(grower: Hand) -> None:
    small = """
    return [...document.querySelectorAll('#app :is(button, .button, .screens a, summary, select)')]
      .filter((one) => one.offsetParent || getComputedStyle(one).position === 'fixed')
      .map((one) => [one.textContent, one.getBoundingClientRect()])
      .filter(([, box]) => box.height < 44 || box.width < 44).map(([words]) => words)"""
    for screen in SCREENS:
        grower.js("location.hash = arguments[0]", screen)
        grower.wait("document.querySelector('#page').children.length > 0")
        assert grower.js(small) == [], screen
    from selenium.webdriver.common.keys import Keys

    grower.open("box")
    reached = []
    for _ in range(12):
        grower.driver.switch_to.active_element.send_keys(Keys.TAB)
        reached.append(grower.js("return document.activeElement.ariaLabel || document.activeElement.textContent"))
    assert reached[0] == "Skip to the page" and any(words.startswith("Mould: ") for words in reached)


def test_a_window_that_keeps_nothing_says_so_before_anything_is_entered(boxed: Path) -> None:
    with hand(boxed, PHONE, PLANNED.isoformat()) as opened:
        broken = (
            "Object.defineProperty(window, 'indexedDB', "
            "{ value: { open() { throw new DOMException('no', 'SecurityError'); } } });"
        )
        opened.driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": broken})
        opened.open()
        told = opened.js("return document.getElementById('no-storage').getAttribute('role')")
        assert told == "alert" and "keeps nothing" in opened.text("#no-storage")
        opened.tap("The box")
        opened.tap("All fine: keep")
        opened.wait("document.querySelector('.told').classList.contains('bad')")
        opened.tap("More")
        assert "10 entries" in opened.text("#back"), "what was entered can still be brought back"


def test_yesterdays_page_counts_from_the_devices_own_day(boxed: Path) -> None:
    later = PLANNED + timedelta(days=20)
    with hand(boxed, PHONE, later.isoformat()) as opened:
        assert later.strftime("%d").lstrip("0") in opened.text(".top")
        opened.tap("The box")
        assert opened.js("return document.querySelectorAll('.look .late').length") == 10
        paint = "return getComputedStyle(document.querySelector('.look .late')).backgroundImage"
        assert opened.js(paint) == "none", "the pattern of a bar in the long report does not lie under it"


HAZARDS = ("Seed is poisonous.", "Boiling water scalds.")


def test_cautions_stand_wherever_seed_is_handled(
    autumn: Plan, source: Source, ten_batches: Path, tmp_path: Path
) -> None:
    """On each task whatever its kind, at the lot, at the bag, and for seed that the plan does not ask about."""
    odd, *planned = autumn.species
    plan = replace(autumn, species=tuple(replace(one, cautions=(*HAZARDS, *FOR_ALL)) for one in planned))
    plan = replace(plan, tasks=tuple(task for task in plan.tasks if task.species != odd.species.name))

    def species_of(name: str) -> Species:
        return replace(odd.species, cautions=("Sap burns skin in the sun.",))

    with open_journal(ten_batches, PLANNED) as journal:
        held = held_by(journal, PLANNED, species_of)
    page = written(tmp_path, plan, source, facts_of(plan, source, held=held))
    with hand(page, PHONE, PLANNED.isoformat()) as opened:
        rows = "return [...document.querySelectorAll('#page .rows > li')].map((one) => one.textContent)"
        tasks = opened.js(rows)
        assert len(tasks) > 2 and all(hazard in task for task in tasks for hazard in HAZARDS)
        assert all(opened.text().count(caution) == 1 for caution in FOR_ALL), "what holds for all stands once"
        opened.tap("The box")
        bags = opened.js(rows)
        assert all(hazard in bag for bag in bags for hazard in HAZARDS if odd.species.common_name not in bag)
        assert sum("Sap burns skin in the sun." in bag for bag in bags) == 4
        assert opened.text().count(MOULD) == 1
        opened.tap("My seed")
        opened.tap("Add seed")
        opened.tap(planned[-1].species.common_name, ".form")
        assert all(hazard in opened.text(".form") for hazard in (*HAZARDS, *FOR_ALL))
        opened.tap("200", ".form")
        opened.tap("Keep this lot")
        opened.kept(1)
        assert all(hazard in opened.text(".rows") for hazard in HAZARDS)
