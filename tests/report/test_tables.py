"""Printed tables: words stay whole, invented weather is never called observed, the work is listed in its order."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, timedelta

import pytest
import vobject
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.advice.visits import VisitPlan
from chillplan.report.calendar import calendar_bytes
from chillplan.report.contract import plan_json
from chillplan.report.pictures_species import outcome_picture
from chillplan.report.reader import Reader, reader_for
from chillplan.report.record import TAKEN_MOIST, Source, left_out_lines
from chillplan.report.tables import print_plan, print_visits, print_winter
from chillplan.report.tables_lists import print_sites
from chillplan.report.tables_terminal import fitted
from chillplan.report.when_words import TWO_WAYS, way_words, when_words
from chillplan.seasons.cut import Seasons
from chillplan.seeds.recipe import CoatStep
from chillplan.site import Site
from chillplan.web.folder import tasks_csv
from tests.report.conftest import cold, page_of, species_of, warm

LONG = "Chrysanthemoides monilifera"


def lines_of(table: Table, width: int) -> list[str]:
    console = Console(width=width, highlight=False)
    with console.capture() as captured:
        console.print(fitted(table, width))
    return captured.get().splitlines()


@pytest.mark.parametrize("width", [60, 80, 120])
def test_no_word_is_broken_and_no_number_wrapped_where_there_is_room(width: int) -> None:
    table = Table(box=None, pad_edge=False)
    table.add_column("Species")
    table.add_column("Good winters", justify="right")
    table.add_column("What")
    table.add_row(LONG, "39 of 40", "sow outdoors, a hand deep, and mark the bed with its name and the date " * 3)
    lines = lines_of(table, width)
    shown = "\n".join(lines)
    for word in (*LONG.split(), "39 of 40", "outdoors,"):
        assert word in shown
    assert max(map(cell_len, lines)) <= width


def test_a_word_wider_than_the_room_is_cut_and_the_table_still_fits() -> None:
    table = Table(box=None, pad_edge=False)
    table.add_column("Species")
    table.add_column("What")
    table.add_row("x" * 90, "sow")
    assert max(map(cell_len, lines_of(table, 60))) <= 60


@pytest.fixture(scope="module")
def either(seasons: Seasons, site: Site) -> Plan:
    coat = (CoatStep("hot water", (12.0, 24.0), (100.0, 100.0)),)
    one = replace(species_of("Quaesita calida", "scalded quest", cold(20, 30), coat=coat, hard=True), storage="dry")
    return make_plan(seasons, site, [one], Request(date(2026, 11, 20), accept=0.5))


def test_a_species_with_two_ways_is_marked_so_that_it_is_not_done_twice(either: Plan, source: Source, capsys) -> None:
    assert either.species[0].verdict == "either"
    assert {way_words(either, task) for task in either.tasks} == {"outdoors", "fridge"}
    print_plan(either, source, Reader())
    out = " ".join(capsys.readouterr().out.split())
    assert TWO_WAYS in out
    assert "Boiling water scalds" in out and "Caution for all: Mould" in out
    assert all("100 °C, off the stove and left to cool" in task.action for task in either.tasks if "/coat/" in task.key)


def test_the_page_the_calendar_and_the_table_mark_the_two_ways_too(either: Plan, source: Source) -> None:
    page = page_of(either, source, Reader())
    assert TWO_WAYS in page and "scalded quest</bdi> (fridge)" in page
    rows = list(csv.DictReader(io.StringIO(tasks_csv(either))))
    assert {row["way"] for row in rows} == {"outdoors", "fridge"}
    events = vobject.readOne(calendar_bytes(either, source, Reader()).decode()).vevent_list
    said = " ".join(event.description.value for event in events)
    begun = [task for task in either.tasks if "/check/" not in task.key]
    assert said.count("ne of two ways, outdoors: do one of them") >= 1
    assert said.count("ne of two ways, ") == len(begun)


def test_two_winters_outdoors_are_not_judged_by_the_first(seasons: Seasons, site: Site) -> None:
    slow = species_of("Bina lenta", "slow seed", cold(60, 90), warm(60, 90), cold(90, 120))
    plan = make_plan(seasons, site, [slow], Request(date(2026, 9, 1)))
    assert plan.species[0].verdict == "two-winters-outdoors"
    picture = outcome_picture(plan, plan.species[0], Reader(), 1)
    assert picture.summary.startswith("The bands show the first season alone")
    assert "Most seed is up" not in picture.summary and "by the second spring" in picture.summary
    assert any("up by 2nd spring" in note["text"] for note in picture.layout["annotations"])


def test_warmth_that_comes_before_the_cold_is_told_first(seasons: Seasons, site: Site) -> None:
    double = species_of("Bina calida", "warm quest", warm(60, 90), cold(150, 200))
    advice = make_plan(seasons, site, [double], Request(date(2026, 3, 1), season=2026)).species[0]
    assert advice.fridge is not None and advice.fridge.into_cold is not None
    begin = advice.fridge.into_cold - timedelta(days=90)
    assert when_words(replace(advice, verdict="chill-in-fridge"), Reader()).startswith(
        f"into the warm {Reader().day(begin)}, into the cold {Reader().day(advice.fridge.into_cold)}, plant out "
    )


def test_the_coat_is_treated_before_the_seed_goes_into_the_cold(either: Plan) -> None:
    indoors = [task.key.split("/")[1] for task in either.tasks if task.key.startswith("fridge/")]
    assert indoors[:2] == ["coat", "cold phase"]
    assert all(task.date_from >= either.today for task in either.tasks)


def test_invented_air_is_never_called_observed(plan: Plan, source: Source, capsys) -> None:
    print_plan(plan, replace(source, invented=True), Reader())
    print_winter(plan.site, replace(source, invented=True), plan.seasons, plan.winters, 2026, Reader())
    page = page_of(plan, replace(source, invented=True), Reader())
    for shown in (capsys.readouterr().out, page[: page.index('id="drawing-library"')]):
        words = " ".join(shown.split())
        assert "observed" not in words.lower() and "99.8% of days invented" in words
    print_plan(plan, replace(source, invented=False), Reader())
    assert "Observed: air temperatures" in capsys.readouterr().out
    assert plan_json(plan, replace(source, invented=True))["weather"]["invented"] is True


def test_us_readers_read_us_units_and_dates_throughout(plan: Plan, source: Source, capsys) -> None:
    us = reader_for("us", None)
    print_plan(plan, source, us)
    print_winter(plan.site, source, plan.seasons, plan.winters, 2026, us)
    out = capsys.readouterr().out
    assert "°C" not in out.replace("taken as °C", "") and " cm " not in out and "soil 50" in out
    assert "Nov 1" in out and "1 Nov" not in out


def test_a_warmer_plan_says_that_it_is_a_what_if(plan: Plan, source: Source, capsys) -> None:
    warm = replace(plan, warming=2.0)
    print_plan(warm, source, reader_for("us", None))
    said = "Every temperature was moved by +3.6 °F as asked: this is a what-if, not a record."
    assert said in " ".join(capsys.readouterr().out.split())
    assert said in page_of(warm, source, reader_for("us", None)).replace("\N{NO-BREAK SPACE}", " ")
    print_visits(warm, VisitPlan((), (), proven=True), source, reader_for("us", None))
    assert said in " ".join(capsys.readouterr().out.split())
    events = calendar_bytes(warm, replace(source, invented=False), reader_for("us", None)).decode().replace("\r\n ", "")
    assert "moved by +3.6 °F" in events
    print_plan(plan, source, Reader())
    assert "what-if" not in capsys.readouterr().out


def test_a_record_without_rain_is_said_to_be_taken_for_moist(plan: Plan, source: Source, capsys) -> None:
    assert "precipitation" not in plan.seasons.daily
    print_plan(plan, source, Reader())
    assert TAKEN_MOIST in " ".join(capsys.readouterr().out.split())
    wet = replace(plan.seasons, daily={**plan.seasons.daily, "precipitation": plan.seasons.daily["tmin"] * 0.0})
    print_winter(plan.site, source, wet, plan.winters, 2026, Reader())
    assert TAKEN_MOIST not in " ".join(capsys.readouterr().out.split())


def test_a_run_of_seasons_left_out_for_one_reason_is_one_line(seasons: Seasons) -> None:
    missing = "365 of 365 days missing"
    some = replace(seasons, left_out={1970: missing, 1971: missing, 1973: missing, 1974: "9 of 365 days missing"})
    assert left_out_lines(some) == [
        f"1970/71 to 1971/72, {missing}",
        f"1973/74, {missing}",
        "1974/75, 9 of 365 days missing",
    ]


@pytest.mark.parametrize(
    ("verdict", "dates"),
    [
        ("either", "sow 2026-10-21 to 2026-12-01; or plant out 2027-04-19"),
        ("start-outdoors-finish-in-fridge", "sow 2026-10-21 to 2026-12-01, plant out 2027-04-19"),
        ("sow-in-autumn", "sow 2026-10-21 to 2026-12-01"),
    ],
)
def test_the_table_of_sites_names_both_dates_where_both_count(
    verdict: str, dates: str, capsys: pytest.CaptureFixture[str]
) -> None:
    row = {
        "site": "field", "species": "Planta exempli", "verdict": verdict, "good_winters": 9, "winters": 10,
        "chance": 0.9, "sow_from": "2026-10-21", "sow_to": "2026-12-01", "plant_out": "2027-04-19",
    }  # fmt: skip
    print_sites([row])
    out = capsys.readouterr().out
    column = next(line.index("When") for line in out.splitlines() if "When" in line)
    told = "".join(line[column:] for line in out.splitlines()).replace(" ", "")
    assert dates.replace(" ", "") in told
    assert ("plantout" in told) == ("plant out" in dates)


@pytest.mark.parametrize("explain", [False, True])
def test_every_caution_of_a_species_is_printed(
    plan: Plan, source: Source, capsys: pytest.CaptureFixture[str], explain: bool
) -> None:
    hazards = ("seeds are deadly poisonous", "sap blisters the skin", "protected: check your own")
    first, *others = plan.species
    print_plan(replace(plan, species=(replace(first, cautions=hazards), *others)), source, Reader(), explain)
    out = " ".join(capsys.readouterr().out.split())
    assert all(hazard in out for hazard in hazards)
