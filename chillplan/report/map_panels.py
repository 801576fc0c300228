"""The pictures of a map: each number as a few classes with colours and words, days as half months."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from chillplan.report.look import INK, PALE
from chillplan.report.map_layers import NO_ANSWER, VERDICT_LOOKS, Layer, coordinate, layers_of
from chillplan.seasons.cut import season_start
from chillplan.verdicts import VERDICTS

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["Panel", "panels_of"]

FloatArray = NDArray[np.floating]

YEAR = 2025  # a season without a 29 February on either side of the equator
MIDDLE = 16  # the second half of a month begins on this day
LONGEST = 800  # days; the window of two winters ends before


def _begins(south: bool) -> NDArray[np.int_]:
    """Day index on which each half month of a season begins, the season's first day among them."""
    start = season_start(YEAR, south)
    return np.array([n for n in range(LONGEST) if (start + timedelta(days=n)).day in {1, MIDDLE}])


def half_month_of(days: FloatArray, southern: NDArray[np.bool_]) -> FloatArray:
    """Number of the half month of a season in which days lie.

    Parameters
    ----------
    days : numpy.ndarray, shape (..., place)
        Days of the season; NaN and infinite where there is none. [day]
    southern : numpy.ndarray of bool, shape (place,)

    Returns
    -------
    numpy.ndarray, shape (..., place)
        NaN where there is no day.
    """
    there = np.isfinite(days)
    whole = np.where(there, days, 0.0)
    north, south = (np.searchsorted(_begins(side), whole, side="right") - 1.0 for side in (False, True))
    return np.where(there, np.where(southern, south, north), np.nan)


def half_month_words(number: int, southern: NDArray[np.bool_]) -> str:
    """``1 to 15 October``, for the sides of the equator that occur."""

    def words(south: bool) -> str:
        begins = _begins(south)
        first, last = (season_start(YEAR, south) + timedelta(days=int(begins[at])) for at in (number, number + 1))
        return f"{first.day} to {(last - timedelta(days=1)).day} {first:%B}"

    return _on_sides(words, southern)


def month_words(number: int, southern: NDArray[np.bool_]) -> str:
    """``October``, the month whose first half has a number, for the sides of the equator that occur."""

    def words(south: bool) -> str:
        return f"{season_start(YEAR, south) + timedelta(days=int(_begins(south)[number])):%B}"

    return _on_sides(words, southern)


def _on_sides(words: Callable[[bool], str], southern: NDArray[np.bool_]) -> str:
    said = [words(side) for side in (False, True) if (southern == side).any()]
    return said[0] if len(said) == 1 else f"{said[0]}, south of the equator {said[1]}"


def long_date(day: int, south: bool) -> str:
    """``14 October``."""
    found: date = season_start(YEAR, south) + timedelta(days=day)
    return f"{found.day} {found:%B}"


SHORT = {verdict: words.split(":")[0] for verdict, (_, words) in VERDICT_LOOKS.items()}
UNCHANGED = "no change"
MOST_CHANGES = 12
MOST_CLASSES = 8
MOST_HALVES = 9  # more half months than these are drawn as months
SHARES = (0, 20, 40, 60, 80, 90, 100)  # finer where verdicts turn [%]
TENTHS = ("fewer than 2", "2 to 4", "4 to 6", "6 to 8", "8 to 9", "9 or more")
SHADES = ("#440154", "#3b528b", "#21918c", "#5ec962", "#fde725")
"""From low to high; they stay in order without colour too (the scale viridis of Smith and van der Walt, 2015)."""
NONE = "#a9b1ae"


@dataclass(frozen=True)
class Panel:
    """One picture.

    Attributes
    ----------
    chosen : mapping of str to str
        Species, period and warming, those that it depends on.
    classes : tuple of (str, str)
        Colour and words of each class.
    index : numpy.ndarray of uint8, shape (place,)
        Class of each place, `NO_ANSWER` where there is none.
    texts : tuple of str
        What places say when they are pointed at.
    says : numpy.ndarray of int, shape (place,)
        Position in `texts`.
    """

    layer: Layer
    chosen: dict[str, str]
    title: str
    classes: tuple[tuple[str, str], ...]
    index: NDArray[np.uint8]
    texts: tuple[str, ...]
    says: NDArray[np.int_]

    def shares(self) -> list[float]:
        """Share of the answered places in each class. [-]"""
        known = self.index[self.index != NO_ANSWER]
        counts = np.bincount(known, minlength=len(self.classes)) / max(known.size, 1)
        return [float(share) for share in counts]


def panels_of(data: xr.Dataset) -> Iterator[Panel]:
    """Every picture of a map, layer by layer.

    Parameters
    ----------
    data : xarray.Dataset
        A map as `chillplan.region` writes it, opened with its names.
    """
    southern = _southern(data)
    for layer in layers_of(data):
        values = _values(data, layer).load()
        scale = _scale(layer, values.values, southern)
        dims = [dim for dim in ("species", "period", "warming") if dim in values.dims and dim != layer.along]
        for position in np.ndindex(*(values.sizes[dim] for dim in dims)):
            where = dict(zip(dims, position, strict=True))
            chosen = {dim: _name(data[dim].values[number]) for dim, number in where.items()}
            part = values.isel(where)
            if layer.kind == "change":
                panel = _change(layer, chosen, part)
            else:
                known = _answered(data, layer, where)
                panel = _panel(layer, chosen, np.where(known, part.values.ravel(), np.nan), known, scale, southern)
            yield replace(panel, title=_title(data, layer, chosen))


def _values(data: xr.Dataset, layer: Layer) -> xr.DataArray:
    values = data[layer.variable]
    for dim, at in layer.where:
        values = values.sel({dim: at})
    if layer.key == "good":
        values = 100.0 * values / data["winters"].where(data["winters"] > 0)
    return values


def _southern(data: xr.Dataset) -> NDArray[np.bool_]:
    like = data["seasons"][0, 0]
    latitude = coordinate(data, "latitude").broadcast_like(like).transpose(*like.dims)
    return np.asarray(latitude.values.ravel() < 0.0)


def _answered(data: xr.Dataset, layer: Layer, where: dict[str, int]) -> NDArray[np.bool_]:
    name = "verdict" if layer.of_species else "seasons"
    values = data[name].isel({dim: at for dim, at in where.items() if dim in data[name].dims}).values.ravel()
    return np.asarray(np.isfinite(values) & (values >= 0))


def _name(value: Any) -> str:
    return str(value) if isinstance(value, str) else f"{float(value):g}"


def _title(data: xr.Dataset, layer: Layer, chosen: dict[str, str]) -> str:
    parts = [chosen["species"]] if "species" in chosen else []
    if "period" in chosen and data.sizes["period"] > 1:
        parts.append(f"winters {chosen['period']}")
    if "warming" in chosen and (data.sizes["warming"] > 1 or float(chosen["warming"]) != 0.0):
        parts.append(f"{float(chosen['warming']):+g} °C")
    return f"{layer.label}: {', '.join(parts)}" if parts else layer.label


@dataclass(frozen=True)
class _Scale:
    """How a number falls into classes: where each but the first begins; colours and words of all."""

    begins: tuple[float, ...]
    classes: tuple[tuple[str, str], ...]

    def position(self, number: FloatArray) -> NDArray[np.int_]:
        """Class of each number."""
        return np.searchsorted(self.begins, number, side="right")


def _scale(layer: Layer, values: FloatArray, southern: NDArray[np.bool_]) -> _Scale:
    """Classes that all pictures of a layer share, so that they can be compared."""
    if layer.kind in {"verdict", "change"}:
        return _Scale(tuple(range(1, len(VERDICTS))), tuple(VERDICT_LOOKS.values()))
    if layer.kind == "share":
        ends = zip(SHARES, SHARES[1:], TENTHS, strict=False)
        return _scaled(SHARES[:-1], [f"{low} to {high} %: {tenths} winters of 10" for low, high, tenths in ends])
    if layer.kind == "days":
        low, high = _ends(values)
        step = next((step for step in (5, 10, 20, 30, 40) if high // step - low // step < MOST_CLASSES), 50)
        begins = [step * number for number in range(int(low // step), int(high // step) + 1)]
        return _scaled(begins, [f"{begin} to {begin + step} days" for begin in begins])
    parts = half_month_of(values.reshape(-1, southern.size), southern)
    halves = np.unique(parts[np.isfinite(parts)]).astype(int)
    if halves.size > MOST_HALVES:
        months = np.unique(halves // 2 * 2)
        return _scaled(months.tolist(), [month_words(month, southern) for month in months.tolist()])
    numbers = halves.tolist() or [0]
    return _scaled(numbers, [half_month_words(number, southern) for number in numbers])


def _ends(values: FloatArray) -> tuple[float, float]:
    there = values[np.isfinite(values)]
    return (float(there.min()), float(there.max())) if there.size else (0.0, 0.0)


def _scaled(begins: Sequence[float], words: Sequence[str]) -> _Scale:
    """Classes that begin at numbers, shaded from low to high."""
    return _Scale(tuple(float(begin) for begin in begins[1:]), tuple(zip(_shades(len(words)), words, strict=True)))


def _shades(count: int) -> list[str]:
    """So many colours from low to high."""
    ends = np.array([[int(shade[at : at + 2], 16) for at in (1, 3, 5)] for shade in SHADES], dtype=float)
    position = np.linspace(0.0, len(SHADES) - 1.0, count) if count > 1 else np.array([2.0])
    return ["#" + "".join(f"{round(float(np.interp(at, range(len(SHADES)), ends[:, part]))):02x}" for part in range(3))
            for at in position]  # fmt: skip


def _panel(
    layer: Layer,
    chosen: dict[str, str],
    values: FloatArray,
    known: NDArray[np.bool_],
    scale: _Scale,
    southern: NDArray[np.bool_],
) -> Panel:
    there = np.isfinite(values)
    number = half_month_of(values[None], southern)[0] if layer.kind == "date" else values
    classes = list(scale.classes)
    position = scale.position(np.where(np.isfinite(number), number, 0.0))
    absent = known & ~there
    if layer.none and absent.any():
        classes.append((NONE, layer.none))
        position = np.where(absent, len(classes) - 1, position)
        there = known
    index = np.where(there, position, NO_ANSWER).astype(np.uint8)
    texts, says = _said(layer, values, index, tuple(words for _, words in classes), southern)
    return Panel(layer, chosen, "", tuple(classes), index, texts, says)


def _said(
    layer: Layer, values: FloatArray, index: NDArray[np.uint8], words: Sequence[str], southern: NDArray[np.bool_]
) -> tuple[tuple[str, ...], NDArray[np.int_]]:
    """What each place says, every text once."""
    if layer.kind == "verdict":
        return tuple(words), np.minimum(index, len(words) - 1).astype(int)
    whole = np.where(np.isfinite(values), np.rint(np.where(np.isfinite(values), values, 0.0)), -1.0)
    kinds, says = np.unique(2 * whole.astype(int) + southern, return_inverse=True)
    texts = []
    for number, south in zip(kinds // 2, kinds % 2, strict=True):
        if number < 0:
            texts.append(layer.none or "no answer")
        elif layer.kind == "date":
            texts.append(long_date(int(number), bool(south)))
        else:
            texts.append(f"{number} {'%' if layer.kind == 'share' else 'days'}")
    return tuple(texts), says.reshape(-1)


def _change(layer: Layer, chosen: dict[str, str], verdicts: xr.DataArray) -> Panel:
    """Places by the change of their verdict; a change has the colour of the new verdict, darker for rarer ones."""
    before, after = (verdicts.isel({layer.along: end}).values.ravel() for end in (0, -1))
    known = np.isfinite(before) & np.isfinite(after) & (before >= 0) & (after >= 0)
    old, new = (np.where(known, side, -1).astype(int) for side in (before, after))
    count = Counter(zip(old[known].tolist(), new[known].tolist(), strict=True))
    pairs = [pair for pair, _ in count.most_common() if pair[0] != pair[1]]
    classes, index = [(PALE, UNCHANGED)], np.where(known, 0, NO_ANSWER).astype(np.uint8)
    seen: Counter[int] = Counter()
    for was, now in pairs[:MOST_CHANGES]:
        colour = _darker(VERDICT_LOOKS[VERDICTS[now]][0], seen[now])
        seen[now] += 1
        index[(old == was) & (new == now)] = len(classes)
        classes.append((colour, f"was: {SHORT[VERDICTS[was]]}; becomes: {SHORT[VERDICTS[now]]}"))
    if len(pairs) > MOST_CHANGES:
        index[known & (old != new) & (index == 0)] = len(classes)
        classes.append((INK, "another change"))
    texts = tuple(words for _, words in classes)
    return Panel(layer, chosen, "", tuple(classes), index, texts, np.minimum(index, len(texts) - 1).astype(int))


def _darker(colour: str, times: int) -> str:
    """A colour mixed with black, more so each time."""
    keep = (1.0, 0.6, 0.35, 0.2)[min(times, 3)]
    return "#" + "".join(f"{round(int(colour[at : at + 2], 16) * keep):02x}" for at in (1, 3, 5))
