"""Only regular files are read, up to a stated size; what is empty or damaged is named."""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest

from chillplan.errors import InputError
from chillplan.weather.file_bytes import bytes_of
from chillplan.weather.read import load_history, read_weather
from tests.cli.command import chillplan


@pytest.mark.parametrize("content", [b"\xef\xbb\xbf", b"\xff\xfe", b"\xef\xbb\xbf \r\n", b"", b"\n\n"])
@pytest.mark.parametrize("inside", [False, True])
def test_a_file_with_nothing_but_a_byte_order_mark_is_empty(tmp_path: Path, content: bytes, inside: bool) -> None:
    (tmp_path / "record.csv").write_bytes(content)
    with pytest.raises(InputError, match=r"record\.csv' is empty: fetch or save it again"):
        read_weather([tmp_path if inside else tmp_path / "record.csv"])


def test_a_pipe_is_refused_without_waiting_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    with pytest.raises(InputError, match=r"pipe\.csv' is a pipe: save the record to a file"):
        load_history([tmp_path / "pipe.csv"])


def test_an_endless_device_is_refused() -> None:
    with pytest.raises(InputError, match="'/dev/zero' is a device"):
        load_history([Path("/dev/zero")])


def test_what_unpacks_beyond_the_limit_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "large.csv.gz"
    path.write_bytes(gzip.compress(b"0" * 3_000_000))
    assert path.stat().st_size < 10_000
    with pytest.raises(InputError, match="unpacks to more than 2 MB"):
        bytes_of(path, largest=2_000_000)
    assert len(bytes_of(path, largest=3_000_000)) == 3_000_000


def test_a_path_is_shown_as_it_was_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    answer = chillplan("plan", "--weather", "none/../record.csv", "--latitude", 40, "--longitude", -80)
    assert answer.code == 2
    assert "weather file 'none/../record.csv' does not exist" in answer.err
