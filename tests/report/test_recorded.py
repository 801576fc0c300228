"""What is said of the plan in `handmade.py`, whole, as its reader sees it: no word, number or date moves unseen.

The pages stand in ``recorded``. ``CHILLPLAN_WRITE_RECORDED=1 pytest tests/report/test_recorded.py`` writes them anew;
what differs is read against the figures of `handmade.py` before it is kept. Colours and spaces are not in them.
"""

from __future__ import annotations

import csv
import html
import io
import json
import os
import re
from collections.abc import Callable
from dataclasses import astuple
from datetime import date
from pathlib import Path

import pytest
from icalendar import Calendar

from chillplan import __version__
from chillplan.advice.result import Plan
from chillplan.advice.visits import Uncovered, VisitPlan
from chillplan.report.calendar import calendar_bytes
from chillplan.report.contract import plan_json, winter_answer
from chillplan.report.labels import labels_of
from chillplan.report.look import Picture
from chillplan.report.page import report_sections
from chillplan.report.pictures_chill import chill_picture
from chillplan.report.pictures_frost import frost_picture, soil_picture
from chillplan.report.pictures_species import outcome_picture
from chillplan.report.pictures_timeline import timeline_picture
from chillplan.report.pictures_zone import seed_zone_picture
from chillplan.report.reader import Reader, reader_for
from chillplan.report.record import Source
from chillplan.report.rows import plan_csv, winter_csv
from chillplan.report.tables import print_plan, print_visits, print_winter, visits_csv, visits_json
from chillplan.web.facts import page_facts
from chillplan.web.folder import tasks_csv
from tests.report.handmade import hand_plan, hand_source
from tests.report.handmade_south import south_plan

RECORDED = Path(__file__).parent / "recorded"
READERS = {"metric": reader_for("metric", None), "us": reader_for("us", None), "iso": reader_for("metric", "iso")}
PLAN = hand_plan()
VISITS = VisitPlan(
    PLAN.visits,
    (
        Uncovered(PLAN.tasks[0], "no day works", ("one more day off", "a longer day")),
        Uncovered(PLAN.tasks[4], "snow lies", ()),
    ),
    proven=True,
    frost_risk={date(2026, 10, 17): 0.26316},
)


NO_VISITS = VisitPlan((), (), proven=False)


def same(name: str, said: str) -> None:
    """A page is what was recorded of it, line by line."""
    path = RECORDED / name
    said = "\n".join(line.rstrip() for line in said.splitlines()).strip() + "\n"
    if os.environ.get("CHILLPLAN_WRITE_RECORDED"):
        path.parent.mkdir(exist_ok=True)
        path.write_text(said, encoding="utf-8")
    assert said.splitlines() == path.read_text(encoding="utf-8").splitlines()


def written(content: object) -> str:
    """JSON with what holds nothing further on one line."""
    text = json.dumps(content, indent=1, ensure_ascii=False)
    return re.sub(r"[\[{][^\[\]{}]*[\]}]", lambda found: " ".join(found[0].split()), text)


def source_for(plan: Plan) -> Source:
    """Of the plan of the south: invented, of no known place."""
    south = plan.site.southern
    nowhere = {"invented": True, "distance_km": None, "height_difference_m": None, "notes": ()}
    return hand_source(**(nowhere if south else {}))


def of_calendar(plan: Plan, reader: Reader) -> str:
    """Every event with its days, place, alarms and words."""
    calendar = Calendar.from_ical(calendar_bytes(plan, source_for(plan), reader))
    lines = [f"{name}: {calendar[name]}" for name in sorted(calendar)]
    for event in calendar.walk("VEVENT"):
        lines += [
            "",
            str(event["summary"]),
            f"{event['dtstart'].dt} to before {event['dtend'].dt}, {event['location']}",
        ]
        lines += [f"repeated {event['rrule'].to_ical().decode()}"] if "rrule" in event else []
        left = (
            event["exdate"] if isinstance(event.get("exdate"), list) else [event["exdate"]] if "exdate" in event else []
        )
        lines += [f"but not on {day.dt}" for each in left for day in each.dts]
        lines += [f"{event['sequence']} {event['transp']} {event['dtstamp'].dt} {event['last-modified'].dt}"]
        for alarm in event.walk("VALARM"):
            hours = alarm["trigger"].dt.total_seconds() / 3600
            from_end = " from its end" if alarm["trigger"].params.get("RELATED") == "END" else ""
            lines.append(f"alarm {hours:+.0f} h{from_end}, {alarm['action']}: {alarm['description']}")
        lines += str(event["description"]).splitlines()
    return "\n".join(lines)


def of_labels(plan: Plan, reader: Reader) -> str:
    return "\n\n".join("\n".join(str(part) for part in astuple(label)) for label in labels_of(plan, reader))


def of_sections(plan: Plan, reader: Reader) -> str:
    """The words of every part of the long report, the charts left out."""
    said = []
    for name, title, part in report_sections(plan, source_for(plan), reader):
        words = re.sub(r"<(script|figure)\b.*?</\1>", "", part, flags=re.DOTALL)
        words = words.replace(f"chillplan {__version__} ", "chillplan (this version) ")
        words = re.sub(r"<(/?(?:b|i|span|a|small)\b[^>]*)>", "", words)
        lines = (" ".join(html.unescape(line).split()) for line in re.sub(r"<[^>]+>", "\n", words).splitlines())
        said += [f"== {name}: {title}", *(line for line in lines if line), ""]
    return "\n".join(said)


def some(values: list | None) -> str:
    """All of a few points; of many, how many and every tenth."""
    if values is None or len(values) <= 24:
        return written(values)
    return f"{len(values)}: {written(values[::10])}"


def short(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def of_picture(picture: Picture) -> str:
    """What a chart says and where: words, points, names, edges, axes; not its colours and margins."""
    lines = [f"== {picture.key}: {picture.title}", picture.summary, picture.note, ""]
    for drawn in picture.data:
        named = [drawn.get(key) for key in ("type", "mode", "name", "hovertemplate", "hoverinfo", "stackgroup", "fill")]
        lines.append("trace " + " | ".join(str(part) for part in named if part))
        lines += [f"  {key} {some(drawn[key])}" for key in ("x", "y", "base", "customdata", "text") if key in drawn]
        lines += [f"  {key} {drawn[key]}" for key in ("x0", "dx", "yaxis", "xaxis", "textposition") if key in drawn]
        lines += [f"  symbol {drawn['marker']['symbol']}"] if "symbol" in drawn.get("marker", {}) else []
        dashes = [drawn["line"].get("dash")] if "line" in drawn else []
        patterns = [drawn.get("fillpattern"), drawn.get("marker", {}).get("pattern")]
        dashes += [pattern["shape"] for pattern in patterns if pattern]
        lines += [f"  drawn {dash}" for dash in dashes if dash]
    for where, layout in (("", picture.layout), ("on a phone, ", picture.compact)):
        for note in layout.get("annotations", ()):
            place = " ".join(short(note.get(key)) for key in ("x", "xref", "xanchor", "y", "yref", "yanchor"))
            lines.append(f"{where}note {note['text']} at {place}")
    for shape in picture.layout.get("shapes", ()):
        lines.append("edge " + " ".join(short(shape.get(key)) for key in ("x0", "x1", "xref", "y0", "y1", "yref")))
    for name, axis in sorted(picture.layout.items()):
        if "axis" in name:
            keys = (
                "type",
                "range",
                "dtick",
                "nticks",
                "tickformat",
                "ticksuffix",
                "hoverformat",
                "domain",
                "anchor",
                "side",
            )
            said = [f"{key} {axis[key]}" for key in (*keys, "showticklabels", "ticklabelmode") if key in axis]
            said += [axis["title"]["text"]] if "title" in axis else []
            lines.append(f"{name}: {', '.join(said)}")
    rows = picture.rows[:: 4 if len(picture.rows) > 20 else 1]
    lines += ["", " | ".join(picture.header), *(" | ".join(row) for row in rows), ""]
    return "\n".join(lines)


def of_pictures(plan: Plan, reader: Reader) -> str:
    air = source_for(plan).air
    drawn = [draw(plan, reader, air) for draw in (frost_picture, soil_picture, seed_zone_picture)]
    drawn.append(chill_picture(plan, reader))
    drawn.append(timeline_picture(plan, reader))
    drawn += [
        outcome_picture(plan, plan.species[number], reader, number + 1)
        for number in (0, 1, 3)
        if number < len(plan.species)
    ]
    return "\n".join(map(of_picture, drawn))


WRITTEN: dict[str, Callable[[Plan, Reader], str]] = {
    "calendar": of_calendar,
    "labels": of_labels,
    "pictures": of_pictures,
    "sections": of_sections,
}
PRINTED: dict[str, Callable[[Plan, Reader], None]] = {
    "plan": lambda plan, reader: print_plan(plan, source_for(plan), reader),
    "explained": lambda plan, reader: print_plan(plan, source_for(plan), reader, explain=True),
    "winter": lambda plan, reader: print_winter(
        plan.site, source_for(plan), plan.seasons, plan.winters, 2026, reader, plan.warming
    ),
    "visits": lambda plan, reader: print_visits(plan, VISITS if plan is PLAN else NO_VISITS, source_for(plan), reader),
}


@pytest.mark.parametrize("reader", ["metric", "us"])
@pytest.mark.parametrize("page", WRITTEN)
def test_what_is_written_of_a_plan_is_what_the_plan_says(page: str, reader: str) -> None:
    same(f"{page}-{reader}.txt", WRITTEN[page](PLAN, READERS[reader]))


@pytest.mark.parametrize(
    ("page", "reader"),
    [*((page, reader) for page in PRINTED for reader in ("metric", "us")), ("plan", "iso"), ("winter", "iso")],
)
def test_what_is_printed_of_a_plan_is_what_the_plan_says(
    page: str, reader: str, capsys: pytest.CaptureFixture[str]
) -> None:
    PRINTED[page](PLAN, READERS[reader])
    same(f"{page}-{reader}.txt", capsys.readouterr().out)


@pytest.mark.parametrize("page", [*WRITTEN, *PRINTED])
def test_what_is_said_of_the_plan_of_the_south(page: str, capsys: pytest.CaptureFixture[str]) -> None:
    """No frost, four winters, lots of one species, warmth before the cold, invented weather, degrees added."""
    plan = south_plan()
    if page in WRITTEN:
        said = WRITTEN[page](plan, READERS["metric"])
    else:
        PRINTED[page](plan, READERS["metric"])
        said = capsys.readouterr().out
    same(f"{page}-south.txt", said)


def test_a_program_is_told_every_figure_of_a_plan_under_its_key() -> None:
    answers = {
        "plan": plan_json(PLAN, hand_source()),
        "winter": winter_answer(PLAN.site, hand_source(), PLAN.seasons, PLAN.winters, 2026, 1.5),
        "visits": visits_json(PLAN, VISITS, hand_source()),
    }
    assert answers["winter"]["winter"] == answers["plan"]["winter"], "one block, said once below"
    del answers["winter"]["winter"]
    same("answers.json", written(answers))
    told = plan_json(south_plan(), source_for(south_plan()))
    told["winter"] = {"last_spring_frost": told["winter"]["last_spring_frost"]}
    same("answers-south.json", written(told))


def test_the_phone_is_told_every_figure_of_a_plan_under_its_key() -> None:
    facts = {reader: page_facts(PLAN, hand_source(), READERS[reader]) for reader in ("metric", "us")}
    for told in facts.values():
        told["hill"] = {key: value if key == "first" else value[:3] for key, value in told["hill"].items()}
        for species in told["species"]:
            del species["sown"], species["planted"]  # of the simulation: tests/web/test_told.py
    alike = {key: value for key, value in facts["us"].items() if facts["metric"][key] == value}
    same(
        "facts.json",
        written({"metric": facts["metric"], "us": {k: v for k, v in facts["us"].items() if k not in alike}}),
    )


def test_a_spreadsheet_has_every_figure_of_a_plan_in_its_column() -> None:
    said = []
    for name, text in (
        ("plan", plan_csv(PLAN)),
        ("winters", winter_csv(PLAN.winters, PLAN.seasons)),
        ("tasks", tasks_csv(PLAN)),
        ("visits", visits_csv(VISITS)),
    ):
        rows = list(csv.reader(io.StringIO(text)))
        assert {len(row) for row in rows} == {len(rows[0])}
        said += [f"== {name}", *(" | ".join(row) for row in rows), ""]
    south = south_plan()
    said += [plan_csv(south), tasks_csv(south), winter_csv(south.winters, south.seasons)]
    same("spreadsheets.txt", "\n".join(said))
