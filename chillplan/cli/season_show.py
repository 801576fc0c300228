"""How the answer of ``season`` is shown: text, JSON, CSV."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

import numpy as np

from chillplan.advice.season_actions import Action
from chillplan.advice.season_advice import NOT_SOWN, SowingOutlook
from chillplan.advice.season_ensemble import SeasonEnsemble
from chillplan.advice.wording import recipe_words
from chillplan.cli.loading import Loaded
from chillplan.errors import counted
from chillplan.report.contract import site_json, weather_json
from chillplan.report.reader import Reader
from chillplan.report.record import TAKEN_MOIST, Source
from chillplan.report.rows import csv_text
from chillplan.report.tables import INVENTED
from chillplan.report.tables_terminal import console
from chillplan.seasons.chill import effective_chill
from chillplan.seasons.cut import season_label

__all__ = ["print_season", "season_csv", "season_json"]

HOW = (
    "Each ending is this season's days so far followed by the same days of one past winter. The seed zone is modelled; "
    "the chances in per cent count in its error and how lots of a species differ, the numbers of endings do not. How a "
    "day counts as chill and the spread of a lot are assumed."
)


def chill_so_far(ensemble: SeasonEnsemble) -> float:
    """Effective chill of the seed zone from the season's first day to yesterday. [day]"""
    known = ensemble.so_far.known
    ground = ensemble.ground
    return float(np.median(effective_chill(ground.temperature[:known], ground.moist[:known])))


def print_season(
    loaded: Loaded, source: Source, ensemble: SeasonEnsemble, found: list[SowingOutlook], reader: Reader
) -> None:
    """Print the winter so far and each sowing with what to do."""
    out = console()
    if source.invented:
        out.print(f"[bold]{INVENTED}[/bold]")
    so_far = ensemble.so_far
    write = _writer(out, reader)
    write(f"{loaded.site.name}: winter {season_label(so_far.year)}, known to {so_far.last_day}")
    missing = f"; {counted(so_far.missing, 'day')} missing" if so_far.missing else ""
    write(
        f"Weather: {source.source}, station {source.station}; {ensemble.years.size} past winters lend endings{missing}"
    )
    if "precipitation" not in ensemble.so_far.daily:
        write(TAKEN_MOIST)
    write(f"Chill so far: {chill_so_far(ensemble):.0f} effective days in the seed zone")
    for one in found:
        write("")
        _print_sowing(write, one)
    write("")
    write(HOW)


def _writer(out: Any, reader: Reader) -> Any:
    return lambda text: out.print(reader.words(text), markup=False)


def _print_sowing(write: Any, one: SowingOutlook) -> None:
    common = one.species.common_name
    write(f"{f'{common} ({one.label})' if common else one.label}, sown {one.sown}: {recipe_words(one.recipe)}")
    if one.recipe.phases:
        _print_chill(write, one)
    else:
        write(f"  needs no chilling; half is up: {_range_words(one.emergence)}")
    shares = ", ".join(f"{share:.0%} {fate}" for fate, share in one.outcomes.items() if share >= 0.005)
    write(f"  expected: {shares}")
    if len(one.springs) > 1 or any(year <= one.sown.year for year, _ in one.springs):
        write(f"  spring by spring: {', '.join(f'{share:.0%} in {year}' for year, share in one.springs)}")
    write(
        f"  comes up as hoped: {one.chance:.0%}, {one.good} of {one.endings} endings (usually {one.usual_good:.0%}); "
        f"wakes early and loses a quarter or more to frost in {one.harmed} of them"
    )
    for action in one.actions:
        write(f"  - {action.text} {action.reason}")


def _print_chill(write: Any, one: SowingOutlook) -> None:
    lacking = not math.isnan(one.owed) and one.owed >= 0.5
    owed = f"; {counted(one.owed, 'day')} of cold still owed until nine in ten have enough" if lacking else ""
    standing = {"complete": f"{'half of it' if owed else 'all of it'} has its chill", NOT_SOWN: NOT_SOWN}
    write(f"  today: {standing.get(one.phase, f'in its {one.phase} phase')}{owed}")
    write(f"  half of it has its chill: {_range_words(one.complete)}; half is up: {_range_words(one.emergence)}")
    possible = any(chance.chance for chance in one.chances)
    if one.chances and not possible:
        write(f"    not complete in any ending by {one.chances[-1].date}")
    for chance in one.chances if possible else ():
        endings = f"{chance.endings} of {chance.of} endings"
        write(f"    by {chance.date}: {chance.chance:>4.0%}, {endings} (usually {chance.usual:.0%})")


def _range_words(dates: tuple[date | None, date | None, date | None]) -> str:
    low, middle, high = dates
    if middle is None:
        return "not this season in most endings" if low else "not this season"
    return str(middle) if low == middle == high else f"{middle} ({low or 'never'} to {high or 'never'})"


def season_json(loaded: Loaded, source: Source, ensemble: SeasonEnsemble, found: list[SowingOutlook]) -> dict[str, Any]:
    """The answer as plain data; keys stay, new ones may be added."""
    so_far = ensemble.so_far
    return {
        "schema": 1,
        "site": site_json(loaded.site),
        "weather": weather_json(source, loaded.seasons),
        "season": so_far.year,
        "known_to": so_far.last_day.isoformat(),
        "missing_days": so_far.missing,
        "effective_chill_so_far": round(chill_so_far(ensemble), 1),
        "endings": [int(year) for year in ensemble.years],
        "sowings": [_sowing_json(one) for one in found],
    }


def _sowing_json(one: SowingOutlook) -> dict[str, Any]:
    return {
        "label": one.label,
        "name": one.species.name,
        "sown": one.sown.isoformat(),
        "recipe": recipe_words(one.recipe),
        "phase": one.phase,
        "cold_days_owed": None if math.isnan(one.owed) else round(one.owed, 1),
        "chill_complete": _range_json(one.complete),
        "half_up": _range_json(one.emergence),
        "chances": [
            {
                "date": chance.date.isoformat(),
                "endings": chance.endings,
                "of": chance.of,
                "chance": round(chance.chance, 4),
                "usual": round(chance.usual, 4),
            }
            for chance in one.chances
        ],
        "outcomes": {fate: round(share, 4) for fate, share in one.outcomes.items()},
        "up_by_spring": {str(year): round(share, 4) for year, share in one.springs},
        "good_endings": one.good,
        "of": one.endings,
        "chance_good": round(one.chance, 4),
        "usual_good": round(one.usual_good, 4),
        "frozen_endings": one.harmed,
        "actions": [_action_json(action) for action in one.actions],
    }


def _range_json(dates: tuple[date | None, date | None, date | None]) -> dict[str, str | None]:
    return {key: day.isoformat() if day else None for key, day in zip(("p10", "p50", "p90"), dates, strict=True)}


def _action_json(action: Action) -> dict[str, str | None]:
    by = action.by.isoformat() if action.by else None
    return {"kind": action.kind, "by": by, "text": action.text, "reason": action.reason}


def season_csv(found: list[SowingOutlook]) -> str:
    """A row for each sowing and date."""
    header = ("label", "species", "sown", "date", "endings", "of", "usual", "good_endings", "frozen_endings", "actions")
    rows = [
        (
            one.label,
            one.species.name,
            one.sown.isoformat(),
            chance.date.isoformat(),
            chance.endings,
            chance.of,
            round(chance.usual, 4),
            one.good,
            one.harmed,
            " ".join(action.text for action in one.actions),
        )
        for one in found
        for chance in one.chances
    ]
    return csv_text(header, rows)
