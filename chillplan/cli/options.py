"""Options that several commands share, one by one and in groups. Values arrive as text and are checked together."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Annotated, Any, get_args, get_origin, get_type_hints

import typer

Text = str | None


def option(name: str, metavar: str, words: str) -> Any:
    """An option, what stands for its value in the help, and what it is for."""
    return typer.Option(name, metavar=metavar, help=words)


SpeciesOption = Annotated[tuple[str, ...], option("--species", "NAME", "Scientific or common name; may be repeated.")]
ListOption = Annotated[
    Path | None, option("--list", "FILE", "Seed list (CSV): one species a row in the first column or a column `name`.")
]
SpeciesFileOption = Annotated[
    Path | None,
    option("--species-file", "FILE", "Your own species table; its rows add to or replace the built-in ones."),
]
YearsOption = Annotated[
    Text, option("--years", "FIRST-LAST", "Use only these winters, FIRST-LAST, for example 1991-2020.")
]
SeasonOption = Annotated[
    Text, option("--season", "YEAR", "Season whose winter begins in this year; else the one to come.")
]
TodayOption = Annotated[Text, option("--today", "DATE", "Answer as if today were this date, YYYY-MM-DD.")]
AcceptOption = Annotated[
    str, option("--accept", "SHARE", "Share of winters that must be good for a way to be advised, 0.5 to 1.")
]
PlantOutOption = Annotated[Text, option("--plant-out", "DATE", "Planting date you want, YYYY-MM-DD; else chosen.")]
WarmingOption = Annotated[
    str,
    option(
        "--warming",
        "DEGREES",
        "Degrees C added to every temperature of the record; `plan` compares several, as in 0,2.",
    ),
]
UnitsOption = Annotated[str, option("--units", "UNITS", "metric (°C, mm, cm) or us (°F, inches).")]
PageFormatOption = Annotated[str, option("--format", "FORMAT", "table or json.")]
FormatOption = Annotated[str, option("--format", "FORMAT", "table, json or csv.")]
DatesOption = Annotated[
    Text,
    option(
        "--dates",
        "ORDER",
        "Order of dates: iso (2027-03-05), dmy (5 Mar 2027) or mdy (Mar 5, 2027); else as the units suggest.",
    ),
]


Command = Callable[..., None]


class Only:
    """Which options of a group a command takes: those named, or all but those named."""

    def __init__(self, *names: str, but: tuple[str, ...] = ()) -> None:
        self.names, self.but = names, but


def grouped(command: Command) -> Command:
    """Give a command all options of every dataclass of options among its parameters; it receives each as one object.

    The options of a group are its annotated fields. They stand in the help where the parameter stands, in their order;
    ``Annotated[Group, Only("this", "that")]`` takes a part of them. A tuple is an option that may be repeated.
    """
    own = inspect.signature(command, eval_str=True).parameters
    groups = {name: one for name, one in own.items() if is_dataclass(_kind(one.annotation))}
    parts = {name: _options(one.annotation) for name, one in groups.items()}
    parameters = [one for name, each in own.items() for one in parts.get(name, [each])]

    @functools.wraps(command)
    def run(**given: Any) -> None:
        for name, group in groups.items():
            said = {one.name: given.pop(one.name) for one in parts[name]}
            kind = _kind(group.annotation)
            usual = {one.name: one.default for one in fields(kind)}
            given[name] = kind(
                **{key: tuple(value or ()) if usual[key] == () else value for key, value in said.items()}
            )
        command(**given)

    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {one.name: one.annotation for one in parameters}
    return run


def typed(context: typer.Context, name: str) -> bool:
    """Whether an option was typed, be it at its usual value; by the name of the command's parameter."""
    source = context.get_parameter_source(name)
    return source is not None and source.name == "COMMANDLINE"


def _kind(annotation: Any) -> Any:
    return get_args(annotation)[0] if get_origin(annotation) is Annotated else annotation


def _options(annotation: Any) -> list[inspect.Parameter]:
    """The options of a group as parameters of a command."""
    kind = _kind(annotation)
    part = next((mark for mark in get_args(annotation)[1:] if isinstance(mark, Only)), Only())
    hints = get_type_hints(kind, include_extras=True)
    found = []
    for one in fields(kind):
        hint = hints[one.name]
        if get_origin(hint) is not Annotated or one.name in part.but or (part.names and one.name not in part.names):
            continue
        value, *marks = get_args(hint)
        if get_origin(value) is tuple:
            value = list[get_args(value)[0]] | None  # type: ignore[misc]
        annotation = Annotated[(value, *marks)]
        default = None if one.default == () else one.default
        found.append(
            inspect.Parameter(one.name, inspect.Parameter.KEYWORD_ONLY, annotation=annotation, default=default)
        )
    return found
