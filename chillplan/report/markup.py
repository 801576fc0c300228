"""How our templates become HTML: every text that comes from outside is cleaned and escaped on its way out."""

from __future__ import annotations

import json
import re

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup, escape

from chillplan.data_files import data_path
from chillplan.report.look import Picture
from chillplan.verdicts import VERDICT_TABLE

__all__ = ["UNIT_GAP", "clean", "drawing_library", "embedded_json", "environment", "text"]


UNIT_GAP = re.compile(r"(\d) (°[CF]|cm|mm|in|m|ft|%)(?=\W|$)")  # a number is not parted from its unit


def clean(value: str) -> str:
    """A text without control characters."""
    return "".join(letter if letter.isprintable() or letter == "\n" else " " for letter in value)


def text(value: object) -> Markup:
    """A text as HTML in which nothing is markup; what is HTML already stays."""
    if isinstance(value, Markup):
        return value
    return Markup(UNIT_GAP.sub("\\1\u00a0\\2", escape(clean(str(value)))))


def environment(package: str) -> Environment:
    """The templates of a package: undefined names are refused, every value passes through `text`."""
    made = Environment(
        loader=PackageLoader(package),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=text,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(verdicts=VERDICT_TABLE, drawing=_drawing, print_height=_print_height)
    return made


def embedded_json(content: object) -> str:
    """JSON that cannot end the script element it stands in, nor begin a comment there."""
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False).replace("<", "\\u003c")


def drawing_library() -> str:
    """plotly.js in its official bundle of the basic charts, a quarter of the whole (MIT licence)."""
    return data_path("plotly-basic.min.js").read_text(encoding="utf-8").replace("</script", "<\\/script")


def _drawing(picture: Picture) -> Markup:
    return Markup(embedded_json({"data": picture.data, "layout": picture.layout, "compact": picture.compact}))


def _print_height(picture: Picture) -> int:
    """Charts are lower on paper, but for those that are made of rows of text. [px]"""
    height = int(picture.layout["height"])
    return height if picture.key in {"timeline", "frost"} else round(height * 0.75)
