"""Where labels lie on their sheets and words on their labels, read back from the file with pypdf; sizes in points."""

from __future__ import annotations

import io
from itertools import pairwise

import pytest
from pypdf import PdfReader
from reportlab.pdfbase import pdfmetrics

from chillplan.errors import InputError
from chillplan.report.label_sheet import SCALES, Sheet, _wrapped, fitted, labels_pdf, sheet_for
from chillplan.report.labels import BOLD, REGULAR, Label, register_fonts

MM = 72.0 / 25.4
CHECKS = tuple(f"{day} Feb" for day in range(1, 15))


def label(number: int, kind: str = "BAG", checks: tuple[str, ...] = ()) -> Label:
    return Label(
        kind, f"seed {number}", f"Latin {number}", (f"first {number}", f"second {number}"), checks, f"id-{number}"
    )


def words_of(content: bytes) -> list[dict[str, tuple[float, float]]]:
    """Page by page, where each text begins, from the lower left corner."""
    pages = []
    for page in PdfReader(io.BytesIO(content)).pages:
        found: dict[str, tuple[float, float]] = {}

        def keep(text: str, _: object, matrix: list[float], *__: object, found: dict = found) -> None:
            if text.strip():
                found[text.strip()] = (matrix[4], matrix[5])

        page.extract_text(visitor_text=keep)
        pages.append(found)
    return pages


@pytest.mark.parametrize(
    ("paper", "columns", "rows", "width", "height"), [("a4", 2, 4, 210.0, 297.0), ("letter", 3, 2, 215.9, 279.4)]
)
def test_labels_lie_in_columns_and_rows_of_the_paper(
    paper: str, columns: int, rows: int, width: float, height: float
) -> None:
    """Ten millimetres of edge, three between labels: else the sheet is cut through words. A full sheet is followed."""
    sheet = sheet_for(paper, f"{columns}x{rows}")
    wide, high = ((width - 20 - 3 * (columns - 1)) / columns, (height - 20 - 3 * (rows - 1)) / rows)
    assert sheet.size == pytest.approx((wide * MM, high * MM), abs=0.2)
    count = columns * rows
    pages = words_of(labels_pdf([label(number) for number in range(count + 1)], sheet))
    assert len(pages) == 2
    for number in range(count + 1):
        x, y = pages[number // count][f"seed {number}"]
        place = number % count
        left, top = 10 + (place % columns) * (wide + 3), height - 10 - (place // columns) * (high + 3)
        assert x / MM == pytest.approx(left + 3, abs=0.1)
        assert top - high < y / MM < top - 3
        assert top - y / MM == pytest.approx(height - 10 - pages[0]["seed 0"][1] / MM, abs=0.1), (
            "as high as on the first"
        )
    assert len(words_of(labels_pdf([label(number) for number in range(count)], sheet))) == 1


def test_a_label_reads_from_its_kind_down_to_its_batch_with_the_name_the_largest() -> None:
    laid = fitted(label(1), *Sheet().size)
    texts = [text for _, _, _, _, text in laid.words]
    assert texts == ["BAG", "seed 1", "Latin 1", "first 1", "second 1", "id-1"]
    heights = [y for _, y, _, _, _ in laid.words]
    assert heights == sorted(heights)
    for (_, upper, _, _, _), (_, lower, _, size, _) in pairwise(laid.words):
        assert 0.95 * size <= lower - upper <= 2.3 * size, "lines neither touch nor fall apart"
    sizes = {text: size for _, _, _, size, text in laid.words}
    assert max(sizes, key=lambda text: sizes[text]) == "seed 1" and sizes["seed 1"] > 1.4 * sizes["first 1"]
    assert [font for _, _, font, _, _ in laid.words] == [BOLD, BOLD, *[REGULAR] * 4]
    assert sizes["first 1"] == 8.5 * SCALES[0], "the largest text where all fits"
    x, y, side = laid.code
    width, height = Sheet().size
    assert x + side == pytest.approx(width - 3 * MM) and y == pytest.approx(3 * MM), "in the upper right corner"
    assert 15 * MM < side <= 26 * MM and laid.height <= height
    assert all(x == pytest.approx(3 * MM) for x, _, _, _, _ in laid.words)


def test_each_date_to_tick_has_its_box_beside_it() -> None:
    laid = fitted(label(1, checks=CHECKS), *Sheet().size)
    dates = {text: (x, y, size) for x, y, _, size, text in laid.words if text in CHECKS}
    assert list(dates) == list(CHECKS) and len(laid.boxes) == len(CHECKS)
    for (left, top, side), (x, y, size) in zip(laid.boxes, dates.values(), strict=True):
        assert 0.9 * size < side < 1.2 * size
        assert left + side < x < left + 2.0 * side, "the box stands before its date"
        assert top < y - 0.3 * size and y <= top + side + 0.3 * size, "and at its height"
    (title,) = [(x, y) for x, y, _, _, text in laid.words if text == "Look, and tick:"]
    rows = sorted({y for _, y, _ in dates.values()})
    columns = sorted({x for x, _, _ in dates.values()})
    assert title[1] < rows[0] and len(rows) == -(-len(CHECKS) // len(columns)) > 1 and len(columns) > 3
    assert [dates[day][1] for day in CHECKS] == sorted(dates[day][1] for day in CHECKS), "row by row"
    assert all(lower - upper >= 1.2 * laid.boxes[0][2] for upper, lower in pairwise(rows))
    edge = Sheet().size[0] - 3 * MM
    longest = max(x + pdfmetrics.stringWidth(day, REGULAR, size) for day, (x, _, size) in dates.items())
    assert longest <= edge < longest + (columns[1] - columns[0]), "as many columns as fit"


def test_text_shrinks_in_steps_until_it_fits_and_what_never_fits_is_left_to_the_report() -> None:
    used = set()
    for count in range(0, 60, 3):
        full = Label("BED", "seed", "Latin", tuple(f"line {number}" for number in range(count)), CHECKS, "id")
        laid = fitted(full, *Sheet().size)
        height = Sheet().size[1]
        texts = [text for _, _, _, _, text in laid.words]
        assert max(y for _, y, _, _, _ in laid.words) <= height - 3 * MM + 0.01
        if "… the rest is in the report" in texts:
            smallest = [size for _, _, _, size, text in laid.words if text.startswith("line")]
            assert set(smallest) == {8.5 * SCALES[-1]} and laid.words[-1][3] == 8.0 * SCALES[-1]
            assert laid.words[-1][1] == pytest.approx(height - 3 * MM) and "line 0" in texts and laid.height == height
            assert all(y + side <= height - 3 * MM for _, y, side in laid.boxes)
            below = [y for _, y, _, _, text in laid.words if text != texts[-1]]
            assert laid.words[-1][1] - max(below) >= 8.0 * SCALES[-1] * 1.29, "clear of the line above"
        else:
            assert all(f"line {number}" in texts for number in range(count)) and len(laid.boxes) == len(CHECKS)
            used.add(next(size for _, _, _, size, text in laid.words if text == "id"))
    assert len(used) > 4


def test_words_wrap_at_spaces_and_commas_and_a_longer_word_is_cut() -> None:
    register_fonts()
    wide = pdfmetrics.stringWidth("abcdefgh", REGULAR, 10.0)
    assert _wrapped("abc def ghi jkl", REGULAR, 10.0, wide) == ["abc def", "ghi jkl"]
    assert _wrapped("abc,def,ghijkl", REGULAR, 10.0, wide) == ["abc,def,", "ghijkl"]
    assert "".join(_wrapped("a" * 40, REGULAR, 10.0, wide)) == "a" * 40
    assert all(pdfmetrics.stringWidth(line, REGULAR, 10.0) <= wide for line in _wrapped("a" * 40, REGULAR, 10.0, wide))
    full = _wrapped("a" * 40, REGULAR, 10.0, wide)[:-1]
    assert full and all(pdfmetrics.stringWidth(f"{line}a", REGULAR, 10.0) > wide for line in full), "no line is wasted"
    assert _wrapped("", REGULAR, 10.0, wide) == [] == _wrapped("  ", REGULAR, 10.0, wide)


def test_a_bed_has_a_dashed_edge_and_a_bag_a_whole_one_and_every_box_is_drawn() -> None:
    """The two are told apart at a glance; read from the drawing operators of the page."""
    drawn = {}
    for kind in ("BED", "BAG"):
        page = PdfReader(io.BytesIO(labels_pdf([label(1, kind, CHECKS)], Sheet()))).pages[0]
        drawn[kind] = page.get_contents().get_data().decode("latin-1")
    edges = {kind: text.partition(f"({kind})")[0] for kind, text in drawn.items()}
    assert "[3 2] 0 d" in edges["BED"] and "[3 2]" not in edges["BAG"] and "[] 0 d" in edges["BAG"]
    for text in drawn.values():
        assert text.count("re S\n") == len(CHECKS), "a square that is drawn and not filled, for each date"
    reader = PdfReader(io.BytesIO(labels_pdf([label(1)], Sheet())))
    assert (reader.metadata.title, reader.metadata.author) == ("Bag and bed labels", "chillplan")


def test_a_sheet_without_labels_says_so_near_its_upper_edge() -> None:
    (page,) = words_of(labels_pdf([], Sheet("letter")))
    ((x, y),) = page.values()
    assert list(page) == ["No species has a way here, so there is nothing to label."]
    assert (x, y) == pytest.approx((10 * MM, 279.4 * MM - 10 * MM - 11))


def test_the_smallest_labels_that_can_be_read_are_taken() -> None:
    assert sheet_for("A4", " 4 x 6 ").columns == 4 and sheet_for("a4", "4×6").rows == 6
    assert sheet_for("a4", "1x1").size == pytest.approx((190 * MM, 277 * MM), abs=0.2)
    with pytest.raises(InputError) as refused:
        sheet_for("a4", "5x4")
    assert str(refused.value) == (
        "--labels 5x4 leaves 36 x 67 mm a label, at least 45 x 35 mm are needed: use fewer columns or rows"
    )
    with pytest.raises(InputError, match="write columns x rows, for example --labels 2x4"):
        sheet_for("a4", "0x4")


def test_every_fault_of_a_sheet_is_told_at_once() -> None:
    with pytest.raises(InputError) as told:
        sheet_for("a3", "two by four")
    assert [problem.split(" ")[0] for problem in told.value.problems] == ["--paper", "--labels"]
