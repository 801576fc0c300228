"""Commands that share a group of options get all of them, with the same defaults."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import typer
from typer.testing import CliRunner

from chillplan.cli.options import Only, grouped


@dataclass(frozen=True)
class Weight:
    grams: Annotated[str, typer.Option("--grams")] = "5"
    kinds: Annotated[tuple[str, ...], typer.Option("--kind")] = ()
    scale: str = "not an option"


def test_a_command_receives_its_group_as_one_object() -> None:
    app = typer.Typer()

    @app.command()
    @grouped
    def weigh(*, name: Annotated[str, typer.Argument()], weight: Weight, times: int = 1) -> None:
        print(name, weight.grams, weight.kinds, weight.scale, times)

    run = CliRunner().invoke
    assert run(app, ["oak"]).output == "oak 5 () not an option 1\n"
    said = run(app, ["oak", "--kind", "nut", "--kind", "seed", "--times", "2", "--grams", "7"]).output
    assert said == "oak 7 ('nut', 'seed') not an option 2\n"
    assert run(app, ["oak", "--weight", "7"]).exit_code == 2
    assert run(app, ["oak", "--scale", "7"]).exit_code == 2


def test_a_command_may_take_a_part_of_a_group() -> None:
    app = typer.Typer()

    @app.command()
    @grouped
    def weigh(*, one: Annotated[Weight, Only("grams")]) -> None:
        print(one.grams, one.kinds)

    @app.command()
    @grouped
    def count(*, other: Annotated[Weight, Only(but=("grams",))]) -> None:
        print(other.grams, other.kinds)

    run = CliRunner().invoke
    assert run(app, ["weigh", "--grams", "7"]).output == "7 ()\n"
    assert run(app, ["weigh", "--kind", "nut"]).exit_code == 2
    assert run(app, ["count", "--kind", "nut"]).output == "5 ('nut',)\n"
    assert run(app, ["count", "--grams", "7"]).exit_code == 2
