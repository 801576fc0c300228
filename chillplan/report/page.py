"""The long report, part by part; `chillplan.web` folds it into the page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import Any

from markupsafe import Markup

from chillplan import __version__
from chillplan.advice.result import Plan
from chillplan.advice.wording import recipe_words
from chillplan.physics.sun_times import clock_words
from chillplan.report.look import FATE_LOOKS
from chillplan.report.markup import environment
from chillplan.report.pictures_chill import chill_picture
from chillplan.report.pictures_frost import frost_picture, soil_picture
from chillplan.report.pictures_species import outcome_picture
from chillplan.report.pictures_timeline import KINDS, steps_shown, timeline_picture
from chillplan.report.pictures_zone import seed_zone_picture
from chillplan.report.reader import Reader
from chillplan.report.record import TAKEN_MOIST, Source, guessed_water_line, left_out_lines, trend_words
from chillplan.report.when_words import (
    TWO_WAYS,
    counted_verdict,
    freeze_words,
    full_verdict,
    way_words,
    when_words,
)
from chillplan.seasons.cut import season_label
from chillplan.seeds.instructions import steps_of, storage_instruction, waiting_for
from chillplan.seeds.recipe import REVERSAL_TEMPERATURE
from chillplan.site import Site
from chillplan.verdicts import VERDICT_TABLE

__all__ = ["INVENTED", "place_words", "report_sections"]

INVENTED = (
    "The weather of this report is INVENTED. It shows what an answer looks like and says nothing about any real place."
)
TITLES = {
    "verdicts": "Verdicts",
    "work": "What to do when",
    "winters": "The winters here",
    "species": "Species by species",
    "trust": "How far to trust this",
}
LIGHT = {"needed": "needs light: do not cover", "dark": "needs darkness: cover well", "unknown": ""}


def report_sections(plan: Plan, source: Source, reader: Reader) -> tuple[tuple[str, str, Markup], ...]:
    """Name, words and HTML of every part of the long report, in order."""
    templates = environment("chillplan.report")
    templates.globals["full_verdict"] = full_verdict
    shared = {"plan": plan, "source": source, "reader": reader, "words": reader.words}
    parts = {
        "verdicts": {
            "counted": _counted(plan),
            "numbers": _numbers(plan),
            "when_words": when_words,
            "freeze_words": freeze_words,
        },
        "work": _work(plan, reader),
        "winters": _winters(plan, source, reader),
        "species": _species(plan, reader),
        "trust": _trust(plan, source, reader),
    }
    return tuple(
        (name, TITLES[name], Markup(templates.get_template(f"{name}.html.jinja").render(shared, **own)))
        for name, own in parts.items()
    )


def place_words(site: Site, reader: Reader) -> str:
    """Where a site lies and how, as a sentence."""
    north, east = ("S" if site.latitude < 0 else "N"), ("W" if site.longitude < 0 else "E")
    lie = f"{site.slope:g}° slope facing {_compass(site.aspect)}, " if site.slope else "level, "
    return (
        f"{abs(site.latitude):.3f}° {north}, {abs(site.longitude):.3f}° {east}, "
        f"{reader.units.height(site.elevation)} above sea level; {lie}{site.cover}; seed zone "
        f"{reader.units.depth(site.depth_cm, site.depth_cm)} deep."
    )


def _compass(aspect: float) -> str:
    names = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
    return names[round(aspect / 45.0) % 8]


def _numbers(plan: Plan) -> dict[str, int]:
    return {advice.species.name: number for number, advice in enumerate(plan.species, 1)}


def _counted(plan: Plan) -> str:
    order = list(VERDICT_TABLE)
    ranked = sorted(plan.species, key=lambda advice: (advice.killed, order.index(advice.verdict)))
    counts = Counter(counted_verdict(plan, advice) for advice in ranked)
    parts = [f"{count} {words}" for words, count in counts.items()]
    return f"Of {len(plan.species)} species: {', '.join(parts)}." if len(plan.species) != 1 else ""


def _work(plan: Plan, reader: Reader) -> dict[str, Any]:
    """Every task but the checks, which are told once a species."""
    checks = [task for task in plan.tasks if task.action.startswith("check")]
    return {
        "timeline": timeline_picture(plan, reader),
        "kinds": KINDS,
        "kinds_shown": {step.kind for advice in plan.species for step in steps_shown(advice)},
        "names": {one.species.name: one.species.common_name or one.species.name for one in plan.species},
        "clock": clock_words(plan.site.time_zone),
        "uncovered": [reader.words(words) for words in plan.uncovered],
        "checks": checks,
        "tasks": [task for task in plan.tasks if task not in checks],
        "two_ways": TWO_WAYS if any(way_words(plan, task) for task in plan.tasks) else "",
        "way_words": way_words,
    }


def _winters(plan: Plan, source: Source, reader: Reader) -> dict[str, Any]:
    drawn = [draw(plan, reader, source.air) for draw in (seed_zone_picture, frost_picture, soil_picture)]
    return {
        "pictures": [chill_picture(plan, reader), *drawn],
        "season_label": season_label,
        "trend": trend_words(plan.winters),
    }


def _species(plan: Plan, reader: Reader) -> dict[str, Any]:
    def all_words(texts: Iterable[str]) -> list[str]:
        return [reader.words(text) for text in texts]

    def short_days(days: Iterable[date]) -> str:
        return ", ".join(reader.short(day) for day in days)

    return {
        "all_words": all_words,
        "capitals": lambda texts: [text[0].upper() + text[1:] for text in texts],
        "short_days": short_days,
        "fates": FATE_LOOKS,
        "light_words": LIGHT,
        "outcome_picture": outcome_picture,
        "recipe_words": recipe_words,
        "steps_of": steps_of,
        "storage_instruction": storage_instruction,
        "waiting_for": waiting_for,
    }


def _trust(plan: Plan, source: Source, reader: Reader) -> dict[str, Any]:
    """Provenance and honesty notes."""
    moisture = [] if plan.ground.moisture_known else [TAKEN_MOIST]
    if (guess := guessed_water_line(plan.seasons)) is not None:
        moisture.append(guess)
    left_out = [f"Left out: {line}." for line in left_out_lines(plan.seasons)]
    assumed = () if plan.rests_on is None else plan.rests_on.sentences
    logger = [plan.logger_words] if plan.logger_words else []
    notes = [*moisture, *left_out, *source.notes, *assumed, *logger, *plan.notes]
    return {
        "record": _record(plan, source, reader),
        "model": _model(plan),
        "reversal": REVERSAL_TEMPERATURE,
        "notes": [reader.words(note) for note in notes],
        "version": __version__,
    }


def _record(plan: Plan, source: Source, reader: Reader) -> str:
    away = f", {reader.distance(source.distance_km)} from the site" if source.distance_km is not None else ""
    higher = source.height_difference_m
    climb = ""
    if higher is not None and abs(higher) >= 1.0:
        climb = f", the site {reader.units.height(abs(higher))} {'higher' if higher > 0 else 'lower'}"
    return (
        f"{source.source}, station {source.station}{away}{climb}; {reader.day(source.first)} to "
        f"{reader.day(source.last)}; {source.coverage:.1%} of days {source.air}; {plan.winters.years.size} winters "
        f"used. Licence: {source.licence}."
    )


def _model(plan: Plan) -> str:
    tuned = (
        "fitted to the site's own thermometer"
        if plan.site.calibration
        else "not fitted to this site; a thermometer in the bed would narrow it"
    )
    spread = ""
    if plan.species:
        least = min(advice.chance_range[0] for advice in plan.species)
        most = max(advice.chance_range[1] for advice in plan.species)
        spread = f" Its error, and how lots of a species differ, are in the chances ({least:.0%} to {most:.0%})."
    return f"Daily means computed from air temperature, rain, snow, slope, aspect and cover, {tuned}.{spread}"
