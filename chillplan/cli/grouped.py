"""Options that several commands share, given to a command as one parameter."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

import typer

__all__ = ["typed", "with_group"]

Command = Callable[..., None]


def with_group(parameter: str, kind: type, options: Mapping[str, Any]) -> Callable[[Command], Command]:
    """Give a command a group of options where it takes one parameter; it receives what was said as one object.

    Parameters
    ----------
    parameter : str
        Name of the command's parameter; what stands before it comes before the group in the help.
    kind : type
        Dataclass of the texts, whose defaults are those of the options.
    options : mapping of str to object
        Annotated option by field of the dataclass, in the order of the help.

    Returns
    -------
    callable
        Decorator of a command.
    """
    defaults = {one.name: one.default for one in fields(kind) if one.name in options}

    def decorate(command: Command) -> Command:
        parameters: list[inspect.Parameter] = []
        for own in inspect.signature(command, eval_str=True).parameters.values():
            parameters += _parameters(options, defaults) if own.name == parameter else [own]

        @functools.wraps(command)
        def run(**given: Any) -> None:
            said = {name: given.pop(name) for name in options}
            values = {name: _held(value, defaults[name]) for name, value in said.items()}
            command(**{parameter: kind(**values)}, **given)

        run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
        run.__annotations__ = {one.name: one.annotation for one in parameters}
        return run

    return decorate


def typed(context: typer.Context, option: str) -> bool:
    """Whether an option was typed, be it at its usual value.

    Parameters
    ----------
    context : typer.Context
        Of the command.
    option : str
        Name of the command's parameter.
    """
    source = context.get_parameter_source(option)
    return source is not None and source.name == "COMMANDLINE"


def _parameters(options: Mapping[str, Any], defaults: Mapping[str, Any]) -> list[inspect.Parameter]:
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    return [
        inspect.Parameter(name, kind, annotation=option, default=None if defaults[name] == () else defaults[name])
        for name, option in options.items()
    ]


def _held(value: Any, default: Any) -> Any:
    """A repeatable option as a tuple, which is empty where it was not given; any other as it is."""
    return tuple(value or ()) if default == () else value
