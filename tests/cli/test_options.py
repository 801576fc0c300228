"""Commands that share a group of options get all of them, with the same defaults."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import typer
from typer.testing import CliRunner

from chillplan.cli.options import with_group


@dataclass(frozen=True)
class Weight:
    grams: str = "5"
    kinds: tuple[str, ...] = ()


OPTIONS = {
    "grams": Annotated[str, typer.Option("--grams")],
    "kinds": Annotated[list[str] | None, typer.Option("--kind")],
}
USUAL = Weight()


def test_a_command_receives_its_group_as_one_object() -> None:
    app = typer.Typer()

    @app.command()
    @with_group("weight", Weight, OPTIONS)
    def weigh(name: str, weight: Weight = USUAL, times: int = 1) -> None:
        print(name, weight, times)

    run = CliRunner().invoke
    assert run(app, ["oak"]).output == "oak Weight(grams='5', kinds=()) 1\n"
    said = run(app, ["oak", "--kind", "nut", "--kind", "seed", "--times", "2", "--grams", "7"]).output
    assert said == "oak Weight(grams='7', kinds=('nut', 'seed')) 2\n"
    assert run(app, ["oak", "--weight", "7"]).exit_code == 2
