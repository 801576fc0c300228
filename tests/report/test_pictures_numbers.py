"""What a chart draws are the numbers of the plan: each is counted here anew, from the winters themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import numpy as np
import pandas as pd
import pytest

from chillplan.advice.plan import Request, make_plan
from chillplan.advice.result import Plan
from chillplan.report.look import Picture
from chillplan.report.pictures_chill import chill_picture, needs_of
from chillplan.report.pictures_frost import frost_picture, soil_picture
from chillplan.report.pictures_species import outcome_picture
from chillplan.report.pictures_timeline import steps_shown, timeline_picture
from chillplan.report.pictures_zone import seed_zone_picture
from chillplan.report.reader import Reader
from chillplan.seasons.cut import Seasons
from chillplan.seeds.simulate import FATES
from chillplan.site import Site
from tests.report.conftest import TODAY, cold, species_of, warm

AUGUST = date(2026, 8, 1)


def named(picture: Picture, name: str) -> dict:
    (trace,) = [trace for trace in picture.data if trace.get("name") == name]
    return trace


def texts(picture: Picture) -> list[str]:
    return [note["text"] for note in picture.layout["annotations"]]


def plain_name(text: str) -> str:
    return text.removeprefix("<b>").removesuffix("</b>").strip("\u2068\u2069")


def box_of(plan: Plan, note: dict) -> tuple[float, float, float, float]:
    """Edges of a name: a letter is 8.4 of the 600 points of a picture's width, a line 12 of the 100 of its height."""
    last = float(plan.species[0].by_date.starts[-1])
    x = (date.fromisoformat(note["x"]) - AUGUST).days * 600.0 / last
    half = 8.4 * len(plain_name(note["text"])) / 2.0
    return x - half + 5.0, x + half - 5.0, note["y"] - 5.9, note["y"] + 5.9


def day(index: float) -> str:
    return str(AUGUST + timedelta(days=int(np.floor(index + 0.5))))


def weibull(values: np.ndarray) -> list[float]:
    """10th, 50th and 90th percentile at rank p (n + 1), by hand."""
    ordered = np.sort(values)
    ranks = np.clip(np.array([0.1, 0.5, 0.9]) * (ordered.size + 1), 1, ordered.size)
    return list(np.interp(ranks, np.arange(1, ordered.size + 1), ordered))


def test_the_lines_of_chill_end_where_the_winters_end(plan: Plan) -> None:
    picture, chill = chill_picture(plan, Reader()), plan.winters.effective_chill
    every = named(picture, "each winter")
    ends = [y for y, after in zip(every["y"], every["y"][1:], strict=False) if after is None]
    assert ends == pytest.approx(chill.tolist(), abs=2.0)  # the last days of a season bring hardly any
    assert every["x"].count(None) == chill.size and every["x"][0] == str(AUGUST)
    low, middle, high = weibull(chill)
    for name, value in (("1 winter in 10 below", low), ("median winter", middle), ("1 winter in 10 above", high)):
        assert named(picture, name)["y"][-1] == pytest.approx(value, abs=1.0)
        assert named(picture, name)["y"] == sorted(named(picture, name)["y"])
    assert f"gathered {middle:.0f} days" in picture.summary
    assert f"ten {low:.0f} or fewer" in picture.summary and f"ten {high:.0f} or more" in picture.summary


def test_every_line_of_chill_is_inside_and_named_apart_from_the_next(plan: Plan) -> None:
    picture = chill_picture(plan, Reader())
    floor, top = picture.layout["yaxis"]["range"]
    assert floor == 0 and max(need.high for need in needs_of(plan)) < top
    assert max(plan.winters.effective_chill) < top < 1.2 * max(200.0, *plan.winters.effective_chill)
    places = {note["text"]: note["y"] for note in picture.layout["annotations"]}
    above, middle, below = (
        places[text] for text in ("1 winter in 10 above", "<b>median winter</b>", "1 winter in 10 below")
    )
    assert above - middle >= 0.05 * top and middle - below >= 0.05 * top
    ends = [named(picture, f"1 winter in 10 {side}")["y"][-1] for side in ("above", "below")]
    assert abs(above - ends[0]) <= 0.06 * top and abs(below - ends[1]) <= 0.06 * top, (
        "moved no farther than to part them"
    )
    lines = {shape["y0"] for shape in picture.layout["shapes"]}
    assert lines == {shape["y1"] for shape in picture.layout["shapes"]}
    labels = [note for note in picture.layout["annotations"] if note["y"] in lines]
    assert [note["text"].split("</b>")[0] for note in labels] == [f"<b>{need:g} days" for need in (30, 90, 200)]
    assert "short quest" in labels[0]["text"] and " +1" in labels[1]["text"] and "+" not in labels[2]["text"]


def test_a_need_is_that_of_the_longest_cold(seasons: Seasons, site: Site) -> None:
    twice = species_of("Bina", "twice", cold(40, 60), cold(80, 120), cold(20, 30))
    alone = species_of("Sola", "alone", cold(80, 120))
    (need,) = needs_of(make_plan(seasons, site, [twice, alone], Request(TODAY)))
    assert (need.low, need.high, need.names) == (80, 120, ("twice", "alone"))
    assert need.words == "80 to 120 days" and need.line == "120 days"
    warmed = species_of("Bina", "warmed", warm(100, 150), cold(40, 60))
    (need,) = needs_of(make_plan(seasons, site, [warmed], Request(TODAY)))
    assert (need.low, need.high) == (40, 60), "warmth is no cold"


def test_the_seed_zone_is_drawn_in_order_and_as_warm_as_it_is(plan: Plan) -> None:
    picture = seed_zone_picture(plan, Reader())
    low, middle, high = (
        np.array(named(picture, name)["y"])
        for name in ("seed zone, 1 in 10 below", "seed zone", "seed zone, 1 in 10 above")
    )
    assert (low <= middle).all() and (middle <= high).all() and (low < high - 0.5).any()
    days = (pd.DatetimeIndex(named(picture, "seed zone")["x"]) - pd.Timestamp(AUGUST)).days
    inside = np.median(plan.ground.temperature, axis=1)[days]
    assert np.abs(middle - inside).mean() < 1.0 and abs((middle - inside).mean()) < 0.1
    air = (plan.seasons.daily["tmin"] + plan.seasons.daily["tmax"])[-365:] / 2
    assert np.abs(np.array(named(picture, "air, daily mean")["y"]) - np.median(air, axis=1)[days]).mean() < 1.5
    frost = np.array(named(picture, "nights with frost")["y"])
    share = 100.0 * (plan.ground.minimum <= 0.0).mean(axis=1)[days]
    assert (frost >= 0).all() and (frost <= 100).all() and np.abs(frost - share).mean() < 8.0
    night = np.array(named(picture, "cold night at seedling height (1 in 10)")["y"])
    tenth = np.array([weibull(each)[0] for each in plan.ground.minimum[days]])
    assert abs((night - tenth).mean()) < 0.2
    (band,) = picture.layout["shapes"]
    assert (band["y0"], band["y1"]) == (0.0, 10.0)


def test_the_months_of_the_seed_zone_are_means_of_their_days(plan: Plan) -> None:
    rows = seed_zone_picture(plan, Reader()).rows
    dates = pd.date_range(AUGUST, periods=365)
    assert [row[0] for row in rows] == list(dict.fromkeys(dates.strftime("%B")))
    for row, month in zip(rows, dict.fromkeys(dates.month), strict=True):
        at = np.asarray(dates.month == month)
        assert float(row[1]) == pytest.approx(plan.ground.temperature[at].mean(), abs=0.06)
        assert row[3] == f"{(plan.ground.minimum[at] <= 0.0).mean():.0%}"
    january, july = (next(row for row in rows if row[0] == name) for name in ("January", "July"))
    assert float(january[2]) < float(july[2])


def test_frost_bars_and_marks_stand_on_their_dates_and_say_how_many_are_without(plan: Plan) -> None:
    some = plan.winters.last_spring_frost[-2.0].copy()
    some[:3] = -np.inf
    winters = replace(plan.winters, last_spring_frost={**plan.winters.last_spring_frost, -2.0: some})
    picture = frost_picture(replace(plan, winters=winters), Reader())
    tables = [*winters.first_autumn_frost.values(), *winters.last_spring_frost.values()]
    assert [row[-1] for row in picture.rows] == [str(int(np.isinf(days).sum())) for days in tables]
    (missing,) = [text for text in texts(picture) if "none in" in text]
    assert missing == f"last spring frost, -2 °C or colder · none in 3 of {some.size} winters"
    bars = [trace for trace in picture.data if trace["mode"] == "lines"]
    marks = [trace for trace in picture.data if "median" in trace.get("hovertemplate", "")]
    dots = [trace for trace in picture.data if trace["mode"] == "markers" and trace not in marks]
    drawn = [days for days in tables if np.isfinite(days).any()]
    for days, bar, mark, one in zip(drawn, bars, marks, dots, strict=True):
        there = days[np.isfinite(days)]
        low, middle, high = weibull(there)
        assert bar["x"] == [str(AUGUST + timedelta(days=round(end))) for end in (low, high)]
        assert mark["x"] == [str(AUGUST + timedelta(days=round(middle)))]
        assert one["x"] == [day(index) for index in there]
        assert bar["y"][0] == bar["y"][1] == mark["y"][0]
        assert all(abs(y - mark["y"][0]) < 0.5 for y in one["y"]) and len(set(one["y"])) == min(5, len(one["y"]))
    heights = [mark["y"][0] for mark in marks]
    assert heights == sorted(heights, reverse=True) and len(set(heights)) == len(heights)


def test_soil_and_frost_stand_in_the_winter_they_belong_to(plan: Plan) -> None:
    warm = plan.winters.soil_warm[10.0].copy()
    warm[0], warm[1] = np.inf, -np.inf
    winters = replace(plan.winters, soil_warm={**plan.winters.soil_warm, 10.0: warm})
    picture = soil_picture(replace(plan, winters=winters), Reader())
    line = named(picture, "seed zone reaches 10 °C")
    assert line["x"] == winters.years[2:].tolist() and line["y"] == [day(index) for index in warm[2:]]
    at = list(picture.header).index("Seed zone 10 °C")
    assert [row[at] for row in picture.rows[:2]] == ["never reached", "never below"]
    assert picture.rows[2][at] == Reader().short(AUGUST + timedelta(days=int(warm[2])))
    assert picture.rows[0][0] == f"{winters.years[0]}/{(winters.years[0] + 1) % 100:02d}"
    low, high = picture.layout["yaxis"]["range"]
    assert low < min(*line["y"], *named(picture, "last frost of -2 °C")["y"]) and high > max(line["y"])


def test_outcomes_by_date_and_by_winter_are_those_of_the_advice(plan: Plan) -> None:
    for number, advice in enumerate(plan.species):
        picture, by_date = outcome_picture(plan, advice, Reader(), number), advice.by_date
        for place, fate in enumerate(FATES):
            (band,) = [trace for trace in picture.data if trace["type"] == "scatter" and trace["name"] == fate]
            assert band["y"] == pytest.approx((100 * by_date.shares[place]).tolist(), abs=0.051)
            assert band["x0"] == day(by_date.starts[0]) and band["dx"] == 3 * 24 * 3600 * 1000
        assert picture.rows[1][0] == Reader().short(AUGUST + timedelta(days=int(by_date.starts[5])))
        assert [row[-1] for row in picture.rows] == [str(good) for good in by_date.good[::5]]
        (bars,) = [trace for trace in picture.data if trace["type"] == "bar"]
        assert bars["y"] == pytest.approx([100 * share for share in advice.by_winter], abs=0.51)
        low, high = picture.layout["xaxis2"]["range"]
        assert low < min(bars["x"]) and high > max(bars["x"])
        poor = sum(share < plan.target for share in advice.by_winter)
        told = picture.summary.partition(" As advised, ")[2]
        assert told.startswith({0: "no winter", 1: "the only poor winter is "}.get(poor, "poor winters are ")), told
        (target,) = [shape for shape in picture.layout["shapes"] if shape.get("yref") == "y2"]
        assert target["y0"] == target["y1"] == 100 * plan.target


def test_a_band_is_named_where_it_is_thick_and_no_two_names_touch(plan: Plan) -> None:
    for number, advice in enumerate(plan.species):
        picture = outcome_picture(plan, advice, Reader(), number)
        names = [note for note in picture.layout["annotations"] if plain_name(note["text"]) in FATES]
        assert len({note["text"] for note in names}) == len(names)
        assert all(0 <= note["y"] <= 100 for note in names)
        whole = [fate for place, fate in enumerate(FATES) if (advice.by_date.shares[place] > 0.6).mean() > 0.6]
        assert {f"<b>{fate}</b>" for fate in whole} <= {note["text"] for note in names}
        boxes = [box_of(plan, note) for note in names]
        assert not any(
            a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3] for a, b in combinations(boxes, 2)
        ), "no two names touch"
        top = np.cumsum(advice.by_date.shares * 100, axis=0)
        for note in names:
            at = int(np.argmin([abs((date.fromisoformat(note["x"]) - AUGUST).days - s) for s in advice.by_date.starts]))
            place = FATES.index(plain_name(note["text"]))
            assert top[place, at] >= note["y"] >= top[place, at] - 100 * advice.by_date.shares[place, at]
    assert names, "some band of the last species is thick enough"


def test_the_dates_advised_stand_above_the_bands(plan: Plan) -> None:
    shown = 0
    for number, advice in enumerate(plan.species):
        if advice.outdoors is None:
            continue
        shown += 1
        way, picture = advice.outdoors, outcome_picture(plan, advice, Reader(), number)
        (text,) = [text for text in texts(picture) if text.startswith(("<b>sow ", "<b>best date"))]
        assert text.startswith("<b>sow ") == way.meets and Reader().short(way.sow_from) in text
        assert (" to " in text) == (way.sow_from != way.sow_to)
        upright = [shape for shape in picture.layout["shapes"] if shape["x0"] == shape["x1"]]
        assert {shape["x0"] for shape in upright} == {str(way.sow_from), str(way.sow_to)}
    assert shown


def test_bars_of_the_timeline_last_as_long_as_the_work(plan: Plan) -> None:
    picture = timeline_picture(plan, Reader())
    drawn = sorted(
        (begin, str(date.fromisoformat(begin) + timedelta(milliseconds=length - 86_400_000)))
        for trace in picture.data
        if trace["type"] == "bar"
        for begin, length in zip(trace["base"], trace["x"], strict=True)
    )
    steps = [step for advice in plan.species for step in steps_shown(advice)]
    long = [step for step in steps if step.kind in {"sow", "warm phase", "cold phase"}]
    assert drawn == sorted((str(step.date_from), str(step.date_to)) for step in long)
    assert f"{len(steps)} steps for " in picture.summary
    low, high = map(date.fromisoformat, picture.layout["xaxis"]["range"])
    assert low < min(step.date_from for step in steps) and max(step.date_to for step in steps) < high
    (today,) = [text for text in texts(picture) if text.startswith("today")] or [""]
    assert bool(today) == (min(step.date_from for step in steps) <= plan.today)
    rows = [row[0] for row in picture.rows]
    assert rows == sorted(rows, key=rows.index) and len(set(rows)) == len(
        [t for t in texts(picture) if "quest" in t or "seed" in t]
    )


def test_rows_of_the_timeline_hold_their_own_species(plan: Plan) -> None:
    """The name stands above the bars and marks of its row, and each step once."""
    picture = timeline_picture(plan, Reader())
    rows = {plain_name(note["text"]): note["y"] for note in picture.layout["annotations"] if note["xref"] == "paper"}
    drawn = sorted(
        (next(name for name, at in rows.items() if at - 0.25 < y < at + 0.75), told[0])
        for trace in picture.data
        for y, told in zip(trace["y"], trace["customdata"], strict=True)
    )
    steps = [(advice.species.common_name, step) for advice in plan.species for step in steps_shown(advice)]
    assert drawn == sorted(
        (name, f"{step.kind}, {step.date_from}" + (f" to {step.date_to}" if step.date_to > step.date_from else ""))
        for name, step in steps
    )
    low, high = picture.layout["yaxis"]["range"]
    assert high < min(rows.values()) and max(y for trace in picture.data for y in trace["y"]) < low


def test_two_bands_one_above_the_other_are_both_named(plan: Plan) -> None:
    shares = np.zeros_like(plan.species[0].by_date.shares)
    shares[0] = shares[3] = 0.5
    halves = replace(plan.species[0], by_date=replace(plan.species[0].by_date, shares=shares))
    said = [plain_name(text) for text in texts(outcome_picture(plan, halves, Reader(), 0))]
    assert FATES[0] in said and FATES[3] in said


def test_numbers_of_a_page_are_short(plan: Plan) -> None:
    """A page holds thousands of them: tenths of a degree or of a day are as fine as anybody can read."""
    for picture in (chill_picture(plan, Reader()), seed_zone_picture(plan, Reader())):
        for trace in picture.data:
            assert all(y is None or len(f"{y}".partition(".")[2]) <= 1 for y in trace["y"]), trace["name"]


def test_today_stands_on_the_timeline_where_it_lies_between_the_steps(plan: Plan) -> None:
    steps = [step for advice in plan.species for step in steps_shown(advice)]
    first, last = min(step.date_from for step in steps), max(step.date_to for step in steps)
    for day, shown in (
        (first, True),
        (last, True),
        (first - timedelta(days=1), False),
        (last + timedelta(days=1), False),
    ):
        picture = timeline_picture(replace(plan, today=day), Reader())
        said = [note for note in picture.layout["annotations"] if note["text"].startswith("today")]
        assert [(note["text"], note["x"]) for note in said] == [(f"today, {Reader().short(day)}", str(day))] * shown
        upright = [shape["x0"] for shape in picture.layout["shapes"] if shape.get("yref") == "paper"]
        assert upright == [str(day)] * shown


def test_many_bands_are_named_without_touching(plan: Plan) -> None:
    """Five bands of a fifth each have no room for a name; of four quarters, and side by side, each is named once."""
    one = plan.species[0]
    count = one.by_date.shares.shape[1]
    for shares, said in (
        (np.full((5, count), 0.2), 0),
        (np.concatenate([np.full((4, count), 0.25), np.zeros((1, count))]), 4),
        (np.eye(2)[:, (np.arange(count) >= count // 2).astype(int)], 2),
    ):
        padded = np.zeros_like(one.by_date.shares)
        padded[: len(shares)] = shares
        shown = outcome_picture(plan, replace(one, by_date=replace(one.by_date, shares=padded)), Reader(), 0)
        names = [note for note in shown.layout["annotations"] if plain_name(note["text"]) in FATES]
        assert len(names) == said
        boxes = [box_of(plan, note) for note in names]
        assert not any(a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3] for a, b in combinations(boxes, 2))


def test_each_row_of_the_timeline_has_the_same_room(plan: Plan) -> None:
    def height(count: int) -> int:
        shown = [advice for advice in plan.species if steps_shown(advice)][:count]
        return int(timeline_picture(replace(plan, species=tuple(shown)), Reader()).layout["height"])

    one, two, three = (height(count) for count in (1, 2, 3))
    assert two - one == three - two >= 40, "two lines of text a row, in pixels"
    assert height(0) == one
