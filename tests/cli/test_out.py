from __future__ import annotations

import csv
from pathlib import Path

import vobject
from pypdf import PdfReader

from tests.cli.command import chillplan

TODAY = ("--today", "2026-09-01")
SPECIES = ("--species", "Zizia aurea", "--species", "Quercus rubra")


def test_a_folder_is_written_and_the_answer_is_printed_as_ever(tmp_path: Path) -> None:
    out = tmp_path / "plan"
    found = chillplan("plan", *TODAY, *SPECIES, "--out", out, "--paper", "letter", "--labels", "2x5", "--units", "us")
    assert found.code == 0, found.err
    plain = chillplan("plan", *TODAY, *SPECIES, "--units", "us")
    assert found.out == plain.out
    assert found.err.count("written: ") == 5
    assert sorted(path.name for path in out.iterdir()) == sorted(
        ["report.html", "calendar.ics", "labels.pdf", "tasks.csv", "plan.json"]
    )
    assert float(PdfReader(out / "labels.pdf").pages[0].mediabox.width) == 612
    page = (out / "report.html").read_text(encoding="utf-8")
    assert "°F" in page and "golden Alexanders" in page
    events = vobject.readOne((out / "calendar.ics").read_text(encoding="utf-8")).vevent_list
    with (out / "tasks.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) >= len(events) > 0


def test_dates_are_written_in_the_order_asked_for(tmp_path: Path) -> None:
    chillplan("plan", *TODAY, *SPECIES, "--out", tmp_path, "--dates", "iso")
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "as of 2026-09-01" in page


def test_bad_paper_labels_and_dates_are_told_at_once_and_nothing_is_written(tmp_path: Path) -> None:
    out = tmp_path / "plan"
    found = chillplan("plan", *TODAY, *SPECIES, "--out", out, "--paper", "a9", "--dates", "ydm")
    assert found.code == 2 and found.out == ""
    assert "--paper 'a9'" in found.err and "--dates 'ydm'" in found.err
    assert not out.exists()


def test_a_file_in_the_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "plan").write_text("x", encoding="utf-8")
    found = chillplan("plan", *TODAY, *SPECIES, "--out", tmp_path / "plan")
    assert found.code == 2 and found.out == "" and "is a file, not a folder" in found.err


def test_the_demo_writes_too_and_says_everywhere_that_it_is_invented(tmp_path: Path) -> None:
    assert chillplan("demo", *TODAY, "--out", tmp_path).code == 0
    assert "INVENTED" in (tmp_path / "report.html").read_text(encoding="utf-8")
    assert b"invented" in (tmp_path / "calendar.ics").read_bytes()
