"""The dates of a verdict in one line."""

from __future__ import annotations

from chillplan import verdicts
from chillplan.advice.result import Fridge, SpeciesAdvice
from chillplan.report.reader import Reader

__all__ = ["when_words"]


def when_words(advice: SpeciesAdvice, reader: Reader) -> str:
    """The dates that matter: sowing, warmth and cold indoors, planting out.

    Parameters
    ----------
    advice : SpeciesAdvice
    reader : Reader
    """
    if advice.verdict == verdicts.BEGUN and advice.top_up is not None:
        way = advice.top_up
        lift = f"lift by {reader.day(way.lift)}, {way.owed_days[1]:.0f} days in the cold"
        return f"sow {reader.span(way.sow, way.sow_to)}, {lift}, plant out {reader.day(way.plant_out)}"
    parts = []
    if advice.outdoors is not None and advice.verdict != verdicts.REFRIGERATOR:
        parts.append(f"sow {reader.span(advice.outdoors.sow_from, advice.outdoors.sow_to)}")
    if advice.fridge is not None and advice.verdict in verdicts.INDOORS:
        parts.append(_indoors(advice.fridge, reader))
    return "; or ".join(parts) or "–"


def _indoors(way: Fridge, reader: Reader) -> str:
    """``into the cold 1 Jan 2027, plant out 1 Apr 2027``; warmth that comes first is told first."""
    cold = way.into_cold or way.prepare
    warm = next((step.date_from for step in way.steps if step.kind == "warm phase" and step.date_from < cold), None)
    begin = f"into the warm {reader.day(warm)}, " if warm else ""
    return f"{begin}into the cold {reader.day(cold)}, plant out {reader.day(way.plant_out)}"
