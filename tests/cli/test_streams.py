"""Terminals and files that cannot take every letter still get the whole answer."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest
from numba.core import event

from chillplan.cli.streams import NAME, say_when_compiling, soften_streams
from tests.cli.command import COMPILING


def said(encoding: str, *words: str) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, "PYTHONIOENCODING": encoding}
    return subprocess.run(
        [sys.executable, "-m", "chillplan", *words], capture_output=True, env=environment, check=False
    )


def test_an_ascii_terminal_gets_the_nearest_letters() -> None:
    found = said("ascii", "species", "show", "pawpaw")
    assert found.returncode == 0, found.stderr
    assert b"4 to 5 oC" in found.stdout and found.stdout.isascii()


def test_json_keeps_every_letter_on_an_ascii_terminal() -> None:
    plain = json.loads(said("ascii", "species", "show", "pawpaw", "--format", "json").stdout)
    assert plain == json.loads(said("utf-8", "species", "show", "pawpaw", "--format", "json").stdout.decode("utf-8"))
    assert "°C" in json.dumps(plain, ensure_ascii=False)


def test_an_error_with_a_name_that_cannot_be_written_is_a_sentence_still() -> None:
    found = said("ascii", "species", "show", "Kōwhai 木")
    assert found.returncode == 2
    assert b"species 'Kowhai ?' is not in the catalogue" in found.stderr


def test_a_letter_becomes_one_letter_so_that_columns_stay_in_line() -> None:
    soften_streams()
    assert "5 °C – ō × 🌱".encode("ascii", NAME) == b"5 oC - o x ?"


def test_a_reader_that_stops_reading_is_no_fault() -> None:
    reader, writer = os.pipe()
    os.close(reader)
    words = [sys.executable, "-m", "chillplan", "species", "list"]
    found = subprocess.run(words, stdout=writer, stderr=subprocess.PIPE, check=False)
    os.close(writer)
    assert (found.returncode, found.stderr) == (141, b"")


def test_compiling_is_told_once_however_many_places_are_planned(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    listeners: list[event.Listener] = []  # this test's own: others may listen in the same process
    monkeypatch.setattr(event, "register", lambda kind, listener: listeners.append(listener))
    say_when_compiling.cache_clear()
    for _ in range(3):
        say_when_compiling()
    say_when_compiling.cache_clear()
    for listener in listeners * 2:
        listener.notify(event.Event("numba:compile", event.EventStatus.START))
        listener.notify(event.Event("numba:compile", event.EventStatus.END))
    assert len(listeners) == 1
    assert capsys.readouterr() == ("", COMPILING)
