"""Where the numbers come from and how far they reach."""

from __future__ import annotations

from chillplan.advice.result import Plan
from chillplan.report.left_out import guessed_water_line, left_out_lines
from chillplan.report.markup import bullets, table
from chillplan.report.provenance import TAKEN_MOIST, Source
from chillplan.report.reader import Reader
from chillplan.seeds.recipe import REVERSAL_TEMPERATURE

__all__ = ["trust_section"]


def trust_section(plan: Plan, source: Source, reader: Reader) -> str:
    """Provenance and honesty notes."""
    degrees = reader.units.temperature
    rows = (
        ("Air temperature", source.air, _record(plan, source, reader)),
        ("Seed-zone temperature, frost at seedling height, snow", "modelled", _model(plan, reader)),
        (
            "What each species asks for",
            "published or from memory",
            "Named in each species' section; the spread within a lot is assumed to be normal between the two lengths.",
        ),
        ("How a day counts as chill or warmth", "assumed", _response(reader)),
        (
            "Warm days that undo unfinished chilling",
            "assumed",
            f"Seed-zone means above {degrees(REVERSAL_TEMPERATURE)} unless the species says otherwise.",
        ),
        (
            "Heat needed from the end of dormancy to emergence",
            "published where known, else assumed",
            "A class default stands in where no figure is published.",
        ),
        ("Working minutes, weekly checks", "assumed", "Common practice; change them by your own experience."),
    )
    assumed = () if plan.rests_on is None else plan.rests_on.sentences
    notes = [*source.notes, *assumed, *filter(None, (plan.logger_words, plan.edge_words)), *plan.notes]
    left_out = [f"Left out: {line}." for line in left_out_lines(plan.seasons)]
    moisture = []
    if not plan.ground.moisture_known:
        moisture.append(TAKEN_MOIST)
    if (guess := guessed_water_line(plan.seasons)) is not None:
        moisture.append(guess)
    return (
        '<section id="trust" aria-labelledby="trust-title"><h2 id="trust-title">How far to trust this</h2>'
        f"<p>Every number here is one of four kinds: {source.air}, modelled, published or assumed.</p>"
        f"{table('Where each number comes from', ('Number', 'Kind', 'Detail'), rows, classes='cards')}"
        f"{bullets(reader.words(note) for note in [*moisture, *left_out, *notes])}"
        "<p>The verdicts describe past winters; the next one may lie outside all of them. Cautions name the usual "
        "hazards only: local codes, protected-species and noxious-weed law and licensed practice come first.</p>"
        "</section>"
    )


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


def _model(plan: Plan, reader: Reader) -> str:
    least = min((advice.chance_range[0] for advice in plan.species), default=float("nan"))
    most = max((advice.chance_range[1] for advice in plan.species), default=float("nan"))
    tuned = (
        "fitted to the site's own thermometer"
        if plan.site.calibration
        else "not fitted to this site; a thermometer in the bed would narrow it"
    )
    spread = (
        f" Its error, and how lots of a species differ, are in the chances ({least:.0%} to {most:.0%})."
        if plan.species
        else ""
    )
    return f"Daily means computed from air temperature, rain, snow, slope, aspect and cover, {tuned}.{spread}"


def _response(reader: Reader) -> str:
    degrees = reader.units.temperature
    return (
        f"Cold: nothing at {degrees(-2)}, all from {degrees(1)} to {degrees(7)}, nothing at {degrees(12)}. Warm: "
        f"nothing below {degrees(10)}, all from {degrees(15)} to {degrees(25)}. Dry days count nothing. "
        "Brackets published optima; a species may have its own."
    )
