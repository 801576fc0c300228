"""The picture of a map: one page with every number by place, a legend in words, nothing fetched."""

from __future__ import annotations

import base64
import json
from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np

from chillplan.report.map_frame import NO_ANSWER, Frame, frame_of, png_of
from chillplan.report.map_layers import VERDICT_LOOKS, Layer, Panel, layers_of, panels_of
from chillplan.report.markup import drawing_library, text

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["map_html"]

MOST_POINTS = 4000  # longer lists of places are drawn as a picture
MOST_PIXELS = 1200  # along a side of a picture
ALL_PIXELS = 60_000_000  # of all pictures of a page together; with very many, each is coarser
ALL_WORDS = 1_500_000  # places that answer when pointed at, over all pictures; beyond, none does
HEADING = "Where the winter chills the seed"
NAMES = {"species": "Species", "period": "Winters", "warming": "Warmer by"}


def map_html(data: xr.Dataset) -> str:
    """A page that needs nothing else.

    Parameters
    ----------
    data : xarray.Dataset
        A map as `chillplan.region` writes it, opened with its names; loaded number by number.

    Returns
    -------
    str
        HTML with the drawing library inside it.
    """
    layers = layers_of(data)
    count = sum(_panels_in(data, layer) for layer in layers)
    side = int(min(MOST_PIXELS, max((ALL_PIXELS / count) ** 0.5, 50)))
    frame = frame_of(data, side, MOST_POINTS)
    pointed = count * frame.longitude.size <= ALL_WORDS
    panels = {_key(panel): _packed(panel, frame, pointed) for panel in panels_of(data)}
    said = {
        "frame": _frame_json(frame, pointed),
        "names": NAMES,
        "choices": {dim: [_choice(data, dim, value) for value in data[dim].values] for dim in NAMES},
        "layers": [
            {"key": one.key, "label": one.label, "group": one.group, "note": one.note, "on": _on(data, one)}
            for one in layers
        ],
        "panels": panels,
    }
    room = files("chillplan.report")
    style, script = (room.joinpath(f"map_page.{kind}").read_text(encoding="utf-8") for kind in ("css", "js"))
    packed = json.dumps(said, allow_nan=False, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    coarse = frame.pick is not None and frame.pick.size < frame.longitude.size
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{HEADING}</title>\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="icon" href="data:,">\n'
        f"<style>{style}</style></head><body>\n<h1>{HEADING}</h1>\n"
        f"<p>{_sentence(data, 'comment')}</p>\n"
        '<noscript><p class="warn">The map is drawn by a script inside this page; your browser does not run scripts. '
        "The table below needs none.</p></noscript>\n"
        '<form class="choices" autocomplete="off"></form>\n'
        '<figure><h2 id="title" aria-live="polite"></h2><div id="map" role="img" aria-labelledby="title key"></div>\n'
        '<figcaption><ul id="key" class="key"></ul><p id="note"></p>'
        f"{'<p>The picture is coarser than the map.</p>' if coarse else ''}</figcaption></figure>\n"
        f"{_table(data)}\n"
        f'<p class="origin">Made from: {_sentence(data, "source")}</p>\n<script>{drawing_library()}</script>\n'
        f"<script>const map = {packed};\n{script}</script></body></html>\n"
    )


def _sentence(data: xr.Dataset, name: str) -> str:
    return text(str(data.attrs.get(name, "")))


def _on(data: xr.Dataset, layer: Layer) -> list[str]:
    """Dimensions a layer depends on."""
    return [dim for dim in NAMES if dim in data[layer.variable].dims and dim != layer.along]


def _panels_in(data: xr.Dataset, layer: Layer) -> int:
    return int(np.prod([data.sizes[dim] for dim in _on(data, layer)]))


def _choice(data: xr.Dataset, dim: str, value: Any) -> dict[str, str]:
    """Value and words of one choice."""
    if dim == "warming":
        degrees = float(value)
        return {"value": f"{degrees:g}", "words": f"{degrees:+g} °C" if degrees else "as it was"}
    words = str(value)
    if dim == "period" and words == "all":
        words = "all in the grid"
    if dim == "species" and "common_name" in data.coords:
        common = str(data["common_name"].sel(species=value).values)
        words = f"{words}, {common}" if common else words
    return {"value": str(value), "words": words}


def _key(panel: Panel) -> str:
    return "|".join([panel.layer.key, *(panel.chosen.get(dim, "") for dim in NAMES)])


def _frame_json(frame: Frame, pointed: bool) -> dict[str, Any]:
    edges = [round(edge, 5) for edge in (frame.west, frame.east, frame.south, frame.north)]
    shown = pointed or frame.pick is None
    x, y = (np.round(part, 4).tolist() if shown else [] for part in (frame.longitude, frame.latitude))
    return {"edges": edges, "stretch": round(frame.stretch, 4), "x": x, "y": y, "drawn": frame.pick is None}


def _packed(panel: Panel, frame: Frame, pointed: bool) -> dict[str, Any]:
    """A picture as the page's script takes it."""
    shares = panel.shares()
    absent = int((panel.index == NO_ANSWER).sum())
    result: dict[str, Any] = {
        "title": panel.title,
        "key": [[colour, words, share] for (colour, words), share in zip(panel.classes, shares, strict=True)],
        "absent": absent,
    }
    if frame.pick is not None:
        seen = np.where(frame.pick >= 0, panel.index[np.maximum(frame.pick, 0)], NO_ANSWER).astype(np.uint8)
        content = png_of(seen, [colour for colour, _ in panel.classes])
        result["image"] = f"data:image/png;base64,{base64.b64encode(content).decode()}"
    else:
        result["colour"] = np.where(panel.index == NO_ANSWER, -1, panel.index.astype(int)).tolist()
    if pointed:
        result["texts"] = list(panel.texts)
        result["says"] = np.where(panel.index == NO_ANSWER, -1, panel.says).tolist()
    return result


def _table(data: xr.Dataset) -> str:
    """Share of the places by verdict, for readers who do not see the map."""
    heads, rows = [name.split(":")[0] for _, name in VERDICT_LOOKS.values()], []
    for species in data["species"].values:
        for period in data["period"].values:
            for warming in data["warming"].values:
                values = data["verdict"].sel(species=species, period=period, warming=warming).values
                known = values[np.isfinite(values) & (values >= 0)].astype(int)
                counts = np.bincount(known, minlength=len(heads)) / max(known.size, 1)
                names = [str(species)]
                names += [str(period)] if data.sizes["period"] > 1 else []
                names += [f"{float(warming):+g} °C"] if data.sizes["warming"] > 1 else []
                rows.append((", ".join(names), counts))
    used = [at for at in range(len(heads)) if any(counts[at] for _, counts in rows)]
    head = "".join(f'<th scope="col">{escape(heads[at])}</th>' for at in used)
    body = "".join(
        f'<tr><th scope="row">{text(name)}</th>'
        + "".join(f"<td>{100 * counts[at]:.0f}&nbsp;%</td>" for at in used)
        + "</tr>"
        for name, counts in rows
    )
    return (
        '<h2 id="shares">Share of the places by verdict</h2>'
        '<div class="scroll" tabindex="0" role="region" aria-labelledby="shares"><table>'
        f'<thead><tr><th scope="col">Species</th>{head}</tr></thead><tbody>{body}</tbody></table></div>'
    )
