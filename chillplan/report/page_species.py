"""A section for each species: reason, facts, steps, outcomes, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from chillplan.advice.result import Plan, SpeciesAdvice, Step
from chillplan.advice.wording import recipe_words
from chillplan.report.look import FATE_LOOKS
from chillplan.report.markup import bullets, figure, latin, name_of, text
from chillplan.report.page_summary import shown_name, verdict_chip
from chillplan.report.pictures_species import outcome_picture
from chillplan.report.reader import Reader
from chillplan.seeds.instructions import steps_of, storage_instruction, waiting_for
from chillplan.seeds.recipe import Species
from chillplan.verdicts import VERDICT_TABLE

__all__ = ["species_sections"]

KEY = (
    '<ul class="key" aria-label="Key to the pictures of this section">'
    + "".join(f'<li><i class="{look.css}"></i>{fate}</li>' for fate, look in FATE_LOOKS.items())
    + "</ul>"
)
WAY_WORDS = {
    "outdoors": "Outdoors",
    "fridge": "In the refrigerator",
    "top_up": "Begun outdoors, finished in the refrigerator",
}


def species_sections(plan: Plan, reader: Reader) -> str:
    """All species in the order of the plan."""
    links = "".join(
        f'<li><a href="#species-{number}">{name_of(shown_name(advice))}</a></li>'
        for number, advice in enumerate(plan.species, 1)
    )
    parts = "\n".join(_species(plan, advice, number, reader) for number, advice in enumerate(plan.species, 1))
    return (
        '<section id="species" aria-labelledby="species-title"><h2 id="species-title">Species by species</h2>'
        f'<nav class="species" aria-label="Species"><ul>{links}</ul></nav>'
        "<p>Each picture shows what becomes of a lot sown outdoors on each date, as the mean over all winters.</p>"
        f"{KEY}{parts}</section>"
    )


def _species(plan: Plan, advice: SpeciesAdvice, number: int, reader: Reader) -> str:
    species = advice.species
    common = f" {latin(species.name)}" if species.common_name else ""
    pieces = [
        f'<details class="species-one" id="species-{number}"><summary>',
        f'<h3 id="species-{number}-title">{name_of(shown_name(advice))}{common}</h3>',
        f'<span class="verdict-line">{verdict_chip(advice)}</span></summary>',
        f'<p class="reason">{text(reader.words(advice.reason))}</p>',
        bullets(reader.words(note) for note in (*advice.notes, *advice.changes)),
        _facts(advice, reader),
        *(_steps(advice, way, reader) for way in VERDICT_TABLE[advice.verdict].ways),
        _how(advice, reader),
        figure(outcome_picture(plan, advice, reader, number)),
        _cautions(advice, reader),
        _origin(species, reader),
        "</details>",
    ]
    return "".join(pieces)


def _facts(advice: SpeciesAdvice, reader: Reader) -> str:
    low, middle, high = advice.share_up
    least, most = advice.chance_range
    facts = (
        (
            "Good winters",
            f"{advice.good} of {advice.winters}",
            f"true share {advice.interval[0]:.0%} to {advice.interval[1]:.0%}",
        ),
        ("Seed up in time", f"{middle:.0%}", f"{low:.0%} in a poor winter, {high:.0%} in a good one"),
        ("Chance of a good winter", f"{advice.chance:.0%}", f"{least:.0%} to {most:.0%} by ground and lot"),
        ("Depth", reader.units.depth(*advice.species.depth_cm), _light(advice.species)),
    )
    inside = "".join(
        f"<div><dt>{text(name)}</dt><dd>{text(value)}<small>{text(more)}</small></dd></div>"
        for name, value, more in facts
    )
    return f'<dl class="facts">{inside}</dl>'


def _light(species: Species) -> str:
    words = {"needed": "needs light: do not cover", "dark": "needs darkness: cover well"}
    return words.get(species.light, "" if species.light == "unknown" else "light not needed")


def _steps(advice: SpeciesAdvice, way: str, reader: Reader) -> str:
    chosen = getattr(advice, way)
    if chosen is None:
        return ""
    steps: Sequence[Step] = chosen.steps
    items = "".join(
        f'<li><span class="when">{text(reader.span(step.date_from, step.date_to))}</span>'
        f"{text(reader.words(step.text))}</li>"
        for step in steps
    )
    checks = ""
    if way in {"fridge", "top_up"} and chosen.checks:
        days = ", ".join(reader.short(day) for day in chosen.checks)
        checks = f"<p><b>Look on</b> {text(days)}: mould, drying, sprouts; plant at once what has sprouted.</p>"
    owed = ""
    if way == "top_up":
        low, middle, high = chosen.owed_days
        owed = (
            f"<p>Cold still owed when lifted: {middle:.0f} days in a median winter, {low:.0f} in a good one, "
            f"{high:.0f} in a poor one; {chosen.spared_days:.0f} days indoors are spared.</p>"
        )
    return f'<h4>{WAY_WORDS[way]}</h4><ol class="steps">{items}</ol>{owed}{checks}'


def _how(advice: SpeciesAdvice, reader: Reader) -> str:
    """What the seed waits for, and each step in full, for the shed."""
    species, recipe = advice.species, advice.recipe
    steps = bullets((reader.words(step) for step in steps_of(species, recipe)), "ol")
    return (
        f'<details class="how"><summary>How each step is done indoors</summary>'
        f"<p>{text(reader.words(waiting_for(species, recipe)))}</p>{steps}</details>"
    )


def _cautions(advice: SpeciesAdvice, reader: Reader) -> str:
    if not advice.cautions:
        return ""
    inside = bullets(reader.words(caution[0].upper() + caution[1:]) for caution in advice.cautions)
    return f'<div class="cautions" role="note" aria-label="Cautions"><h4>Cautions</h4>{inside}</div>'


def _origin(species: Species, reader: Reader) -> str:
    read = f"figures {species.evidence}" if species.evidence != "read" else "lengths of phases read in the source"
    source = species.source or "not stated"
    asks = reader.words(recipe_words(species.recipe))
    keep = reader.words(storage_instruction(species))
    return (
        f'<p class="note"><b>Treatment of the trade:</b> {text(asks)}. <b>Source:</b> {text(source)} ({text(read)}). '
        f"<b>Keeping:</b> {text(keep)}</p>"
    )
