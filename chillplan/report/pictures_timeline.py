"""Picture of the year: every species' steps on one line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from chillplan.advice.result import Plan, SpeciesAdvice, Step
from chillplan.report.look import (
    INK,
    NARROW_MONTHS,
    QUIET,
    Colour,
    Json,
    Picture,
    axis,
    base_layout,
    hatching,
    label,
    line,
    mark,
    safe_text,
    stroke,
    trace,
)
from chillplan.report.reader import Reader

__all__ = ["KINDS", "Kind", "steps_shown", "timeline_picture"]

ROW = 50  # height of a species [px]
THICK = 0.22  # of a bar, in rows
HIGH, MIDDLE, LOW = 0.09, 0.2, 0.33  # of a bar below the middle of its row, in rows
BAR_KINDS = ("sow", "warm phase", "cold phase")


@dataclass(frozen=True)
class Kind:
    """How a kind of step is drawn: a bar with a pattern, or a mark with a symbol."""

    words: str
    colour: str
    pattern: str = ""
    symbol: str = ""


KINDS = {
    "coat": Kind("prepare the seed", Colour.BLACK, symbol="circle-open"),
    "sow": Kind("sow outdoors, from … to", Colour.GREEN, ""),
    "warm phase": Kind("kept warm indoors", Colour.ORANGE, "/"),
    "cold phase": Kind("in the refrigerator", Colour.SKY, "x"),
    "lift": Kind("lift from the bed", Colour.PURPLE, symbol="square"),
    "plant out": Kind("plant out", Colour.VERMILLION, symbol="triangle-up"),
}


def steps_shown(advice: SpeciesAdvice) -> tuple[Step, ...]:
    """Steps of the ways that were chosen, or that the verdict names."""
    planned = {"outdoors": advice.outdoors, "fridge": advice.fridge, "top-up": advice.top_up}
    found: list[Step] = [step for name in advice.ways if (way := planned[name]) for step in way.steps]
    return tuple(sorted(found, key=lambda step: (step.date_from, step.date_to)))


def timeline_picture(plan: Plan, reader: Reader) -> Picture:
    """The year's steps, a row a species, in the order of the first step."""
    lanes = [(advice, steps_shown(advice)) for advice in plan.species]
    lanes = sorted(((a, s) for a, s in lanes if s), key=lambda lane: (lane[1][0].date_from, lane[0].species.name))
    steps = [step for _, lane in lanes for step in lane]
    first = min((step.date_from for step in steps), default=plan.today)
    last = max((step.date_to for step in steps), default=plan.today)
    data = [*_bars(lanes), *_marks(lanes, reader)]
    layout = base_layout(
        ROW * max(len(lanes), 1) + 60,
        margin={"l": 8, "r": 8, "t": 26, "b": 8},
        barmode="overlay",
        bargap=0.62,
        xaxis=axis(
            type="date",
            range=[(first - timedelta(days=16)).isoformat(), (last + timedelta(days=14)).isoformat()],
            dtick="M1",
            tickformat="%b",
            ticklabelmode="period",
            side="top",
            hoverformat=reader.hover,
        ),
        yaxis=axis(range=[len(lanes) - 0.4, -0.95], showticklabels=False, showgrid=False, ticks="", showline=False),
        annotations=[
            *_names(lanes),
            *([_today_label(plan, reader)] if first <= plan.today <= last else []),
        ],
        shapes=[*_rules(len(lanes)), *([_today(plan)] if first <= plan.today <= last else [])],
    )
    return Picture(
        key="timeline",
        title="The year at a glance",
        summary=(
            f"{len(steps)} steps for {len(lanes)} species, from {reader.day(first)} to {reader.day(last)}; "
            "what is still to do is listed below in the order of their dates."
            if steps
            else "No step is left to do in this season."
        ),
        data=data,
        layout=layout,
        compact=NARROW_MONTHS,
        header=("Species", "Step", "When"),
        rows=_rows(lanes, reader),
    )


Lanes = list[tuple[SpeciesAdvice, tuple[Step, ...]]]


def _rows(lanes: Lanes, reader: Reader) -> list[tuple[str, str, str]]:
    return [
        (advice.species.common_name or advice.species.name, step.kind, reader.span(step.date_from, step.date_to))
        for advice, lane in lanes
        for step in lane
    ]


def _each(lanes: Lanes, kind: str) -> list[tuple[int, float, Step]]:
    """Row, height within the row and step; what is done indoors lies below what is done outdoors."""
    found = []
    for row, (_, lane) in enumerate(lanes):
        indoors = {id(step) for step in lane if _indoors(step, lane)}
        both = 0 < len(indoors) < len(lane)
        for step in lane:
            if step.kind == kind:
                height = MIDDLE if not both else LOW if id(step) in indoors else HIGH
                found.append((row, height, step))
    return found


def _indoors(step: Step, lane: tuple[Step, ...]) -> bool:
    """Whether a step belongs to a treatment that ends with planting out."""
    if step.kind in {"warm phase", "cold phase", "plant out"}:
        return True
    phases = [other for other in lane if other.kind in {"warm phase", "cold phase"}]
    return step.kind == "coat" and any(step.date_to == phase.date_from for phase in phases)


def _bars(lanes: Lanes) -> list[Json]:
    found: list[Json] = []
    for kind in BAR_KINDS:
        look, steps = KINDS[kind], list(_each(lanes, kind))
        if not steps:
            continue
        found.append(
            {
                "type": "bar",
                "orientation": "h",
                "base": [step.date_from.isoformat() for _, _, step in steps],
                "x": [((step.date_to - step.date_from).days + 1) * 86_400_000 for _, _, step in steps],
                "y": [row + lane for row, lane, _ in steps],
                "marker": {
                    "color": look.colour,
                    "line": line(INK, 1),
                    "pattern": hatching(look.pattern, look.colour, 6, 0.15, fgcolor=INK, fgopacity=0.5),
                },
                "width": THICK,
                "name": look.words,
                "customdata": [[_title(step)] for _, _, step in steps],
                "hovertemplate": "%{customdata[0]}<extra></extra>",
            }
        )
    return found


def _marks(lanes: Lanes, reader: Reader) -> list[Json]:
    found: list[Json] = []
    for kind in ("coat", "lift", "plant out"):
        look, steps = KINDS[kind], list(_each(lanes, kind))
        if not steps:
            continue
        found.append(
            trace(
                [(step.date_to if kind == "lift" else step.date_from).isoformat() for _, _, step in steps],
                [row + lane for row, lane, _ in steps],
                "markers",
                marker=mark(look.colour, 12, look.symbol, line(INK, 1.5)),
                name=look.words,
                customdata=[[_title(step)] for _, _, step in steps],
                hovertemplate="%{customdata[0]}<extra></extra>",
            )
        )
    return found


def _title(step: Step) -> str:
    when = f"{step.date_from}" if step.date_from == step.date_to else f"{step.date_from} to {step.date_to}"
    return f"{step.kind}, {when}"


def _names(lanes: Lanes) -> list[Json]:
    return [
        label(
            0.0,
            row - 0.29,
            f"<b>{safe_text(advice.species.common_name or advice.species.name, 40)}</b>",
            xref="paper",
            xanchor="left",
            yanchor="middle",
            bgcolor="rgba(253,252,248,0.9)",
        )
        for row, (advice, _) in enumerate(lanes)
    ]


def _rules(count: int) -> list[Json]:
    thin = line("#e0e3dc", 1)
    return [stroke((0, 1), (row - 0.5, row - 0.5), thin, xref="paper", layer="below") for row in range(count)]


def _today(plan: Plan) -> Json:
    day = plan.today.isoformat()
    return stroke((day, day), (0, 1), line(INK, 1.5, "dot"), yref="paper")


def _today_label(plan: Plan, reader: Reader) -> Json:
    return label(
        plan.today.isoformat(),
        -0.72,
        f"today, {reader.short(plan.today)}",
        yanchor="middle",
        xanchor="left",
        font={"size": 11, "color": QUIET},
        bgcolor="rgba(253,252,248,0.9)",
    )
