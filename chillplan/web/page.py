"""The page as one file: screens, facts and the long report, nothing fetched, nothing from outside run."""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from chillplan.advice.result import Plan
from chillplan.data_files import data_path
from chillplan.report.markup import embedded_json, environment
from chillplan.report.page import INVENTED, place_words, report_sections
from chillplan.report.reader import Reader
from chillplan.report.record import Source, what_if
from chillplan.seasons.cut import season_label

__all__ = ["page_html"]


def page_html(plan: Plan, source: Source, reader: Reader, facts: dict[str, Any], served: bool = False) -> str:
    """The page.

    Parameters
    ----------
    plan : Plan
    source : Source
    reader : Reader
    facts : dict
        As `chillplan.web.facts.page_facts` gives them.
    served : bool
        Whether it comes from `chillplan page --serve`, which also answers for the home screen.

    Returns
    -------
    str
        Self-contained HTML.
    """
    page, drawing = _script(data_path("page.js").read_text(encoding="utf-8")), _script(_own("report", "page.js"))
    library = _script(data_path("plotly-basic.min.js").read_text(encoding="utf-8"))
    banners = [INVENTED] if source.invented else []
    if plan.warming:
        banners.append(what_if(plan.warming, reader))
    return (
        environment("chillplan.web")
        .get_template("page.html.jinja")
        .render(
            american=reader.units.us,
            policy=_policy((page, drawing, library), served),
            served=served,
            title=f"{plan.site.name}, season {season_label(plan.season)}",
            place=place_words(plan.site, reader),
            style=Markup(_own("report", "page.css") + _own("web", "app/page.css")),
            banners=banners,
            sections=report_sections(plan, source, reader),
            facts=Markup(embedded_json(facts)),
            page=Markup(page),
            library=Markup(library),
            drawing=Markup(drawing),
        )
    )


def _script(text: str) -> str:
    """A script of ours or of a library so that it cannot end its element early."""
    return text.strip().replace("</script", "<\\/script").replace("<!--", "<\\!--")


def _own(room: str, name: str) -> str:
    return (files(f"chillplan.{room}") / name).read_text(encoding="utf-8")


def _policy(scripts: tuple[str, ...], served: bool) -> str:
    """Only these scripts run, and nothing is asked of any network; a served page may be kept by the browser."""
    hashes = " ".join(
        f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'" for script in scripts
    )
    more = "; manifest-src 'self'; worker-src 'self'" if served else ""
    images = "data: blob: 'self'" if served else "data: blob:"
    return (
        f"default-src 'none'; script-src {hashes}; style-src 'unsafe-inline'; img-src {images}; base-uri 'none'; "
        f"form-action 'none'{more}"
    )
