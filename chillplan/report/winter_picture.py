"""A picture of one winter: the thermometer, the model and the air, as a small file that needs no network."""

from __future__ import annotations

from datetime import date, timedelta
from html import escape

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["winter_picture"]

FloatArray = NDArray[np.floating]

WIDTH, HEIGHT = 960, 420
LEFT, RIGHT, TOP, BOTTOM = 56, 16, 52, 40
LINES = (("air", "#9aa5b1", 1.2), ("model", "#c2410c", 2.0), ("thermometer", "#1d4ed8", 2.0))


def winter_picture(title: str, first: date, air: ArrayLike, model: ArrayLike, soil: ArrayLike) -> str:
    """Draw the winter as SVG.

    Parameters
    ----------
    title : str
    first : datetime.date
        First day.
    air, model, soil : array_like, shape (day,)
        Daily means; NaN breaks the line. [°C]

    Returns
    -------
    str
        SVG text.
    """
    series = {"air": air, "model": model, "thermometer": soil}
    values = {name: np.asarray(line, dtype=float) for name, line in series.items()}
    known = np.concatenate([line[np.isfinite(line)] for line in values.values()] or [np.zeros(1)])
    low, high = (np.floor(known.min() / 5) * 5, np.ceil(known.max() / 5) * 5) if known.size else (0.0, 5.0)
    high = max(high, low + 5)
    days = max(len(values["air"]) - 1, 1)

    def across(day: float) -> float:
        return float(LEFT + (WIDTH - LEFT - RIGHT) * day / days)

    def down(value: float) -> float:
        return float(TOP + (HEIGHT - TOP - BOTTOM) * (high - value) / (high - low))

    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(title)}" font-family="sans-serif" font-size="12">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="white"/>',
        f'<text x="{LEFT}" y="20" font-size="15">{escape(title)}</text>',
        f'<rect x="{LEFT}" y="{down(min(7.0, high)):.1f}" width="{WIDTH - LEFT - RIGHT}" '
        f'height="{max(down(max(1.0, low)) - down(min(7.0, high)), 0):.1f}" fill="#ecfdf5"/>',
    ]
    for value in np.arange(low, high + 1, 5):
        colour = "#6b7280" if value == 0 else "#e5e7eb"
        y = down(float(value))
        parts.append(f'<line x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" stroke="{colour}"/>')
        parts.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{value:.0f} °C</text>')
    parts += _months(first, days, across)
    for at, (name, colour, width) in enumerate(LINES):
        path = _path(values[name], across, down)
        parts.append(f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width}"/>')
        x = LEFT + 150 * at
        parts.append(f'<line x1="{x}" x2="{x + 24}" y1="38" y2="38" stroke="{colour}" stroke-width="3"/>')
        parts.append(f'<text x="{x + 30}" y="42">{name}</text>')
    parts.append(f'<text x="{LEFT + 450}" y="42" fill="#047857">green band: 1 to 7 °C, a full day of chill</text>')
    return "\n".join([*parts, "</svg>\n"])


def _months(first: date, days: int, across: object) -> list[str]:
    assert callable(across)
    parts = []
    for day in range(days + 1):
        when = first + timedelta(days=day)
        if when.day == 1:
            x = across(day)
            parts.append(f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{TOP}" y2="{HEIGHT - BOTTOM}" stroke="#f3f4f6"/>')
            parts.append(f'<text x="{x + 4:.1f}" y="{HEIGHT - BOTTOM + 18}">{when:%b %Y}</text>')
    return parts


def _path(line: FloatArray, across: object, down: object) -> str:
    assert callable(across)
    assert callable(down)
    steps, pen = [], "M"
    for day, value in enumerate(line):
        if not np.isfinite(value):
            pen = "M"
            continue
        steps.append(f"{pen}{across(day):.1f} {down(value):.1f}")
        pen = "L"
    return " ".join(steps)
