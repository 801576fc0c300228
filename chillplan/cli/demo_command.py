"""``chillplan demo``: the main job on the embedded demo."""

from __future__ import annotations

import typer

from chillplan.cli import options as opt

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("demo")(demo)


def demo(
    today: opt.TodayOption = None,
    units: opt.UnitsOption = "metric",
    output: opt.FormatOption = "table",
    out: opt.OutOption = None,
    dates: opt.DatesOption = None,
    paper: opt.PaperOption = "a4",
    labels: opt.LabelsOption = "2x4",
) -> None:
    """Plan a dozen species on an invented hillside with 40 invented winters.

    Nothing about it is real; it shows what an answer looks like.
    """
    from chillplan.cli.place import PlaceOptions
    from chillplan.cli.plan_command import Asked, answer_plan

    asked = Asked(today=today, units=units, format=output, out=out, dates=dates, paper=paper, labels=labels)
    answer_plan(PlaceOptions(), asked)
