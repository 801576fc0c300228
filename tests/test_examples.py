"""Every script of the examples finds what it imports: what moves in the program moves there, too."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
SCRIPTS = sorted(EXAMPLES.rglob("*.py"))


@pytest.mark.parametrize("folder", sorted({script.parent for script in SCRIPTS}), ids=lambda folder: folder.name)
def test_scripts_find_what_they_import(folder: Path) -> None:
    names = [script.stem for script in SCRIPTS if script.parent == folder]
    assert names
    code = f"import sys; sys.path.insert(0, {str(folder)!r})\n" + "\n".join(f"import {name}" for name in names)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
