"""Page, phone, file, journal, page: one round through the command line and a browser."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.command import chillplan
from tests.web.hand import PHONE, hand, needs_browser

pytestmark = needs_browser
SPECIES = ("--species", "Zizia aurea", "--species", "Monarda fistulosa")


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CHILLPLAN_JOURNAL", str(tmp_path / "journal.db"))
    return tmp_path


def sent(opened: object) -> str:
    return str(
        opened.js(  # type: ignore[attr-defined]
            "const facts = JSON.parse(document.getElementById('facts').textContent);"
            "return chillplan.fileOf(facts, arguments[0])",
            opened.entries(),  # type: ignore[attr-defined]
        )
    )


def test_a_lot_goes_into_the_box_on_the_phone_and_is_a_batch_on_the_laptop(home: Path) -> None:
    day = ("--today", "2026-11-28")
    found = chillplan("page", *SPECIES, *day, "--out", "hill.html")
    assert found.code == 0, found.err
    assert "written: hill.html" in found.err
    with hand(home / "hill.html", PHONE, "2026-11-28") as opened:
        opened.tap("My seed")
        opened.tap("Add seed")
        opened.tap("wild bergamot", ".form")
        opened.tap("100", ".form")
        opened.tap("Into the box today")
        opened.wait("document.querySelector('.told').textContent === 'Kept.'")
        opened.tap("The box")
        opened.tap("All fine: keep")
        opened.wait("document.querySelector('.look small:last-of-type')?.textContent.includes('last look')")
        (home / "back.json").write_text(sent(opened), encoding="utf-8")
        assert opened.faults() == []
    found = chillplan("batch", "import", "back.json", *day)
    assert found.code == 0, found.err
    assert "3 entries taken, 0 known" in found.out
    found = chillplan("batch", "import", "back.json", *day)
    assert found.code == 0 and "0 entries taken, 3 known" in found.out
    listed = chillplan("batch", "list", *day).out
    assert "B1" in listed and "Monarda fistulosa" in listed and "B2" not in listed
    assert chillplan("page", *SPECIES, *day, "--out", "hill.html").code == 0
    with hand(home / "hill.html", PHONE, "2026-11-28") as opened:
        opened.tap("The box")
        assert opened.js("return document.querySelectorAll('.look > li').length") == 1
        opened.tap("More")
        assert "There is nothing to bring back yet" in opened.text("#back")


def test_the_parts_that_the_page_shows_as_codes_are_read_back(home: Path) -> None:
    import zxingcpp
    from PIL import Image

    chillplan("page", *SPECIES, "--today", "2026-11-28", "--out", "hill.html")
    with hand(home / "hill.html", PHONE, "2026-11-28") as opened:
        opened.tap("More")
        for _ in range(12):
            opened.tap("Sun", "#days")
        opened.wait("document.querySelector('#back b').textContent.startsWith('12 entries to bring back')")
        opened.tap("Show as QR codes")
        opened.js("document.getAnimations().forEach((one) => one.finish())")
        opened.js("document.querySelector('.qr').scrollIntoView({ block: 'center', behavior: 'instant' })")
        parts = []
        while True:
            picture = home / "code.png"
            opened.driver.find_element("css selector", ".qr svg").screenshot(str(picture))
            (read,) = zxingcpp.read_barcodes(Image.open(picture))
            parts.append(read.text)
            if opened.js("return [...document.querySelectorAll('.qr button')].at(-1).disabled"):
                break
            opened.tap("Next part")
        count = len(opened.entries())
    assert len(parts) > 1
    (home / "codes.txt").write_text("\n".join(reversed(parts)), encoding="utf-8")
    found = chillplan("batch", "import", "codes.txt", "--today", "2026-11-28")
    assert found.code == 0, found.err
    assert f"{count} entries taken" in found.out


def test_conflicts_are_told_on_standard_error_with_code_2(home: Path) -> None:
    look = {
        "id": "a",
        "at": "2026-11-28T09:00:00",
        "kind": "look",
        "batch": "B9",
        "finding": "fine",
        "date": "2026-11-28",
    }
    page = {"kind": "chillplan page", "format": 1, "site": "x", "season": 2026, "entries": [look]}
    (home / "back.json").write_text(json.dumps(page), encoding="utf-8")
    found = chillplan("batch", "import", "back.json", "--today", "2026-11-28")
    assert found.code == 2
    assert "not taken, it stays in the file: 2026-11-28 look B9: batch 'B9' is not in the journal" in found.err


def test_a_file_that_is_not_there_is_named(home: Path) -> None:
    found = chillplan("batch", "import", "bakc.json")
    assert found.code == 2 and "'bakc.json' is not there" in found.err


def test_lots_go_into_the_lots_file_beside_the_site_file(home: Path) -> None:
    (home / "site.toml").write_text('name = "Hill"\nlatitude = 44.0\nlongitude = -72.0\n', encoding="utf-8")
    (home / "lots.csv").write_text("species,amount,way\ngolden Alexanders,50 seeds,outdoors\n", encoding="utf-8")
    was = {"species": "Zizia aurea", "amount": "50 seeds", "way": "outdoors", "state": "cleaned and dried"}
    entries = [
        {
            "id": "a",
            "at": "2026-11-28T09:00:00",
            "kind": "lot",
            "of": "plan 0",
            "was": was,
            "lot": {**was, "amount": "80 seeds"},
        },
        {
            "id": "b",
            "at": "2026-11-28T09:01:00",
            "kind": "lot",
            "lot": {"species": "Monarda fistulosa", "amount": "9 seeds"},
        },
    ]
    page = {"kind": "chillplan page", "format": 1, "site": "Hill", "season": 2026, "entries": entries}
    (home / "back.json").write_text(json.dumps(page), encoding="utf-8")
    for times in range(2):
        found = chillplan("batch", "import", "back.json", "--today", "2026-11-28")
        assert found.code == 0 and ("lots.csv: 2 lots entered or changed" in found.out) == (times == 0)
    rows = (home / "lots.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert len(rows) == 2
    assert rows[0].startswith("golden Alexanders") and "80 seeds" in rows[0] and "9 seeds" in rows[1]
    for kind in ("a", "b"):
        entries.append({"id": f"u{kind}", "at": "2026-11-28T10:00:00", "kind": "undo", "of": kind})
    (home / "back.json").write_text(json.dumps(page), encoding="utf-8")
    found = chillplan("batch", "import", "back.json", "--today", "2026-11-28")
    assert found.code == 0 and "2 entries taken, 2 known" in found.out
    rows = (home / "lots.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert len(rows) == 1 and "50 seeds" in rows[0], "taken back on the page: the lots file too"
