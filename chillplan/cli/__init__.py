"""The command line: the only place that prints, reads the clock and exits.

Each command lives in a module of its own that offers ``register(app)``; heavy libraries are imported inside the
command that needs them, so that ``chillplan --help`` answers at once.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module

import typer

from chillplan.errors import ChillplanError, InputError

__all__ = ["COMMAND_MODULES", "app", "main"]

COMMAND_MODULES = (
    "plan_command",
    "field_commands",
    "winter_command",
    "map_command",
    "batch_commands",
    "kept_plan",
    "season_command",
    "soilcheck_command",
    "species_commands",
    "seeds_command",
    "weather_commands",
)

INTERRUPTED = 130  # exit code after Ctrl-C, as shells use it
PIPE_CLOSED = 141  # exit code where whoever read the output has stopped reading, as shells use it

app = typer.Typer(
    name="chillplan",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    help="Can the winter outdoors chill your seed, or must a refrigerator do it - and when?\n\n"
    "From decades of daily temperatures for a site: winter chill, frost windows, soil warming, and for every "
    "species where and when to sow or chill it.\n\n"
    "Begin with `chillplan demo`. Then: chillplan plan --latitude 44.1 --longitude -72.3 --weather record.csv "
    '--species "common milkweed"',
    epilog="Exit codes: 0 answered; 2 a value given is wrong; 3 too little data; 4 a source could not be reached; "
    "130 stopped with Ctrl-C.",
)


@app.callback(invoke_without_command=True)
def _root(
    version: bool = typer.Option(False, "--version", help="Print the version and exit.", is_eager=True),
) -> None:
    if version:
        from chillplan import __version__

        typer.echo(__version__)
        raise typer.Exit


for _name in COMMAND_MODULES:
    import_module(f"chillplan.cli.{_name}").register(app)


def main() -> None:
    """Run the command line; errors raised on purpose become sentences on standard error and an exit code."""
    from chillplan.cli.streams import soften_streams

    soften_streams()
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except ChillplanError as error:
        for problem in error.problems:
            print(f"chillplan: {problem}", file=sys.stderr)
        sys.exit(error.exit_code)
    except (KeyboardInterrupt, SystemExit) as stop:
        if isinstance(stop.__context__, BrokenPipeError):
            sys.exit(PIPE_CLOSED)
        if isinstance(stop, SystemExit) and stop.code != INTERRUPTED:
            raise
        print("chillplan: stopped; nothing was left half-written", file=sys.stderr)
        sys.exit(INTERRUPTED)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(PIPE_CLOSED)
    except OSError as error:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        where = f" ({error.filename})" if error.filename else ""
        print(f"chillplan: {error.strerror}{where}: check the disk and the path, then ask again", file=sys.stderr)
        sys.exit(InputError.exit_code)
