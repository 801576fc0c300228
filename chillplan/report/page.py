"""The long report, part by part; `chillplan.web` folds it into the page."""

from __future__ import annotations

from chillplan.advice.result import Plan
from chillplan.report.contract import season_label
from chillplan.report.markup import figure, text
from chillplan.report.page_species import species_sections
from chillplan.report.page_summary import summary_section
from chillplan.report.page_trust import trust_section
from chillplan.report.page_work import work_section
from chillplan.report.pictures_chill import chill_picture
from chillplan.report.pictures_frost import frost_picture, soil_picture
from chillplan.report.pictures_zone import seed_zone_picture
from chillplan.report.provenance import Source
from chillplan.report.reader import Reader
from chillplan.report.trend_words import trend_words
from chillplan.site import Site

__all__ = ["INVENTED", "place_words", "report_sections"]

INVENTED = (
    "The weather of this report is INVENTED. It shows what an answer looks like and says nothing about any real place."
)


def report_sections(plan: Plan, source: Source, reader: Reader) -> tuple[tuple[str, str, str], ...]:
    """Name, words and HTML of every part of the long report, in order."""
    return (
        ("verdicts", "Verdicts", summary_section(plan, reader)),
        ("work", "What to do when", work_section(plan, reader)),
        ("winters", "The winters here", _winters(plan, source, reader)),
        ("species", "Species by species", species_sections(plan, reader)),
        ("trust", "How far to trust this", trust_section(plan, source, reader) + _foot(plan, reader)),
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


def _winters(plan: Plan, source: Source, reader: Reader) -> str:
    pictures = (draw(plan, reader, source.air) for draw in (seed_zone_picture, frost_picture, soil_picture))
    drawn = "\n".join(figure(picture) for picture in (chill_picture(plan, reader), *pictures))
    count = plan.winters.years.size
    return (
        f'<section id="winters" aria-labelledby="winters-title"><h2 id="winters-title">The winters here</h2>'
        f"<p>{count} winters of the record, {season_label(int(plan.winters.years[0]))} to "
        f"{season_label(int(plan.winters.years[-1]))}, laid over one another. "
        f"{text(trend_words(plan.winters))}</p>{drawn}</section>"
    )


def _foot(plan: Plan, reader: Reader) -> str:
    from chillplan import __version__

    return (
        f'<footer><p class="quiet">Made by chillplan {text(__version__)} as of {text(reader.day(plan.today))}. '
        "The folder also holds the calendar, the labels, the task list and all numbers as JSON.</p></footer>"
    )
