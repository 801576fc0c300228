"""The report: one HTML file that fetches nothing."""

from __future__ import annotations

from importlib.resources import files

from chillplan.advice.result import Plan
from chillplan.report.contract import season_label
from chillplan.report.markup import drawing_library, figure, name_of, text
from chillplan.report.page_species import species_sections
from chillplan.report.page_summary import summary_section
from chillplan.report.page_trust import trust_section
from chillplan.report.page_work import work_section
from chillplan.report.pictures_chill import chill_picture
from chillplan.report.pictures_frost import frost_picture, soil_picture
from chillplan.report.pictures_zone import seed_zone_picture
from chillplan.report.provenance import Source, what_if
from chillplan.report.reader import Reader
from chillplan.report.trend_words import trend_words

__all__ = ["INVENTED", "report_html"]

INVENTED = (
    "The weather of this report is INVENTED. It shows what an answer looks like and says nothing about any real place."
)


def report_html(plan: Plan, source: Source, reader: Reader) -> str:
    """The whole page.

    Parameters
    ----------
    plan : Plan
    source : Source
    reader : Reader

    Returns
    -------
    str
        Self-contained HTML; the drawing library is inside once.
    """
    title = f"Chilling plan, {plan.site.name}, season {season_label(plan.season)}"
    body = "\n".join(
        (
            _head(plan, source, reader),
            '<main id="main">',
            summary_section(plan, reader),
            work_section(plan, reader),
            _winters(plan, source, reader),
            species_sections(plan, reader),
            trust_section(plan, source, reader),
            "</main>",
            _foot(plan, reader),
        )
    )
    style, script = _own("page.css"), _own("page.js")
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<link rel="icon" href="data:,">\n'
        f"<title>{text(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        '<a class="skip" href="#main">Skip to the verdicts</a>\n'
        f'<div class="sheet">\n{body}\n</div>\n'
        f'<script id="drawing-library">{drawing_library()}</script>\n'
        f"<script>{script}</script>\n</body>\n</html>\n"
    )


def _own(name: str) -> str:
    return (files("chillplan.report") / name).read_text(encoding="utf-8")


def _head(plan: Plan, source: Source, reader: Reader) -> str:
    site = plan.site
    north, east = ("S" if site.latitude < 0 else "N"), ("W" if site.longitude < 0 else "E")
    lie = f"{site.slope:g}° slope facing {_compass(site.aspect)}, " if site.slope else "level, "
    place = (
        f"{abs(site.latitude):.3f}° {north}, {abs(site.longitude):.3f}° {east}, "
        f"{reader.units.height(site.elevation)} above sea level; {lie}{site.cover}; seed zone "
        f"{reader.units.depth(site.depth_cm, site.depth_cm)} deep."
    )
    banner = f'<p class="banner" role="note">{text(INVENTED)}</p>' if source.invented else ""
    warmer = f'<p class="banner" role="note">{text(what_if(plan.warming, reader))}</p>' if plan.warming else ""
    links = (
        ("#verdicts", "Verdicts"),
        ("#work", "What to do when"),
        ("#winters", "The winters"),
        ("#species", "Species by species"),
        ("#trust", "How far to trust this"),
    )
    listed = "".join(f'<li><a href="{target}">{words}</a></li>' for target, words in links)
    return (
        f'<header><p class="over">Chilling plan · season {season_label(plan.season)}</p>'
        f"<h1>{name_of(site.name)}</h1>"
        f'<p class="lead">{text(place)}</p>{banner}{warmer}'
        f'<nav aria-label="Contents"><ul>{listed}</ul></nav></header>'
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
