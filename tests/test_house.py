"""The house keeps its shape: imports point down, rooms keep to their tools, files stay short."""

from __future__ import annotations

import ast
import re
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "chillplan"
TOP = PACKAGE.parent

# From the ground up: a room may import what stands before it, never what stands after it.
FLOORS = ["vocabulary", "physics", "weather", "seasons", "seeds", "advice", "journal", "region", "report", "web", "cli"]
KEPT_TO = {
    "meteostat": ("weather/",),
    "plotly": ("report/", "web/"),
    "typer": ("cli/",),
    "rich": ("cli/", "report/tables", "report/soilcheck"),
    "reportlab": ("report/",),
    "icalendar": ("report/",),
    "sqlite3": ("journal/", "weather/"),
    "dask": ("region/", "cli/"),
    "distributed": ("region/", "cli/"),
    "tzfpy": ("cli/place",),
}
PURE = ("physics", "seasons", "seeds", "advice")
FORBIDDEN_IN_PURE = {"logging", "time", "requests", "urllib", "socket", "sqlite3", "subprocess"}

MODULES = sorted(PACKAGE.rglob("*.py"))


def floor_of(parts: tuple[str, ...]) -> int:
    return FLOORS.index(parts[0]) if parts and parts[0] in FLOORS else 0


def imports_of(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found |= {f"{node.module}.{alias.name}" for alias in node.names if node.module == "chillplan"}
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(path: Path) -> None:
    here = path.relative_to(PACKAGE)
    if here.name == "__main__.py":
        return
    own = floor_of(here.parts[:-1] or (here.stem,))
    for name in imports_of(path):
        if name.startswith("chillplan.") and name != "chillplan.data_files":
            assert floor_of(tuple(name.split(".")[1:])) <= own, f"{here} imports {name}, which stands above it"


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_rooms_keep_to_their_tools(path: Path) -> None:
    here = path.relative_to(PACKAGE).as_posix()
    roots = {name.split(".")[0] for name in imports_of(path)}
    for library, rooms in KEPT_TO.items():
        if library in roots:
            assert here.startswith(rooms), f"{here} imports {library}, which belongs in {rooms}"
    if here.startswith(PURE):
        assert not roots & FORBIDDEN_IN_PURE, f"{here} reaches outside: {roots & FORBIDDEN_IN_PURE}"


def test_astral_is_imported_in_one_module() -> None:
    users = [path for path in MODULES if "astral" in {name.split(".")[0] for name in imports_of(path)}]
    assert len(users) <= 1, users


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_are_short(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


def test_pure_rooms_open_no_file_and_read_no_clock() -> None:
    for room in PURE:
        for path in (PACKAGE / room).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call):
                    called = ast.unparse(node.func)
                    assert called not in {"open", "print"}, f"{path.name} calls {called}"
                    assert not re.search(r"\.(read_text|write_text|today|now)$", called), f"{path.name} calls {called}"


def test_top_level_is_exactly_the_agreed_one() -> None:
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "chillplan", "tests", "data", "examples"}
    build_leftovers = {"build", "dist"}
    found = {entry.name for entry in TOP.iterdir() if not entry.name.startswith(".")} - build_leftovers
    assert {name for name in found if not name.endswith(".egg-info")} <= agreed


def test_files_import_in_no_circle() -> None:
    names = {".".join(path.relative_to(TOP).with_suffix("").parts).removesuffix(".__init__"): path for path in MODULES}
    needs = {name: (imports_of(path) & set(names)) - {name} for name, path in names.items()}
    tuple(TopologicalSorter(needs).static_order())
