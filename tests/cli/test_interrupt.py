from __future__ import annotations

import signal
import subprocess
import sys
import time
from pathlib import Path

import psutil

from tests.cli.command import written_record


def test_ctrl_c_ends_with_a_sentence_and_no_traceback(tmp_path: Path) -> None:
    record = written_record(tmp_path, first="1900-01-01", last="2012-12-31")
    words = ["plan", "--weather", str(record), "--latitude", "44", "--longitude", "-72"]
    process = subprocess.Popen(
        [sys.executable, "-m", "chillplan", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    _wait_until_at_work(process.pid)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert out == ""
    assert "stopped" in err
    assert "Traceback" not in err


def _wait_until_at_work(pid: int) -> None:
    """Until the command reads its record: the library that reads it has been loaded."""
    until = time.monotonic() + 60.0
    while not any("pandas" in found.path for found in psutil.Process(pid).memory_maps()):
        assert time.monotonic() < until, "the command never began"
        time.sleep(0.05)


def test_a_full_disk_behind_the_output_is_said_in_a_sentence() -> None:
    with Path("/dev/full").open("w") as full:
        command = [sys.executable, "-m", "chillplan", "winter", "--format", "json"]
        answer = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert answer.returncode == 2
    assert "No space left" in answer.stderr
    assert "Traceback" not in answer.stderr
