"""A lot: the seed you hold. What it is, when and where it was picked, its state, and the way you chose for it.

One form serves the lots file, the commands and the planning page: the columns of `COLUMNS`, words in each cell.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from chillplan.day_words import read_day
from chillplan.errors import InputError, Problems, counted, quoted

__all__ = [
    "COLD_STORE",
    "COLUMNS",
    "LOTS_FILE",
    "OUTDOORS",
    "STATES",
    "WAYS",
    "Lot",
    "LotsTable",
    "lots_beside",
    "parse_lots",
    "read_lot",
    "write_lots",
]

LOTS_FILE = "lots.csv"
"""Stands beside the site file."""

FRESH, MOIST, DRIED, STRATIFIED, TREATED = (
    "fresh on the plant",
    "fresh moist",
    "cleaned and dried",
    "already stratified",
    "pre-treated",
)
STATES = (FRESH, MOIST, DRIED, STRATIFIED, TREATED)
UNDECIDED, OUTDOORS, COLD_STORE, IN_PARTS = "undecided", "outdoors", "cold store", "both in parts"
WAYS = (UNDECIDED, OUTDOORS, COLD_STORE, IN_PARTS)
COLUMNS = ("species", "lot", "picked", "where", "amount", "state", "viability", "way", "place")
SYNONYMS = {
    "name": "species",
    "scientific name": "species",
    "common name": "species",
    "bought": "picked",
    "seeds": "amount",
    "source": "where",
    "label": "lot",
}
GRAMS = {"g": 1.0, "gram": 1.0, "kg": 1000.0, "oz": 28.349523125, "ounce": 28.349523125, "lb": 453.59237}
"""Unit of weight in grams; international avoirdupois ounce and pound. [g]"""
MOST_ROWS = 1000
MOST_SEEDS = 100_000_000


@dataclass(frozen=True)
class Lot:
    """Seed of one species from one place and day.

    Attributes
    ----------
    species : str
        Name as the grower gives it; the scientific name once it was looked up.
    lot : str
        The grower's own name for it; empty where there is none.
    picked : datetime.date or None
        Day it was picked, or is meant to be; None stands for this year's seed.
    where : str
        Where it was picked or bought.
    seeds : int or None
    grams : float or None
        [g]
    state : str
        One of `STATES`.
    stratified_days : float
        Days of moist cold it has had already. [day]
    viability : float or None
        Share of living seed; None where it was not tested. [-]
    way : str
        One of `WAYS`.
    place : str
        Where on the hill it goes.
    """

    species: str
    lot: str = ""
    picked: date | None = None
    where: str = ""
    seeds: int | None = None
    grams: float | None = None
    state: str = DRIED
    stratified_days: float = 0.0
    viability: float | None = None
    way: str = UNDECIDED
    place: str = ""

    @property
    def fresh(self) -> bool:
        """Whether it was never dried or treated."""
        return self.state in {FRESH, MOIST}

    @property
    def chosen(self) -> frozenset[str]:
        """Ways chosen for it: `OUTDOORS`, `COLD_STORE`, both or none."""
        return frozenset({OUTDOORS, COLD_STORE} if self.way == IN_PARTS else {self.way} - {UNDECIDED})

    @property
    def name(self) -> str:
        """How it is told from other lots: its own name, else the species."""
        return self.lot or self.species

    @property
    def said(self) -> tuple[str, ...]:
        """How much of it there is and where on the hill it goes, as one text; empty where nothing is said."""
        words = ", ".join(part for part in (self.cells()["amount"], self.place) if part)
        return (words,) if words else ()

    @property
    def weighed_and_placed(self) -> tuple[str, ...]:
        """Its weight, where it was weighed, and where on the hill it goes: what no number of seeds says."""
        return tuple(part for part in (self.amount if self.seeds is None else "", self.place) if part)

    @property
    def amount(self) -> str:
        """How much it is, in words; empty where that is not known."""
        if self.seeds is not None:
            return counted(self.seeds, "seed")
        return "" if not self.grams else f"{self.grams:.0f} g" if self.grams >= 100.0 else f"{self.grams:.3g} g"

    def cells(self) -> dict[str, str]:
        """The lot as words, by column; `read_lot` reads them back."""
        amount = f"{self.seeds} seeds" if self.seeds is not None else f"{self.grams:g} g" if self.grams else ""
        days = f" {self.stratified_days:g} days" if self.stratified_days else ""
        return {
            "species": self.species,
            "lot": self.lot,
            "picked": self.picked.isoformat() if self.picked else "",
            "where": self.where,
            "amount": amount,
            "state": self.state + days,
            "viability": "" if self.viability is None else f"{self.viability:g}",
            "way": self.way,
            "place": self.place,
        }


def read_lot(cells: Mapping[str, str], today: date, order: str = "") -> Lot:
    """A lot from words by column.

    Parameters
    ----------
    cells : mapping of str to str
        By the names of `COLUMNS`; only ``species`` is needed, an empty cell says nothing.
    today : datetime.date
    order : str
        Of figures in dates, ``mdy`` or ``dmy``.

    Raises
    ------
    InputError
        With every fault of the row.
    """
    said = {key: value.strip() for key, value in cells.items() if value and value.strip()}
    problems = Problems()
    values: dict[str, Any] = {key: said[key] for key in ("species", "lot", "where", "place") if key in said}
    if "species" not in values:
        problems.add("the species is missing: give a scientific or common name")
    readers = {"picked": lambda text: {"picked": read_day(text, today, order)}, **_READERS}
    for key, reader in readers.items():
        if key in said:
            try:
                values.update(reader(said[key]))
            except InputError as error:
                problems.extend(error)
    problems.raise_if_any()
    return Lot(**values)


def _amount(text: str) -> dict[str, Any]:
    found = re.fullmatch(r"(\d+(?:\.\d+)?)\s*([a-z]*)", text.lower().replace(",", ""))
    unit = (found[2] if len(found[2]) < 3 else found[2].removesuffix("s")) if found else ""
    figure = float(found[1]) if found else 0.0
    if unit in {"", "seed", "nut", "stone"} and 1 <= figure <= MOST_SEEDS and figure.is_integer():
        return {"seeds": int(figure)}
    if unit in GRAMS and figure > 0:
        return {"grams": figure * GRAMS[unit]}
    raise InputError(f"amount {quoted(text)} is not understood: write for example 200 seeds, 35 g or 2 oz")


def _state(text: str) -> dict[str, Any]:
    words = text.lower().replace("stratified for", "stratified").replace("pretreated", TREATED)
    days = re.search(r"(\d+(?:\.\d+)?)\s*(days?|weeks?)", words)
    plain = words[: days.start()].strip() if days else words.strip()
    near = [state for state in STATES if plain and (plain == state or plain in state)]
    exact = [state for state in near if state == plain] or near
    if len(exact) != 1 or (days is not None) != (exact[0] == STRATIFIED):
        listed = ", ".join(f"{state} 40 days" if state == STRATIFIED else state for state in STATES)
        raise InputError(f"state {quoted(text)} is not known: write one of {listed}")
    if days is None:
        return {"state": exact[0]}
    return {"state": exact[0], "stratified_days": float(days[1]) * (7 if days[2].startswith("week") else 1)}


def _viability(text: str) -> dict[str, Any]:
    percent = text.endswith("%")
    try:
        share = float(text.removesuffix("%")) / (100.0 if percent else 1.0)
    except ValueError:
        share = -1.0
    if not 0.0 < share <= 1.0:
        raise InputError(f"viability {quoted(text)} is not a share: write 0.8 or 80%")
    return {"viability": share}


def _way(text: str) -> dict[str, Any]:
    plain = {"fridge": "cold store", "refrigerator": "cold store", "both": "both in parts"}.get(
        text.lower(), text.lower()
    )
    if plain not in WAYS:
        raise InputError(f"way {quoted(text)} is not known: write one of {', '.join(WAYS)}")
    return {"way": plain}


_READERS = {"amount": _amount, "state": _state, "viability": _viability, "way": _way}


@dataclass
class LotsTable:
    """A lots file as it was written, other columns too.

    Attributes
    ----------
    between : str
        Sign between cells.
    header : list of str
        As it stands in the file; empty for a plain list of names.
    rows : list of list of str
        Rows in which something is said.
    """

    between: str
    header: list[str]
    rows: list[list[str]]

    @classmethod
    def of(cls, text: str) -> LotsTable:
        """The table of a text."""
        first = next((line for line in text.splitlines() if line.strip()), "")
        between = next((sign for sign in ";\t" if sign in first and "," not in first), ",")
        rows = [row for row in csv.reader(io.StringIO(text), delimiter=between) if any(cell.strip() for cell in row)]
        named = bool(rows) and "species" in _columns(rows[0])
        return cls(between, rows[0] if named else [], rows[1:] if named else rows)

    @property
    def columns(self) -> list[str]:
        """The header in the words of `COLUMNS`."""
        return _columns(self.header) if self.header else ["species"]

    def cells(self, row: list[str]) -> dict[str, str]:
        """A row by columns."""
        return dict(zip(self.columns, row, strict=False))

    def put(self, row: list[str], cells: Mapping[str, str]) -> None:
        """Change some cells of a row; a column that is missing is added where it has something to say."""
        if not self.header:
            widest = max((len(one) for one in self.rows), default=1)
            self.header = ["species", *(f"note {number}" for number in range(1, widest))]
        for column, value in cells.items():
            if column not in self.columns:
                if not value:
                    continue
                self.header.append(column)
            at = self.columns.index(column)
            row += [""] * (at + 1 - len(row))
            row[at] = value

    def text(self) -> str:
        """The table as a file."""
        written = io.StringIO(newline="")
        writer = csv.writer(written, delimiter=self.between, lineterminator="\n")
        writer.writerows([self.header, *self.rows] if self.header else self.rows)
        return written.getvalue()


def _columns(header: Iterable[str]) -> list[str]:
    plain = [" ".join(cell.lower().replace("_", " ").split()) for cell in header]
    return [SYNONYMS.get(cell, cell) for cell in plain]


def parse_lots(text: str, today: date, order: str = "", what: str = "the list") -> tuple[Lot, ...]:
    """Lots of a table; a plain list of names is dried seed of this year, no way chosen.

    Parameters
    ----------
    text : str
        CSV with a header of `COLUMNS` in any order, other columns left alone; or one name a row without a header.
        Comma, semicolon or tab between cells.
    today : datetime.date
    order : str
        Of figures in dates, ``mdy`` or ``dmy``.
    what : str
        The table, for messages.

    Raises
    ------
    InputError
        With every fault of every row.
    """
    table = LotsTable.of(text)
    if not table.rows:
        raise InputError(f"{what} is empty: write one species a row")
    if len(table.rows) > MOST_ROWS:
        raise InputError(f"{what} has {len(table.rows)} rows, at most {MOST_ROWS} are taken: split it")
    lots, problems = [], Problems()
    for number, row in enumerate(table.rows, start=2 if table.header else 1):
        cells = table.cells(row)
        if not cells.get("species", "").strip():
            continue
        try:
            lots.append(read_lot(cells, today, order))
        except InputError as error:
            for problem in error.problems:
                problems.add(f"{what}, row {number}: {problem}")
    problems.raise_if_any()
    if not lots:
        raise InputError(f"{what} names no species: write one a row")
    return tuple(lots)


def write_lots(lots: Iterable[Lot]) -> str:
    """The table of some lots; `parse_lots` reads it back."""
    table = io.StringIO(newline="")
    writer = csv.DictWriter(table, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(lot.cells() for lot in lots)
    return table.getvalue()


def lots_beside(site_file: Path) -> Path:
    """The lots file that belongs to a site file."""
    return site_file.with_name(LOTS_FILE)
