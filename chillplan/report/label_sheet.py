"""``labels.pdf``: sheets of labels, text fitted into each, a code that holds the batch identifier."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

import segno
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from chillplan.errors import InputError, Problems, quoted
from chillplan.report.labels import BOLD, REGULAR, Label, printable, register_fonts, visual

__all__ = ["PAPERS", "Sheet", "labels_pdf", "sheet_for"]

MM = 72.0 / 25.4
PAPERS = {"a4": A4, "letter": LETTER}
MARGIN, GUTTER, PADDING = 10.0 * MM, 3.0 * MM, 3.0 * MM
SCALES = (
    1.3,
    1.2,
    1.1,
    1.0,
    0.92,
    0.85,
    0.78,
    0.72,
    0.66,
    0.6,
    0.54,
    0.48,
)  # of the text, tried in this order until all fits
SMALLEST = (45.0 * MM, 35.0 * MM)  # a label below this cannot be read
CODE = 20.0 * MM


@dataclass(frozen=True)
class Sheet:
    """A sheet of labels.

    Attributes
    ----------
    paper : str
        ``a4`` or ``letter``.
    """

    paper: str = "a4"
    columns: int = 2
    rows: int = 4

    @property
    def page(self) -> tuple[float, float]:
        """Width and height. [pt]"""
        width, height = PAPERS[self.paper]
        return float(width), float(height)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of one label. [pt]"""
        width, height = self.page
        return (
            (width - 2 * MARGIN - (self.columns - 1) * GUTTER) / self.columns,
            (height - 2 * MARGIN - (self.rows - 1) * GUTTER) / self.rows,
        )


def sheet_for(paper: str, grid: str) -> Sheet:
    """A sheet by the words of the command line.

    Parameters
    ----------
    paper : str
        ``a4`` or ``letter``.
    grid : str
        Columns x rows, for example ``2x4``.

    Raises
    ------
    InputError
        If one or both are not known, or the labels would be too small to read.
    """
    problems = Problems()
    if paper.lower() not in PAPERS:
        problems.add(f"--paper {quoted(paper)} is not known: use a4 or letter")
    found = re.fullmatch(r"([1-9])\s*[x×]\s*([1-9]\d?)", grid.strip().lower())
    if not found:
        problems.add(f"--labels {quoted(grid)} is not a grid: write columns x rows, for example --labels 2x4")
    problems.raise_if_any()
    assert found is not None
    sheet = Sheet(paper.lower(), int(found[1]), int(found[2]))
    width, height = sheet.size
    if width < SMALLEST[0] or height < SMALLEST[1]:
        raise InputError(
            f"--labels {grid.strip()} leaves {width / MM:.0f} x {height / MM:.0f} mm a label, at least "
            f"{SMALLEST[0] / MM:.0f} x {SMALLEST[1] / MM:.0f} mm are needed: use fewer columns or rows"
        )
    return sheet


@dataclass
class Fitted:
    """A label laid out: words, boxes and the code, measured from its upper left corner.

    Attributes
    ----------
    words : list of (x, y, font, size, text)
    boxes : list of (x, y, side)
    code : tuple of float
        x, y and side.
    height : float
        What is taken up, padding included. [pt]
    """

    words: list[tuple[float, float, str, float, str]] = field(default_factory=list)
    boxes: list[tuple[float, float, float]] = field(default_factory=list)
    code: tuple[float, float, float] = (0.0, 0.0, 0.0)
    height: float = 0.0


def labels_pdf(labels: Sequence[Label], sheet: Sheet) -> bytes:
    """The sheets as they are written to disk; one page that says so where there is no label."""
    register_fonts()
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=sheet.page, invariant=True)
    canvas.setTitle("Bag and bed labels")
    canvas.setAuthor("chillplan")
    if not labels:
        canvas.setFont(REGULAR, 11)
        canvas.drawString(
            MARGIN, sheet.page[1] - MARGIN - 11, "No species has a way here, so there is nothing to label."
        )
        canvas.showPage()
    width, height = sheet.size
    for number, label in enumerate(labels):
        place = number % (sheet.columns * sheet.rows)
        if number and place == 0:
            canvas.showPage()
        left = MARGIN + (place % sheet.columns) * (width + GUTTER)
        top = sheet.page[1] - MARGIN - (place // sheet.columns) * (height + GUTTER)
        _draw(canvas, label, left, top, width, height)
    if labels:
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def fitted(label: Label, width: float, height: float) -> Fitted:
    """Lay a label out at the largest text that fits; where none does, what does not fit is left to the report."""
    for scale in SCALES:
        laid = _lay(label, width, scale)
        if laid.height <= height:
            return laid
    laid = _lay(label, width, SCALES[-1])
    limit = height - PADDING
    size = 8.0 * SCALES[-1]
    laid.words = [word for word in laid.words if word[1] <= limit - size * 1.3]
    laid.boxes = [box for box in laid.boxes if box[1] + box[2] <= limit - size * 1.3]
    laid.words.append((PADDING, limit, REGULAR, size, "… the rest is in the report"))
    laid.height = height
    return laid


def _lay(label: Label, width: float, scale: float) -> Fitted:
    laid = Fitted()
    code = min(CODE, width * 0.3) * max(scale, 0.7)
    laid.code = (width - PADDING - code, PADDING, code)
    beside = width - 2 * PADDING - code - 2 * MM
    y = PADDING
    for text, font, size, gap in (
        (label.kind, BOLD, 8.0, 1.15),
        (label.name, BOLD, 14.0, 1.15),
        (label.latin, REGULAR, 9.5, 1.25),
    ):
        for line in _wrapped(printable(text, font), font, size * scale, beside):
            y += size * scale * gap
            laid.words.append((PADDING, y - size * scale * (gap - 1.0), font, size * scale, line))
    size = 8.5 * scale
    y += size * 0.4
    below = PADDING + code + size
    for text in (*label.lines, label.identifier):
        free = beside if y + size * 1.28 < below else width - 2 * PADDING
        for line in _wrapped(printable(text, REGULAR), REGULAR, size, free):
            y += size * 1.28
            laid.words.append((PADDING, y, REGULAR, size, line))
    y = max(y, PADDING + code)
    if label.checks:
        y = _lay_checks(laid, label.checks, y + size * 0.7, width, size)
    laid.height = y + PADDING
    return laid


def _lay_checks(laid: Fitted, checks: Sequence[str], y: float, width: float, size: float) -> float:
    """Boxes to tick, each with its date, in as many columns as fit."""
    y += size
    laid.words.append((PADDING, y, BOLD, size, "Look, and tick:"))
    side = size * 1.05
    cell = max(pdfmetrics.stringWidth(day, REGULAR, size) for day in checks) + side + size * 1.3
    columns = max(1, int((width - 2 * PADDING) // cell))
    for number, day in enumerate(checks):
        if number % columns == 0:
            y += size * 1.5
        x = PADDING + (number % columns) * cell
        laid.boxes.append((x, y - side * 0.85, side))
        laid.words.append((x + side + size * 0.35, y, REGULAR, size, day))
    return y


def _wrapped(text: str, font: str, size: float, width: float) -> list[str]:
    """Lines no wider than a width; a word that is wider by itself is cut."""
    lines: list[str] = []
    line = ""
    for word in re.split(r"(?<=[ ,])", text):
        for piece in _pieces(word, font, size, width):
            if line and pdfmetrics.stringWidth((line + piece).rstrip(), font, size) > width:
                lines.append(line.rstrip())
                line = ""
            line += piece
    return [*lines, line.rstrip()] if line.strip() else lines


def _pieces(word: str, font: str, size: float, width: float) -> list[str]:
    if pdfmetrics.stringWidth(word.rstrip(), font, size) <= width:
        return [word]
    pieces, piece = [], ""
    for letter in word:
        if piece and pdfmetrics.stringWidth(piece + letter, font, size) > width:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


def _draw(canvas: Canvas, label: Label, left: float, top: float, width: float, height: float) -> None:
    laid = fitted(label, width, height)
    canvas.setStrokeGray(0.6)
    canvas.setLineWidth(0.5)
    canvas.setDash(*(([3, 2], 0) if label.kind == "BED" else ([], 0)))
    canvas.roundRect(left, top - height, width, height, 2 * MM)
    canvas.setDash([], 0)
    canvas.setStrokeGray(0.0)
    for x, y, font, size, text in laid.words:
        canvas.setFont(font, size)
        canvas.drawString(left + x, top - y, visual(text))
    canvas.setLineWidth(0.7)
    for x, y, side in laid.boxes:
        canvas.rect(left + x, top - y - side, side, side)
    x, y, side = laid.code
    _draw_code(canvas, label.identifier, left + x, top - y - side, side)


def _draw_code(canvas: Canvas, identifier: str, left: float, bottom: float, side: float) -> None:
    """The identifier as a QR code (ISO/IEC 18004) of black squares on the white of the paper."""
    code = segno.make_qr(identifier, error="m")
    rows = list(code.matrix_iter(border=0))
    module = side / len(rows)
    canvas.setFillGray(0.0)
    path = canvas.beginPath()
    for row, line in enumerate(rows):
        start = None
        for column, dark in enumerate([*line, 0]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                path.rect(left + start * module, bottom + side - (row + 1) * module, (column - start) * module, module)
                start = None
    canvas.drawPath(path, stroke=0, fill=1)
