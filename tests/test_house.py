"""The house rules, held by tests: who may import whom, and how long things may be."""

from __future__ import annotations

import ast
import shutil
import statistics
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "loopwright"
FILES = sorted(SOURCE.rglob("*.py"))
LINTER = Path(sys.executable).with_name("lint-imports")


def test_the_top_of_the_project_holds_what_is_named_and_no_slip() -> None:
    named = {
        "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "Makefile", "pyproject.toml",
        "assets", "docs", "sample_tracks", "src", "tests",
    }  # fmt: skip
    made = {"build", "dist", "out"}
    assert {p.name for p in ROOT.iterdir() if p.name[0] != "."} - made == named


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [LINTER, "--config", folder / "pyproject.toml", "--no-cache"],
        cwd=folder / "src",
        env={"PYTHONPATH": str(folder / "src"), "PATH": "", "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )


def test_import_contracts_hold() -> None:
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize(
    ("file", "line"),
    [
        ("loops/__init__.py", "import loopwright.network"),
        ("model/ids.py", "import loopwright.geo.polyline"),
        ("network/__init__.py", "import PySide6"),
        ("features/__init__.py", "import pyproj"),
        ("app/__init__.py", "import gpxpy"),
    ],
)
def test_a_broken_contract_is_seen(tmp_path: Path, file: str, line: str) -> None:
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    shutil.copytree(SOURCE, tmp_path / "src" / "loopwright")
    with (tmp_path / "src" / "loopwright" / file).open("a") as broken:
        broken.write(f"\n{line}\n")
    assert lint(tmp_path).returncode != 0


def functions() -> list[tuple[str, int]]:
    found = []
    for path in FILES:
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.FunctionDef):
                body = node.body[1:] if ast.get_docstring(node) else node.body
                lines = body[-1].end_lineno - body[0].lineno + 1 if body else 0  # type: ignore[operator] # parsed nodes carry line numbers
                found.append((f"{path.relative_to(SOURCE)}:{node.name}", lines))
    return found


def test_functions_are_short() -> None:
    sizes = functions()
    lengths = sorted(size for _, size in sizes)
    assert statistics.median(lengths) <= 8
    assert lengths[int(0.9 * len(lengths))] <= 28
    assert [(name, size) for name, size in sizes if size > 60] == []


def test_files_hold_one_idea() -> None:
    lengths = {str(p.relative_to(ROOT)): len(p.read_text().splitlines()) for p in FILES}
    tests = {p.name: len(p.read_text().splitlines()) for p in (ROOT / "tests").glob("*.py")}
    assert {name: size for name, size in {**lengths, **tests}.items() if size > 400} == {}


def test_every_module_says_what_it_is() -> None:
    assert [str(p) for p in FILES if not ast.get_docstring(ast.parse(p.read_text()))] == []


def test_help_loads_nothing_heavy() -> None:
    code = "import loopwright.cli.main, sys; print(*sys.modules)"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    heavy = {"numpy", "scipy", "numba", "PySide6", "lxml", "gpxpy", "pyproj", "networkx"}
    assert heavy.isdisjoint(loaded)
