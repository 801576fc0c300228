"""Labels: read back by pypdf, their codes by ZXing, neither of which had a part in writing them."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from reportlab.pdfbase import pdfmetrics

from chillplan.advice.result import Plan
from chillplan.errors import InputError
from chillplan.lot import Lot
from chillplan.report.label_sheet import PADDING, Sheet, _draw_code, fitted, labels_pdf, sheet_for
from chillplan.report.labels import (
    BLANK,
    BOLD,
    Label,
    batch_identifier,
    labels_of,
    missing_signs,
    printable,
    register_fonts,
    visual,
)
from chillplan.report.reader import Reader

A4, LETTER = (595.28, 841.89), (612.0, 792.0)  # ISO 216 (210 x 297 mm) and ANSI Y14.1 (8.5 x 11 in) [pt]
CHECKS = tuple(f"{day} Feb" for day in range(1, 25))


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize(("paper", "size"), [("a4", A4), ("letter", LETTER)])
def test_the_sheet_has_the_size_of_the_paper(plan: Plan, paper: str, size: tuple[float, float]) -> None:
    pdf = PdfReader(io.BytesIO(labels_pdf(labels_of(plan, Reader()), sheet_for(paper, "2x4"))))
    box = pdf.pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.01)


def test_text_can_be_extracted(plan: Plan) -> None:
    labels = labels_of(plan, Reader())
    shown = text_of(labels_pdf(labels, Sheet()))
    for label in labels:
        assert label.name in shown and label.latin in shown and label.identifier in shown
        for day in label.checks:
            assert day in shown


def test_fonts_are_embedded(plan: Plan) -> None:
    page = PdfReader(io.BytesIO(labels_pdf(labels_of(plan, Reader()), Sheet()))).pages[0]
    for font in page["/Resources"]["/Font"].values():
        resolved = font.get_object()
        if resolved["/BaseFont"] != "/Helvetica":
            assert "/FontFile2" in resolved["/FontDescriptor"].get_object()


def test_the_code_reads_back_as_the_batch_identifier() -> None:
    import numpy as np
    import segno
    import zxingcpp

    identifier = batch_identifier(2026, "Zizia aurea", "fridge")
    rows = np.array([list(row) for row in segno.make_qr(identifier, error="m").matrix_iter(border=4)], dtype=np.uint8)
    assert zxingcpp.read_barcode((1 - rows.repeat(4, 0).repeat(4, 1)) * 255).text == identifier


def test_the_code_on_the_sheet_is_the_code_of_the_identifier() -> None:
    """The squares drawn, put back into a picture, are read as the identifier."""
    import numpy as np
    import zxingcpp

    class Paper:
        def __init__(self) -> None:
            self.squares: list[tuple[float, float, float, float]] = []

        def setFillGray(self, _: float) -> None: ...
        def beginPath(self) -> Paper:
            return self

        def rect(self, *square: float) -> None:
            self.squares.append(square)  # type: ignore[arg-type]

        def drawPath(self, *_: object, **__: object) -> None: ...

    paper = Paper()
    _draw_code(paper, "2026-quaesita-media-fridge", 40.0, 40.0, 100.0)  # type: ignore[arg-type]
    scale = 6
    picture = np.full((180 * scale, 180 * scale), 255, dtype=np.uint8)
    for left, bottom, width, height in paper.squares:
        top, low = round((180 - bottom - height) * scale), round((180 - bottom) * scale)
        picture[top:low, round(left * scale) : round((left + width) * scale)] = 0
    assert zxingcpp.read_barcode(picture).text == "2026-quaesita-media-fridge"


def overlaps(label: Label, width: float, height: float) -> list[tuple[str, str]]:
    register_fonts()
    laid = fitted(label, width, height)
    boxes = [
        (x, y - size * 0.75, x + pdfmetrics.stringWidth(text, font, size), y + size * 0.2, text)
        for x, y, font, size, text in laid.words
    ]
    boxes += [(x, y, x + side, y + side, "box") for x, y, side in laid.boxes]
    x, y, side = laid.code
    boxes.append((x, y, x + side, y + side, "code"))
    assert all(right <= width - PADDING + 0.5 and low <= height for _, _, right, low, _ in boxes)
    return [
        (one[4], two[4])
        for n, one in enumerate(boxes)
        for two in boxes[n + 1 :]
        if one[0] < two[2] - 0.1 and two[0] < one[2] - 0.1 and one[1] < two[3] - 0.1 and two[1] < one[3] - 0.1
    ]


@settings(max_examples=60, deadline=None)
@given(
    st.text(st.characters(blacklist_categories=("Cs", "Cc")), min_size=1, max_size=120),
    st.lists(st.text("abcdef ghij,", min_size=1, max_size=160), max_size=9),
    st.sampled_from([Sheet("a4", 2, 4), Sheet("letter", 3, 5), Sheet("a4", 1, 3), Sheet("letter", 2, 2)]),
)
def test_nothing_overlaps_or_leaves_its_label(name: str, lines: list[str], sheet: Sheet) -> None:
    label = Label("BAG", name, name[::-1], tuple(lines), CHECKS, "2026-x-fridge")
    assert overlaps(label, *sheet.size) == []


def test_labels_of_a_plan_fit_without_leaving_anything_out(plan: Plan) -> None:
    for label in labels_of(plan, Reader()):
        assert overlaps(label, *Sheet().size) == []
        assert not any("the rest is" in word[4] for word in fitted(label, *Sheet().size).words)


def test_names_in_other_writings_are_drawn(nasty_plan: Plan) -> None:
    shown = text_of(labels_pdf(labels_of(nasty_plan, Reader()), Sheet()))
    assert "בר" in shown or "רב" in shown
    assert "alert(1)" in shown


def test_arabic_letters_are_joined_and_stand_from_right_to_left() -> None:
    """Forms by place in the word: The Unicode Standard, Arabic Presentation Forms-B (FE70 to FEFF)."""
    shown = visual(printable("جبل", BOLD))  # jabal, mountain: initial jeem, medial beh, final lam
    assert shown == "\ufede\ufe92\ufe9f"
    assert visual(printable("wild cherry, كرز", BOLD)).startswith("wild cherry, \ufeaf")


def test_brackets_are_turned_where_they_are_read_from_the_right() -> None:
    """Mirrored characters: Unicode Standard Annex 9, rule L4."""
    assert visual("אב (גד)") == "(דג) בא"


def test_a_sign_that_the_font_lacks_is_named_and_a_letter_is_a_question_mark() -> None:
    assert printable("oak 🌱\U0001f3fd 木", BOLD) == "oak [seedling] ?"
    assert missing_signs([Label("BAG", "🌱 木", "木 Ñandú", ("🌱",), (), "2026-x")]) == "🌱木"
    assert missing_signs([Label("BAG", "Ñandú", "ورد", ("1 to 5 °C",), (), "2026-x")]) == ""


def test_what_the_grower_said_of_the_seed_is_printed_and_the_rest_left_to_write(plan: Plan) -> None:
    first = plan.species[0]
    lots = (
        Lot(first.species.name, lot="creek", seeds=40),
        Lot(first.species.name, where="upper wood", picked=date(2026, 8, 2), grams=56.699),
        Lot(first.species.name),
    )
    said = []
    for lot in lots:
        label = labels_of(replace(plan, species=(replace(first, lot=lot),)), Reader())[0]
        said.append(next(line for line in label.lines if line.startswith("Lot:")).replace("\u00a0", " "))
    assert said[0] == "Lot: creek    Seed: 40 seeds"
    assert said[1] == "Lot: upper wood, 2 Aug 2026    Seed: 56.7 g"
    assert said[2] == f"Lot: {BLANK}    Seed: {BLANK}"


def test_a_coat_treatment_before_a_sowing_has_no_date_of_its_own(plan: Plan) -> None:
    beds = [label for label in labels_of(plan, Reader()) if label.kind == "BED" and "locked" in label.name]
    assert beds and beds[0].lines[0].startswith("Just before sowing: soak, 12 to 24")


def test_the_stand_in_is_on_the_sheet(nasty_plan: Plan) -> None:
    shown = text_of(labels_pdf(labels_of(nasty_plan, Reader()), Sheet()))
    assert "[seedling]" in shown and "[deciduous tree]" in " ".join(shown.split())


@pytest.mark.parametrize(
    ("species", "identifier"),
    [
        ("Zizia aurea", "2026-zizia-aurea-bed"),
        ("Tilia × europaea 'Pallida'", "2026-tilia-europaea-pallida-bed"),
        ("תפוח בר", "2026-תפוח-בר-bed"),
        ("🌱", "2026-species-bed"),
    ],
)
def test_the_identifier_is_plain_text(species: str, identifier: str) -> None:
    assert batch_identifier(2026, species, "bed") == identifier


def test_no_label_is_said_on_the_sheet() -> None:
    assert "nothing to label" in text_of(labels_pdf([], Sheet()))


@pytest.mark.parametrize(
    ("paper", "grid", "message"),
    [
        ("a5", "2x4", "--paper 'a5' is not known: use a4 or letter"),
        ("a4", "two", "--labels 'two' is not a grid: write columns x rows"),
        ("a4", "5x2", "--labels 5x2 leaves .* at least 45 x 35 mm are needed"),
        ("a4", "2x9", "--labels 2x9 leaves .* at least 45 x 35 mm are needed"),
        ("a4", "6x20", "--labels 6x20 leaves .* at least 45 x 35 mm are needed"),
    ],
)
def test_bad_sheets_are_told(paper: str, grid: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        sheet_for(paper, grid)
