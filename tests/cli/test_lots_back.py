"""Lots of the page where the lots file cannot be written: one sentence, and neither journal nor file has them."""

from __future__ import annotations

import csv
import hashlib
import json
import os
from pathlib import Path

import pytest

from tests.cli.command import Answer, chillplan

SITE = 'name = "Hill"\nlatitude = 44.0\nlongitude = -72.0\n[grower]\nlots = "{lots}"\n'
LOT = {"species": "Zizia aurea", "amount": "100 seeds", "state": "cleaned and dried", "way": "undecided"}
BAG = {"id": "a", "at": "2026-11-28T09:00:00.000", "kind": "lot", "lot": LOT}


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CHILLPLAN_JOURNAL", "journal.db")
    (tmp_path / "file").write_text("no folder", encoding="utf-8")
    (tmp_path / "folder").mkdir()
    return tmp_path


def brought(home: Path, lots: str | None, *entries: dict[str, object]) -> Answer:
    """What `batch import` says of a page; `lots` is the lots file that the site file names, if there is one."""
    if lots is not None:
        (home / "site.toml").write_text(SITE.format(lots=lots), encoding="utf-8")
    page = {"kind": "chillplan page", "format": 1, "site": "Hill", "season": 2026, "entries": entries}
    (home / "back.json").write_text(json.dumps(page), encoding="utf-8")
    return chillplan("batch", "import", "back.json", "--today", "2026-11-28")


@pytest.mark.parametrize(
    ("lots", "why"),
    [
        ("gone/lots.csv", "'gone/lots.csv' cannot be written: No such file or directory; check its folder"),
        ("file/lots.csv", "'file/lots.csv' cannot be written: Not a directory; check its folder"),
        ("folder", "'folder' cannot be read (Is a directory): save it as CSV, UTF-8"),
    ],
)
def test_a_lots_file_that_cannot_be_written_leaves_the_lot_in_the_page_file(home: Path, lots: str, why: str) -> None:
    found = brought(home, lots, BAG)
    assert (found.code, found.out) == (2, "journal.db: 0 entries taken, 0 known\n")
    refusal = f"chillplan: not taken, it stays in the file: 2026-11-28 lot Zizia aurea: {why}\n"
    assert found.err == f"chillplan: new journal journal.db\n{refusal}"
    assert not list(home.rglob("*.staged"))
    told = brought(home, "lots.csv", BAG).out
    assert told.startswith("journal.db: 1 entry taken, 0 known\n  lots.csv: 1 lot entered or changed\nWrite the page")
    assert "100 seeds" in (home / "lots.csv").read_text(encoding="utf-8")


def test_a_lot_where_no_site_is_stands_in_the_journal_only(home: Path) -> None:
    gone = {"id": "b", "at": "2026-11-28T10:00:00.000", "kind": "lot", "lot": {**LOT, "amount": "9 seeds"}}
    assert brought(home, None, BAG, gone).out.splitlines() == [
        "journal.db: 2 entries taken, 0 known",
        "  2 lots: no site.toml here, so they stand in the journal and the page only",
        "Write the page anew with `chillplan page`, and put it on the phone.",
    ]
    assert brought(home, None, BAG, gone).out == "journal.db: 0 entries taken, 2 known\n"


def test_cells_of_a_lot_that_are_no_text_are_left_out(home: Path) -> None:
    odd = {**BAG, "lot": {**LOT, "picked": 20261101, "lot": None, "place": ["shed"]}}
    assert "1 entry taken" in brought(home, "lots.csv", odd).out
    (cells,) = csv.DictReader((home / "lots.csv").read_text(encoding="utf-8").splitlines())
    assert {name: text for name, text in cells.items() if text} == LOT


def test_a_lot_that_is_taken_back_and_not_there_is_told(home: Path) -> None:
    """Its entry is undone on the page after somebody took the row out of the file by hand."""
    assert brought(home, "lots.csv", BAG).code == 0
    (home / "lots.csv").write_text("species\nwild bergamot\n", encoding="utf-8")
    undo = {"id": "u", "at": "2026-11-28T10:00:00.000", "kind": "undo", "of": "a"}
    assert brought(home, "lots.csv", BAG, undo).out.splitlines() == [
        "journal.db: 1 entry taken, 1 known",
        "  lots.csv: the lot that was taken back is not there any more",
        "Write the page anew with `chillplan page`, and put it on the phone.",
    ]
    assert (home / "lots.csv").read_text(encoding="utf-8") == "species\nwild bergamot\n"


def test_of_what_a_crash_left_the_newer_file_stands(home: Path) -> None:
    """A staged file whose entry is in the journal takes its place, unless the lots file was changed since."""
    assert brought(home, "lots.csv", BAG).code == 0
    lots, staged = home / "lots.csv", home / f".lots.csv.{hashlib.sha256(b'a').hexdigest()[:16]}.staged"
    for age, kept in ((-10, "by hand"), (10, "staged")):
        lots.write_text("species,where\nwild bergamot,by hand\n", encoding="utf-8")
        staged.write_text("species,where\nwild bergamot,staged\n", encoding="utf-8")
        now = lots.stat().st_mtime
        os.utime(staged, (now + age, now + age))
        assert brought(home, "lots.csv", BAG).code == 0
        assert kept in lots.read_text(encoding="utf-8") and not staged.exists()
    lost = home / f".lots.csv.{hashlib.sha256(b'never entered').hexdigest()[:16]}.staged"
    lost.write_text("species\nredbud\n", encoding="utf-8")
    assert brought(home, "lots.csv", BAG).code == 0
    assert not lost.exists() and "redbud" not in lots.read_text(encoding="utf-8")
