"""Ctrl-C while a map is made: a clean end, and the same command goes on."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
import xarray as xr

from tests.region.made_grid import made_grid

ROOT = Path(__file__).resolve().parents[2]
STARTER = """
import sys
from chillplan.region import blocks, mapping
mapping.BLOCK_BYTES = blocks.BLOCK_BYTES = 3_000_000
mapping.make_map.__kwdefaults__["block_bytes"] = 3_000_000
from chillplan.cli import main
main()
"""


@pytest.mark.skipif(os.name == "nt", reason="sends the signal of Ctrl-C as on POSIX")
def test_ctrl_c_is_clean_and_the_same_command_goes_on(tmp_path: Path) -> None:
    grid, out = tmp_path / "grid.nc", tmp_path / "map.nc"
    made_grid(rows=40, columns=40).to_netcdf(grid)
    words = ["map", "--weather", str(grid), "--species", "Tilia americana", "--warming", "0,1,2", "--out", str(out)]
    command = [sys.executable, "-c", STARTER, *words, "--workers", "1"]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT)
    record = tmp_path / "map.nc.partial.done"
    waited = time.monotonic() + 120.0
    while not (record.exists() and record.read_text().count("done") >= 2) and time.monotonic() < waited:
        time.sleep(0.01)
    running.send_signal(signal.SIGINT)
    _, said = running.communicate(timeout=60)
    assert running.returncode == 130, said
    assert "Traceback" not in said
    assert "regions are written; the same command goes on from there" in said
    assert not out.exists()
    done = record.read_text().count('"done"')
    assert done >= 2
    again = subprocess.run(command, capture_output=True, text=True, check=False, cwd=ROOT)
    assert again.returncode == 0, again.stderr
    assert xr.open_dataset(out)["verdict"].sizes["lat"] == 40
    assert not record.exists()
