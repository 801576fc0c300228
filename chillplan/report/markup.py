"""Small pieces of HTML; every text that comes from outside passes through here."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from html import escape

from chillplan.data_files import data_path
from chillplan.report.look import Picture

__all__ = ["UNIT_GAP", "bullets", "clean", "drawing_library", "figure", "latin", "name_of", "table", "text"]


UNIT_GAP = re.compile(r"(\d) (°[CF]|cm|mm|in|m|ft|%)(?=\W|$)")  # a number is not parted from its unit


def clean(value: str) -> str:
    """A text without control characters."""
    return "".join(letter if letter.isprintable() or letter == "\n" else " " for letter in value)


def text(value: str) -> str:
    """A text as HTML: nothing in it is markup, and its direction does not spill over."""
    return UNIT_GAP.sub("\\1\u00a0\\2", escape(clean(value), quote=True))


def name_of(value: str) -> str:
    """A name, its direction kept to itself."""
    return f"<bdi>{text(value)}</bdi>"


def latin(value: str) -> str:
    """A scientific name."""
    return f'<span class="latin" translate="no"><bdi>{text(value)}</bdi></span>'


def bullets(items: Iterable[str], kind: str = "ul") -> str:
    """A list of texts."""
    inside = "".join(f"<li>{text(item)}</li>" for item in items)
    return f"<{kind}>{inside}</{kind}>" if inside else ""


def table(
    caption: str, header: Sequence[str], rows: Iterable[Sequence[str]], *, classes: str = "", ready: bool = False
) -> str:
    """A table whose first cell of each row is the row's heading.

    Parameters
    ----------
    caption : str
    header : sequence of str
    rows : iterable of sequence of str
    classes : str
        ``cards`` stacks the cells on a narrow screen.
    ready : bool
        The cells are HTML already.
    """
    cards = "cards" in classes.split()
    role = _role if cards else _no_role
    head = "".join(f'<th scope="col"{role("columnheader")}>{text(cell)}</th>' for cell in header)
    body = []
    for row in rows:
        cells = [cell if ready else text(cell) for cell in row]
        line = f'<th scope="row"{role("rowheader")}>{cells[0]}</th>'
        for label, cell in zip(header[1:], cells[1:], strict=True):
            name = f' data-label="{text(label)}"' if cards else ""
            line += f"<td{role('cell')}{name}>{cell}</td>"
        body.append(f"<tr{role('row')}>{line}</tr>")
    group = role("rowgroup")
    return (
        f'<table class="{classes}"{role("table")}><caption>{text(caption)}</caption>'
        f"<thead{group}><tr{role('row')}>{head}</tr></thead><tbody{group}>{''.join(body)}</tbody></table>"
    )


def _role(name: str) -> str:
    """Said in so many words where the layout takes the table's own meaning away."""
    return f' role="{name}"'


def _no_role(_: str) -> str:
    return ""


def _print_height(picture: Picture) -> int:
    """Charts are lower on paper, but for those that are made of rows of text. [px]"""
    height = int(picture.layout["height"])
    return height if picture.key in {"timeline", "frost"} else round(height * 0.75)


def drawing_library() -> str:
    """plotly.js in its official bundle of the basic charts, a quarter of the whole (MIT licence)."""
    return data_path("plotly-basic.min.js").read_text(encoding="utf-8").replace("</script", "<\\/script")


def figure(picture: Picture, key: str = "") -> str:
    """A chart with its title, its sentence, its numbers and its origin.

    Parameters
    ----------
    picture : Picture
    key : str
        HTML of a legend shown between title and chart.
    """
    drawing = json.dumps(
        {"data": picture.data, "layout": picture.layout, "compact": picture.compact},
        ensure_ascii=False,
        separators=(",", ":"),
        allow_nan=False,
    ).replace("<", "\\u003c")
    name = f"chart-{picture.key}"
    numbers = (
        f'<details class="numbers"><summary>The numbers of this picture</summary>'
        f'<div class="scroll" tabindex="0" role="region" aria-label="{text(picture.title)}: numbers">'
        f"{table(picture.title, picture.header, picture.rows)}</div></details>"
        if picture.rows
        else ""
    )
    note = f'<p class="note">{text(picture.note)}</p>' if picture.note else ""
    height = int(picture.layout["height"])
    return (
        f'<figure><figcaption><strong>{text(picture.title)}</strong> <span id="{name}-words">{text(picture.summary)}'
        f"</span></figcaption>{key}"
        f'<div class="chart" id="{name}" role="img" aria-label="{text(picture.title)}" '
        f'aria-describedby="{name}-words" data-print="{_print_height(picture)}" style="min-height:{height}px">'
        f'<p class="waiting">The picture is drawn by your browser; its numbers are in the table below.</p></div>'
        f'<script type="application/json" id="{name}-data">{drawing}</script>{note}{numbers}</figure>'
    )
