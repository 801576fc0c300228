"""``chillplan demo``: the main job on the embedded demo."""

from __future__ import annotations

import typer

from chillplan.cli.grouped import with_group
from chillplan.cli.place import NOWHERE
from chillplan.cli.plan_command import WRITTEN, answer_plan
from chillplan.cli.planning import ASKED, NOTHING, Asked

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("demo", short_help="Plan a dozen species on an invented hillside.")(demo)


@with_group("asked", Asked, {**{name: ASKED[name] for name in ("today", "units", "format", "dates")}, **WRITTEN})
def demo(asked: Asked = NOTHING) -> None:
    """Plan a dozen species on an invented hillside with 40 invented winters.

    Nothing about it is real; it shows what an answer looks like.
    """
    answer_plan(NOWHERE, asked)
