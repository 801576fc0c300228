"""The picture of a map: one page with every number by place, a legend in words, nothing fetched."""

from __future__ import annotations

import base64
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import numpy as np
from markupsafe import Markup

from chillplan.report.map_frame import NO_ANSWER, Frame, frame_of, png_of
from chillplan.report.map_layers import VERDICT_LOOKS, Layer, Panel, layers_of, panels_of
from chillplan.report.markup import drawing_library, embedded_json, environment

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
    style, script = (Markup((room / f"map_page.{kind}").read_text(encoding="utf-8")) for kind in ("css", "js"))
    heads, rows = _shares(data)
    page = environment("chillplan.report").get_template("map.html.jinja")
    return page.render(
        heading=HEADING,
        style=style,
        comment=data.attrs.get("comment", ""),
        source=data.attrs.get("source", ""),
        coarse=frame.pick is not None and frame.pick.size < frame.longitude.size,
        heads=heads,
        rows=rows,
        library=Markup(drawing_library()),
        map=Markup(embedded_json(said)),
        script=script,
    )


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


def _shares(data: xr.Dataset) -> tuple[list[str], list[tuple[str, list[float]]]]:
    """Share of the places by verdict, for readers who do not see the map: verdicts, then a name and shares a row."""
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
                rows.append((", ".join(names), counts.tolist()))
    used = [at for at in range(len(heads)) if any(shares[at] for _, shares in rows)]
    return [heads[at] for at in used], [(name, [shares[at] for at in used]) for name, shares in rows]
