"""Mutation testing: make small mistakes in the source, one at a time, and see whether tests notice.

    python tests/torture_mutate.py kernels          the search's compiled files
    python tests/torture_mutate.py loops            its other files
    python tests/torture_mutate.py area             what reads and writes the area file
    python tests/torture_mutate.py loops/dive.py    one file
    python tests/torture_mutate.py loops --left     only what survived last time

For the kernels compiling is switched off, so that they can be changed. One process loads everything
once; each mutant lives in a fork of it, where the changed code is put into the living functions,
and only the tests that run the changed line are run, quickest first, until one fails. Over ``SLOW``
times the processor time of those tests, it counts as noticed: a search that never ends would be
seen. The tally is kept in ``out/torture/mutate``; ``mutants_explained.toml`` says of each known
survivor why no test can tell it from the true version, and what is not in it is listed as a
finding.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import importlib
import json
import os
import resource
import signal
import sys
import time
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import coverage
import pytest

from mutants import Mutant, mutants_of

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "loopwright"
TALLY = ROOT / "out" / "torture" / "mutate"
EXPLAINED = Path(__file__).with_name("mutants_explained.toml")
KERNELS = tuple(f"loops/{name}.py" for name in ("dive", "loop_value", "near", "tables", "tune"))
ASKED = ("answers", "by_hand", "further", "kernels", "pieces", "prices", "rings")
GROUPS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "kernels": (KERNELS, ("test_loops_kernels.py", "test_loops_prices.py")),
    "loops": (("loops/*.py",), tuple(f"test_loops_{name}.py" for name in ASKED)),
    "area": (
        ("io/area_*.py", "io/migrations.py", "io/codec/*.py"),
        ("test_io_area_*.py", "test_io_json_in.py", "test_io_edges.py"),
    ),
}
"""Name: files, and the tests that are asked. A file belongs to the first group that has it."""
SLOW = 8.0
LEAST_S = 10.0
TOO_LONG_S = 6.0
"""A test that takes longer than this is not asked."""


class Watch:
    """Notes, for each test, how long it takes and which lines of which file it runs."""

    def __init__(self, files: list[Path]) -> None:
        self.seconds: dict[str, float] = {}
        self.bad: set[str] = set()
        self.cover = coverage.Coverage(
            data_file=None, branch=False, config_file=False, include=[str(f) for f in files]
        )

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.cover.switch_context(item.nodeid)
        began = time.process_time()
        answer = yield
        self.seconds[item.nodeid] = time.process_time() - began
        return answer

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.outcome != "passed":
            self.bad.add(report.nodeid)

    def lines(self, file: Path) -> dict[int, list[str]]:
        found: dict[int, list[str]] = self.cover.get_data().contexts_by_lineno(str(file))
        return found


def run_quietly(words: list[str], plugins: list[object]) -> int:
    with Path(os.devnull).open("w") as nowhere, contextlib.redirect_stdout(nowhere):
        return int(pytest.main(["-q", "-p", "no:cacheprovider", *words], plugins=plugins))


def in_fork(work: Any, *, cpu_s: float | None = None) -> bytes | None:
    """What ``work`` gives, as bytes, from a process of its own; None if it did not live."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            os.close(reading)
            if cpu_s is not None:
                resource.setrlimit(resource.RLIMIT_CPU, (int(cpu_s), int(cpu_s) + 1))
                signal.alarm(int(20 * cpu_s))
            os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
            os.write(writing, b"") if (answer := work()) is None else _write_all(writing, answer)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        got = pipe.read()
    _, status = os.waitpid(child, 0)
    return got if status == 0 and got else None


def _write_all(pipe: int, answer: bytes) -> None:
    while answer:
        answer = answer[os.write(pipe, answer) :]


def baseline(files: list[Path], tests: list[str]) -> dict[str, Any]:
    """Run the tests once, unchanged: seconds of each that passes, and who runs which line."""

    def work() -> bytes:
        watch = Watch(files)
        with watch.cover.collect():
            run_quietly(tests, [watch])
        good = {
            t: s for t, s in watch.seconds.items() if t not in watch.bad and s <= TOO_LONG_S
        }  # fmt: skip
        lines = {str(f): watch.lines(f) for f in files}
        return json.dumps({"seconds": good, "bad": sorted(watch.bad), "lines": lines}).encode()

    answer = in_fork(work)
    assert answer is not None, "the tests did not end"
    found: dict[str, Any] = json.loads(answer)
    return found


def codes(code: CodeType) -> Iterator[CodeType]:
    for const in code.co_consts:
        if isinstance(const, CodeType):
            yield const
            yield from codes(const)


def put_in(mutant: Mutant, module: ModuleType) -> bool:
    """Put the changed code into the living functions; tell whether anything was changed."""
    file = module.__file__ or ""
    changed = ModuleType(module.__name__)
    changed.__dict__.update(__file__=file, __package__=module.__package__)
    before = {id(f) for f in gc.get_objects() if isinstance(f, FunctionType)}
    sys.modules[module.__name__], old = changed, module  # dataclasses look there for their names
    try:
        exec(compile(mutant.tree, file, "exec"), changed.__dict__)  # noqa: S102 - our own source
    finally:
        sys.modules[module.__name__] = old
    ours = [
        f for f in gc.get_objects()
        if isinstance(f, FunctionType) and f.__code__.co_filename == file
    ]  # fmt: skip
    fresh = {key_of(f): f for f in ours if id(f) not in before}
    for f in ours:
        new = fresh.get(key_of(f))
        if id(f) in before and new is not None:
            f.__code__, f.__defaults__ = new.__code__, new.__defaults__
            f.__kwdefaults__ = new.__kwdefaults__
    put_constants(module, changed)
    return True


def key_of(f: FunctionType) -> tuple[str, int]:
    return f.__code__.co_qualname, f.__code__.co_firstlineno


def put_constants(module: ModuleType, changed: ModuleType) -> None:
    """Give every module that took a constant from this one the changed one."""
    plain = (int, float, str, bytes, tuple, list, dict, set, frozenset)
    for name, value in vars(changed).items():
        old = vars(module).get(name)
        if name.startswith("__") or not isinstance(value, plain) or repr(value) == repr(old):
            continue
        for other in list(sys.modules.values()):
            if vars(other).get(name) is old and other is not None:
                setattr(other, name, value)


def asked(mutant: Mutant, lines: dict[str, list[str]], seconds: dict[str, float]) -> list[str]:
    """The tests that run the changed place, quickest first; for constants all of the file."""
    here = range(mutant.line, mutant.end + 1)
    rows = map(str, here) if mutant.inside else lines.keys()
    tests = {t for row in rows for t in lines.get(row, ())}
    return sorted(tests & seconds.keys(), key=lambda t: seconds[t])


def fate(mutant: Mutant, module: ModuleType, tests: list[str], cost_s: float) -> str:
    """noticed, survived, or unreached."""
    if not tests:
        return "unreached"

    def work() -> bytes:
        try:
            put_in(mutant, module)
        except Exception:  # noqa: BLE001 - a mutant that cannot even be loaded is noticed
            return b"noticed"
        return b"noticed" if run_quietly(["-x", *tests], []) else b"survived"

    answer = in_fork(work, cpu_s=LEAST_S + SLOW * cost_s)
    return "noticed" if answer is None else answer.decode()


def names_of(file: Path, mutants: list[Mutant]) -> list[str]:
    """A name for each mutant that does not hang on line numbers."""
    count: Counter[str] = Counter()
    lines = file.read_text().splitlines()
    names = []
    for mutant in mutants:
        name = f"{lines[mutant.line - 1].strip()} | {mutant.words}"
        count[name] += 1
        names.append(name if count[name] == 1 else f"{name} #{count[name]}")
    return names


def try_file(file: Path, found: dict[str, Any], *, left: bool) -> dict[str, str]:
    """Try all mutants of a file; give the fate of each by its name."""
    kept = TALLY / f"{file.relative_to(SOURCE).as_posix().replace('/', '.')}.json"
    tally: dict[str, str] = json.loads(kept.read_text()) if left and kept.exists() else {}
    module = sys.modules["loopwright." + ".".join(file.relative_to(SOURCE).with_suffix("").parts)]
    mutants = list(mutants_of(file))
    fates = {}
    for name, mutant in zip(names_of(file, mutants), mutants, strict=True):
        if tally.get(name) == "noticed":
            fates[name] = "noticed"
            continue
        tests = asked(mutant, found["lines"][str(file)], found["seconds"])
        cost_s = sum(found["seconds"][t] for t in tests)
        fates[name] = fate(mutant, module, tests, cost_s)
        if fates[name] != "noticed":
            tell(f"{file.relative_to(SOURCE)}:{mutant.line} {fates[name]}: {name}")
    TALLY.mkdir(parents=True, exist_ok=True)
    kept.write_text(json.dumps(fates, indent=1))
    return fates


def chosen(words: list[str]) -> tuple[list[Path], list[str]]:
    """Files to change, and tests to ask."""
    files: list[Path] = []
    tests: list[str] = []
    taken: set[Path] = set()
    for group, (sources, asks) in GROUPS.items():
        all_files = [f for pattern in sources for f in sorted(SOURCE.glob(pattern))]
        all_files = [f for f in all_files if f not in taken and f.name != "__init__.py"]
        taken |= set(all_files)
        wanted = [f for f in all_files if {group, f.relative_to(SOURCE).as_posix()} & set(words)]
        files += wanted
        if wanted:
            tests += [str(t) for ask in asks for t in sorted((ROOT / "tests").glob(ask))]
    return files, tests


def explained() -> dict[str, dict[str, str]]:
    found = tomllib.loads(EXPLAINED.read_text()) if EXPLAINED.exists() else {}
    reasons: dict[str, dict[str, str]] = defaultdict(dict)
    for row in found.get("mutant", []):
        reasons[row["file"]][row["change"]] = row["why"]
    return reasons


def tell(words: str) -> None:
    sys.stdout.write(words + "\n")
    sys.stdout.flush()


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("what", nargs="+")
    parser.add_argument("--left", action="store_true")
    words = parser.parse_args()
    os.chdir(ROOT)
    files, tests = chosen(words.what)
    if any(f.relative_to(SOURCE).as_posix() in KERNELS for f in files):
        os.environ["NUMBA_DISABLE_JIT"] = "1"
    elif "loops" in str(files[0]):
        importlib.import_module("loopwright.loops.warm").warm_up()  # once for all forks
    run_quietly(["--collect-only", *tests], [])
    found = baseline(files, tests)
    tell(f"{len(found['seconds'])} tests asked, not asked: {found['bad']}")
    reasons, findings = explained(), 0
    for file in files:
        short = file.relative_to(SOURCE).as_posix()
        fates = try_file(file, found, left=words.left)
        alive = [name for name, end in fates.items() if end != "noticed"]
        known = sum(name in reasons.get(short, {}) for name in alive)
        findings += len(alive) - known
        tell(f"{short}: {len(fates)} mutants, {len(fates) - len(alive)} noticed, "
              f"{known} explained, {len(alive) - known} not")  # fmt: skip
    return int(findings > 0)


if __name__ == "__main__":
    raise SystemExit(main())
