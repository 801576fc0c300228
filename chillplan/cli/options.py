"""Options that several commands share, one by one and in groups. Values arrive as text and are checked together."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path
from typing import Annotated, Any

import typer

Text = str | None

SiteOption = Annotated[
    Path | None, typer.Option("--site", metavar="FILE", help="Site file (TOML): name, latitude, longitude, …")
]
SitesOption = Annotated[
    Path | None,
    typer.Option(
        "--sites", metavar="FILE", help="Table of sites (CSV: name, latitude, longitude, …, weather): one table out."
    ),
]
LatitudeOption = Annotated[Text, typer.Option("--latitude", metavar="DEGREES", help="Degrees, south negative.")]
LongitudeOption = Annotated[Text, typer.Option("--longitude", metavar="DEGREES", help="Degrees, west negative.")]
ElevationOption = Annotated[Text, typer.Option("--elevation", metavar="METRES", help="Metres above sea level.")]
SlopeOption = Annotated[Text, typer.Option("--slope", metavar="DEGREES", help="Steepness in degrees from level.")]
AspectOption = Annotated[
    Text, typer.Option("--aspect", metavar="DEGREES", help="Direction the slope faces, degrees clockwise from north.")
]
CoverOption = Annotated[
    Text,
    typer.Option(
        "--cover", metavar="WORDS", help="bare, short grass, tall grass, leaf mulch, straw mulch or tree canopy."
    ),
]
DepthOption = Annotated[Text, typer.Option("--depth", metavar="CM", help="Depth of the seed zone in cm, 0.5 to 20.")]
WeatherOption = Annotated[
    list[Path] | None,
    typer.Option("--weather", metavar="PATH", help="Daily record: file or folder, format recognised; may be repeated."),
]
StationOption = Annotated[
    Text, typer.Option("--station", metavar="NAME", help="Station to use where the record holds several.")
]
StationElevationOption = Annotated[
    Text,
    typer.Option(
        "--station-elevation",
        metavar="METRES",
        help="Metres above sea level of the station, where the record does not say.",
    ),
]
WeatherUnitOption = Annotated[
    Text,
    typer.Option(
        "--weather-units",
        metavar="UNIT",
        help="Unit of temperatures in the record where it cannot tell: celsius, tenths, fahrenheit.",
    ),
]
SpeciesOption = Annotated[
    list[str] | None,
    typer.Option("--species", metavar="NAME", help="Scientific or common name; may be repeated."),
]
ListOption = Annotated[
    Path | None,
    typer.Option(
        "--list", metavar="FILE", help="Seed list (CSV): one species a row in the first column or a column `name`."
    ),
]
SpeciesFileOption = Annotated[
    Path | None,
    typer.Option(
        "--species-file", metavar="FILE", help="Your own species table; its rows add to or replace the built-in ones."
    ),
]
YearsOption = Annotated[
    Text,
    typer.Option("--years", metavar="FIRST-LAST", help="Use only these winters, FIRST-LAST, for example 1991-2020."),
]
SeasonOption = Annotated[
    Text,
    typer.Option("--season", metavar="YEAR", help="Season whose winter begins in this year; else the one to come."),
]
BetweenCellsOption = Annotated[
    bool, typer.Option("--between-cells", help="Gridded weather: between the four cells around, not the nearest.")
]
TerrainOption = Annotated[
    Text,
    typer.Option(
        "--terrain", metavar="WORDS", help="valley floor, slope or crest: whether cold air gathers or drains."
    ),
]
TodayOption = Annotated[
    Text, typer.Option("--today", metavar="DATE", help="Answer as if today were this date, YYYY-MM-DD.")
]
AcceptOption = Annotated[
    str,
    typer.Option(
        "--accept", metavar="SHARE", help="Share of winters that must be good for a way to be advised, 0.5 to 1."
    ),
]
PlantOutOption = Annotated[
    Text, typer.Option("--plant-out", metavar="DATE", help="Planting date you want, YYYY-MM-DD; else chosen.")
]
WarmingOption = Annotated[
    str,
    typer.Option(
        "--warming",
        metavar="DEGREES",
        help="Degrees C added to every temperature of the record; `plan` compares several, as in 0,2.",
    ),
]
UnitsOption = Annotated[str, typer.Option("--units", metavar="UNITS", help="metric (°C, mm, cm) or us (°F, inches).")]
FrostOption = Annotated[
    list[str] | None,
    typer.Option(
        "--frost", metavar="DEGREES", help="A frost to date besides 0, -2 and -4 °C, for example -6; may be repeated."
    ),
]
PageFormatOption = Annotated[str, typer.Option("--format", metavar="FORMAT", help="table or json.")]
FormatOption = Annotated[str, typer.Option("--format", metavar="FORMAT", help="table, json or csv.")]
OutOption = Annotated[
    Path | None,
    typer.Option("--out", metavar="FOLDER", help="Folder to write the report, calendar, labels and tasks to."),
]
LearnedOption = Annotated[
    Path | None,
    typer.Option(
        "--journal",
        metavar="FILE",
        help="Journal whose lessons at this site take the place of published requirements and narrow the chances.",
    ),
]
OfflineOption = Annotated[bool, typer.Option("--offline", help="Use stored weather only; ask no network.")]
RefreshOption = Annotated[bool, typer.Option("--refresh", help="Fetch the stored weather again.")]
WithModelOption = Annotated[
    bool, typer.Option("--with-model", help="Keep days that the source filled by a weather model; they are counted.")
]
DatesOption = Annotated[
    Text,
    typer.Option(
        "--dates",
        metavar="ORDER",
        help="Order of dates: iso (2027-03-05), dmy (5 Mar 2027) or mdy (Mar 5, 2027); else as the units suggest.",
    ),
]
PaperOption = Annotated[str, typer.Option("--paper", metavar="SIZE", help="Paper of the labels: a4 or letter.")]
LabelsOption = Annotated[str, typer.Option("--labels", metavar="GRID", help="Labels on a sheet, columns x rows.")]


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
