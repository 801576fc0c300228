"""The answer first: verdicts in a table."""

from __future__ import annotations

from collections import Counter

from chillplan.advice.result import Plan, SpeciesAdvice
from chillplan.report.markup import latin, name_of, table, text
from chillplan.report.reader import Reader
from chillplan.report.when_words import when_words
from chillplan.verdicts import VERDICT_TABLE

__all__ = ["shown_name", "summary_section", "verdict_chip"]


def shown_name(advice: SpeciesAdvice) -> str:
    """The common name, or the scientific one where there is none."""
    return advice.species.common_name or advice.species.name


def verdict_chip(advice: SpeciesAdvice) -> str:
    """The verdict in words, framed."""
    flags = ""
    if advice.borderline:
        flags += ' <span class="flag">borderline</span>'
    if advice.thin:
        flags += ' <span class="flag">few winters</span>'
    return f'<span class="chip {advice.verdict}">{text(VERDICT_TABLE[advice.verdict].words)}</span>{flags}'


def summary_section(plan: Plan, reader: Reader) -> str:
    """Counts in a sentence, then the table."""
    counts = Counter(advice.verdict for advice in plan.species)
    parts = [f"{counts[key]} {verdict.counted}" for key, verdict in VERDICT_TABLE.items() if counts[key]]
    total = len(plan.species)
    lead = f"Of {total} species: {', '.join(parts)}." if total != 1 else ""
    header = ("Species", "Verdict", "Good winters", "Up in a median winter", "When")
    rows = [_row(plan, advice, number, reader) for number, advice in enumerate(plan.species, 1)]
    caption = (
        f"A winter is good when at least {plan.target:.0%} of the viable seed is up in time; a way is advised when at "
        f"least {plan.accept:.0%} of the winters are good. In brackets: range of the true share of good winters, 95 %."
    )
    return (
        '<section id="verdicts" aria-labelledby="verdicts-title"><h2 id="verdicts-title">Verdicts</h2>'
        f'<p class="lead">{text(lead)}</p>'
        f"{table(caption, header, rows, classes='cards verdicts', ready=True)}</section>"
    )


def _row(plan: Plan, advice: SpeciesAdvice, number: int, reader: Reader) -> tuple[str, ...]:
    low, high = advice.interval
    good = (
        f'<span class="number">{advice.good} of {advice.winters}</span> '
        f'<span class="quiet number">({low:.0%} to {high:.0%})</span>'
    )
    share = advice.share_up[1]
    up = (
        f'<span class="number">{share:.0%}</span><span class="bar" aria-hidden="true">'
        f'<span style="width:{min(max(share, 0.0), 1.0) * 100:.0f}%"></span></span>'
    )
    name = f'<a href="#species-{number}">{name_of(shown_name(advice))}</a>'
    if advice.species.common_name:
        name += f" {latin(advice.species.name)}"
    return name, verdict_chip(advice), good, up, text(when_words(advice, reader))
