"""What a grower reads of an export that cannot be taken, word by word, and that no journal is left by it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from chillplan.errors import InputError
from chillplan.journal.exchange import export_csv, export_json, import_journal
from chillplan.journal.schema import MIGRATIONS
from chillplan.journal.store import Journal
from tests.journal.samples import TODAY


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def refusal(do: Callable[[], object]) -> tuple[str, ...]:
    with pytest.raises(InputError) as refused:
        do()
    assert not Path("back.db").exists()
    return refused.value.problems


def taken(source: str) -> Callable[[], object]:
    return lambda: import_journal(Path("back.db"), Path(source), TODAY)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"{", "export 'out.json' is not JSON: give a file made by export"),
        (b"\xff\xff", "export 'out.json' is not JSON: give a file made by export"),
        (b"[]", "'out.json' is not an exported journal: give a file made by `chillplan batch export`"),
        (b"{}", "'out.json' is not an exported journal: give a file made by `chillplan batch export`"),
    ],
)
def test_a_file_that_is_no_export(content: bytes, words: str) -> None:
    assert refusal(taken("gone.json")) == (
        "export 'gone.json' cannot be read: No such file or directory; check the path",
    )
    Path("out.json").write_bytes(content)
    assert refusal(taken("out.json")) == (words,)


def changed(journal: Journal, change: Callable[[dict[str, Any]], object]) -> tuple[str, ...]:
    content = json.loads(export_json(journal))
    change(content)
    Path("out.json").write_text(json.dumps(content), encoding="utf-8")
    return refusal(taken("out.json"))


def test_an_export_that_was_changed(filled: Journal) -> None:
    known = len(MIGRATIONS)
    assert changed(filled, lambda content: content.update(format=99)) == (
        f"export 'out.json' has format '99', this chillplan reads {known}: import it with the version that wrote it, "
        "or upgrade",
    )
    whole = "in 'out.json' is missing or not a list: export it again"
    assert changed(filled, lambda content: content.update(lots=[5], checks=None, birds=[])) == (
        f"table lots {whole}",
        f"table checks {whole}",
        "table 'birds' in 'out.json' is not known: export it again",
    )
    assert changed(filled, lambda content: content["lots"][0].pop("species")) == (
        "export 'out.json' does not fit together ('species'): export it again",
    )
    (huge,) = changed(filled, lambda content: content["lots"][0].update(id=10**30))
    assert huge.startswith("export 'out.json' does not fit together (") and huge.endswith("): export it again")
    (nested,) = changed(filled, lambda content: content["lots"][0].update(species=["Tilia"]))
    assert nested.startswith("journal 'back.db' refused the entry (")
    assert nested.endswith("): nothing was recorded; check the values")


def test_tables_that_were_changed(filled: Journal) -> None:
    export_csv(filled, Path("out"))
    assert refusal(lambda: export_csv(filled, Path("out"))) == (
        "folder 'out' already holds an export: give a new folder with --out",
    )

    def rewritten(table: str, content: bytes | None) -> tuple[str, ...]:
        path = Path(f"out/{table}.csv")
        kept = path.read_bytes()
        path.unlink()
        if content is not None:
            path.write_bytes(content)
        problems = refusal(taken("out"))
        path.write_bytes(kept)
        return problems

    counters = Path("out/counters.csv").read_text(encoding="utf-8-sig").splitlines()
    assert counters[0] == "name,seq"
    where = "'out/counters.csv'"
    assert rewritten("counters", None) == (f"{where} cannot be read: No such file or directory; export again",)
    assert rewritten("counters", b"") == (f"{where} has columns '', not name, seq",)
    assert rewritten("counters", b"name,number\n") == (f"{where} has columns 'name, number', not name, seq",)
    assert rewritten("counters", b"name,seq\nlots\nchecks,1,2\nlots,\nlots,many\n") == (
        f"{where} row 2 has 1 cells, not 2: mend the row",
        f"{where} row 3 has 3 cells, not 2: mend the row",
        f"seq '' in {where} row 4 is not a number: correct it",
        f"seq 'many' in {where} row 5 is not a number: correct it",
    )
    (problem,) = rewritten("counters", b"name,seq\n\xff,1\n")
    assert problem.startswith(f"{where} is not CSV in UTF-8 (")
    assert problem.endswith("): save it as UTF-8 CSV, comma separated")


def test_a_folder_that_cannot_be_written(filled: Journal) -> None:
    Path("file").touch()
    assert refusal(lambda: export_csv(filled, Path("file/out"))) == (
        "folder 'file/out' cannot be written: Not a directory; pass another --out",
    )


def test_a_journal_that_holds_something_takes_no_import(filled: Journal) -> None:
    Path("out.json").write_text(export_json(filled), encoding="utf-8")
    with pytest.raises(InputError) as refused:
        import_journal(filled.path, Path("out.json"), TODAY)
    assert refused.value.problems == (
        f"journal '{filled.path}' already holds entries: import into a new file with --journal",
    )
