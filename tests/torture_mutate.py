"""Mutation testing: make small mistakes in the source, one at a time, and see whether tests notice.

    python tests/torture_mutate.py kernels          the search's compiled files
    python tests/torture_mutate.py loops            its other files
    python tests/torture_mutate.py area             what reads and writes the area file
    python tests/torture_mutate.py loops/dive.py    one file
    python tests/torture_mutate.py loops --left     only what survived last time, or was not tried
    python tests/torture_mutate.py loops/dive.py --ask test_loops_kernels.py    these tests only
    python tests/torture_mutate.py loops/dive.py --some 80    80 of them, drawn by ``SEED``
    python tests/torture_mutate.py loops/dive.py --only bar   those whose line has the word

For the kernels compiling is switched off, so that they can be changed. One process loads everything
once; each mutant lives in a fork of it, where the changed code is put into the living functions,
and only the tests that run the changed line are run, quickest first, until one fails or
``PLENTY_S`` are spent. A test that takes ``SLOW`` times its usual processor time counts as failed:
a search that never ends would be seen. That the true version passes is tried first. The tally is
kept in ``out/torture/mutate``; ``mutants_explained.toml`` says of each known survivor why no test
can tell it from the true version, and what is not in it is listed as a finding.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import gc
import importlib
import json
import os
import random
import re
import signal
import sys
import time
import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from itertools import accumulate
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import coverage
import pytest
from _pytest.runner import runtestprotocol

from mutants import Mutant, mutants_of

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "loopwright"
TALLY = ROOT / "out" / "torture" / "mutate"
EXPLAINED = Path(__file__).with_name("mutants_explained.toml")
KERNELS = tuple(f"loops/{name}.py" for name in ("dive", "loop_value", "near", "tables", "tune"))
ASKED = (
    "answers", "by_hand", "chain", "compiled", "conditions", "dive", "edges", "find", "further",
    "graph", "hunt", "kernels", "mixes", "outlook", "pieces", "prices", "progress", "quick",
    "rings", "roots", "said", "search", "settle", "trade_off",
)  # fmt: skip
ASKED_OF_KERNELS = ("conditions", "dive", "kernels", "outlook", "prices")
GROUPS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "kernels": (KERNELS, tuple(f"test_loops_{name}.py" for name in ASKED_OF_KERNELS)),
    "loops": (("loops/*.py",), tuple(f"test_loops_{name}.py" for name in ASKED)),
    "area": (
        ("io/area_*.py", "io/json_pieces.py", "io/migrations.py", "io/codec/*.py"),
        ("test_io_area_*.py", "test_io_json_*.py", "test_io_edges.py"),
    ),
}
"""Name: files, and the tests that are asked. A file belongs to the first group that has it."""
SLOW = 8.0
LEAST_S = 1.0
LONGEST_WAIT = 20
"""Times the processor time allowed, on a busy machine."""
TOO_LONG_S = 3.0
"""A test that takes longer than this is not asked."""
PLENTY_S = 6.0
"""Usual processor time of the tests asked of one mutant, quickest first; slower ones are not."""
SEED = 7


class Watch:
    """Notes how long each test takes and which lines of which file it runs."""

    def __init__(self, files: list[Path]) -> None:
        self.cover = coverage.Coverage(
            data_file=None, branch=False, config_file=False, include=[str(f) for f in files]
        )

    def of(self, items: list[pytest.Item]) -> Iterator[tuple[pytest.Item, float, bool]]:
        """Run the tests; give seconds of processor time, and whether it passed."""
        with self.cover.collect():
            for item in items:
                self.cover.switch_context(item.nodeid)
                began = time.process_time()
                good = passes(item)
                yield item, time.process_time() - began, good

    def lines(self, file: Path) -> dict[int, list[str]]:
        found: dict[int, list[str]] = self.cover.get_data().contexts_by_lineno(str(file))
        return found


def passes(item: pytest.Item) -> bool:
    """Run one test, with its fixtures, here and now."""
    reports = runtestprotocol(item, log=False, nextitem=None)
    return all(report.outcome == "passed" for report in reports)


def allow(cpu_s: float) -> None:
    """End this process once it has used so many more seconds, or waited far longer."""
    signal.setitimer(signal.ITIMER_PROF, cpu_s)
    signal.alarm(int(LONGEST_WAIT * cpu_s))


def in_fork(work: Callable[[], bytes]) -> bytes | None:
    """What ``work`` gives, from a process of its own; None if it did not live."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            os.close(reading)
            os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
            os.dup2(1, 2)
            with os.fdopen(writing, "wb") as pipe:
                pipe.write(work())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        got = pipe.read()
    _, status = os.waitpid(child, 0)
    return got if status == 0 and got else None


def baseline(files: list[Path], items: list[pytest.Item]) -> dict[str, Any]:
    """Run the tests once, unchanged: seconds of each that passes, and who runs which line."""

    def work() -> bytes:
        watch, seconds, bad = Watch(files), dict[str, float](), list[str]()
        for item, spent, good in watch.of(items):
            seconds[item.nodeid] = spent
            if not good or spent > TOO_LONG_S:
                bad.append(item.nodeid)
        lines = {str(f): watch.lines(f) for f in files}
        return json.dumps({"seconds": seconds, "bad": bad, "lines": lines}).encode()

    answer = in_fork(work)
    assert answer is not None, "the tests did not end"
    found: dict[str, Any] = json.loads(answer)
    return found


def codes(code: CodeType) -> Iterator[CodeType]:
    for const in code.co_consts:
        if isinstance(const, CodeType):
            yield const
            yield from codes(const)


def functions_of(file: str) -> list[FunctionType]:
    """Every living function that stands in a file, however it is wrapped."""
    return [
        f for f in gc.get_objects()
        if isinstance(f, FunctionType) and f.__code__.co_filename == file
    ]  # fmt: skip


def put_in(mutant: Mutant, module: ModuleType, living: list[FunctionType]) -> None:
    """Put the changed code into the living functions, or changed constants into all modules."""
    file = module.__file__ or ""
    code = compile(mutant.tree, file, "exec")
    fresh = {key_of(c): c for c in codes(code)}
    for f in living:
        if key_of(f.__code__) in fresh:
            f.__code__ = fresh[key_of(f.__code__)]
    if mutant.inside:
        return
    changed = ModuleType(module.__name__)
    changed.__dict__.update(__file__=file, __package__=module.__package__)
    sys.modules[module.__name__] = changed  # dataclasses look there for their names
    exec(code, changed.__dict__)  # noqa: S102 - our own source
    sys.modules[module.__name__] = module
    put_constants(module, changed)
    defaults = {key_of(f.__code__): f for f in functions_of(file) if f not in living}
    for f in living:
        new = defaults.get(key_of(f.__code__))
        if new is not None:
            f.__defaults__, f.__kwdefaults__ = new.__defaults__, new.__kwdefaults__


def key_of(code: CodeType) -> tuple[str, int]:
    return code.co_qualname, code.co_firstlineno


def put_constants(module: ModuleType, changed: ModuleType) -> None:
    """Give every module that took a constant from this one the changed one."""
    plain = (int, float, str, bytes, tuple, list, dict, set, frozenset, re.Pattern)
    for name, value in vars(changed).items():
        old = vars(module).get(name)
        if name.startswith("__") or not isinstance(value, plain) or repr(value) == repr(old):
            continue
        for other in list(sys.modules.values()):
            if other is not None and vars(other).get(name) is old:
                setattr(other, name, value)


def asked(mutant: Mutant, lines: dict[str, list[str]], found: dict[str, Any]) -> list[str]:
    """The tests that run the changed place, quickest first; for constants all that there are."""
    here = map(str, range(mutant.line, mutant.end + 1))
    tests = {t for row in here for t in lines.get(row, ())} & found["seconds"].keys()
    tests = tests if mutant.inside else set(found["seconds"])
    order = sorted(tests - set(found["bad"]), key=lambda t: found["seconds"][t])
    spent = accumulate(found["seconds"][t] for t in order)
    return [t for t, s in zip(order, spent, strict=True) if s <= PLENTY_S]


def fate(
    mutant: Mutant, module: ModuleType, living: list[FunctionType],
    tests: list[tuple[pytest.Item, float]],
) -> str:  # fmt: skip
    """noticed, survived, or unreached."""
    if not tests:
        return "unreached"

    def work() -> bytes:
        allow(LEAST_S)
        try:
            put_in(mutant, module, living)
        except Exception:  # noqa: BLE001 - a mutant that cannot even be loaded is noticed
            return b"noticed"
        for test, usual_s in tests:
            allow(LEAST_S + SLOW * usual_s)
            if not passes(test):
                return b"noticed"
        return b"survived"

    answer = in_fork(work)
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


class Campaign:
    """Stands in for pytest's own loop: all is collected once, and each mutant is a fork of that."""

    def __init__(self, files: list[Path], words: argparse.Namespace, *, jit: bool) -> None:
        self.files, self.words, self.jit, self.findings = files, words, jit, 0

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        if self.jit:  # whatever is loaded late is loaded once for all forks
            for item in session.items:
                passes(item)
        self.living = {file: functions_of(str(file)) for file in self.files}
        gc.freeze()  # forks share what is there; collecting would copy it
        self.found = baseline(self.files, session.items)
        bad = self.found["bad"]
        tell(f"{len(self.items) - len(bad)} tests asked, not asked: {', '.join(bad) or 'none'}")
        reasons = explained()
        for file in self.files:
            short = file.relative_to(SOURCE).as_posix()
            self.try_true_version(file)
            fates = self.try_file(file)
            alive = [name for name, end in fates.items() if end != "noticed"]
            known = sum(name in reasons.get(short, {}) for name in alive)
            self.findings += len(alive) - known
            tell(f"{short}: {len(fates)} mutants, {len(fates) - len(alive)} noticed, "
                 f"{known} explained, {len(alive) - known} not")  # fmt: skip
        return True

    def try_true_version(self, file: Path) -> None:
        """Make sure that a mutant without a change passes whatever any mutant is asked."""
        module = sys.modules[module_of(file)]
        tree = ast.parse(file.read_text())
        same = Mutant(1, len(file.read_text().splitlines()), True, "nothing", tree)  # noqa: FBT003 - a record
        end = fate(same, module, self.living[file], self.asked(same, file))
        assert end != "noticed", f"the true version of {file.name} does not pass"

    def asked(self, mutant: Mutant, file: Path) -> list[tuple[pytest.Item, float]]:
        """The tests that are asked, with their usual seconds."""
        names = asked(mutant, self.found["lines"][str(file)], self.found)
        return [(self.items[name], self.found["seconds"][name]) for name in names]

    def try_file(self, file: Path) -> dict[str, str]:
        """Try the mutants of a file; give the fate of each by its name."""
        short = file.relative_to(SOURCE).as_posix()
        kept = TALLY / f"{short.replace('/', '.')}.json"
        old: dict[str, str] = json.loads(kept.read_text()) if kept.exists() else {}
        mutants = list(mutants_of(file))
        named = dict(zip(names_of(file, mutants), mutants, strict=True))
        left, some, only = self.words.left, self.words.some, self.words.only
        fates = {name: end for name, end in old.items() if name in named and (left or only)}
        tried = [name for name in named if only in name and fates.get(name) != "noticed"]
        if some is not None:
            tried = random.Random(SEED).sample(tried, min(some, len(tried)))
        for name in tried:
            mutant = named[name]
            asked_of = self.asked(mutant, file)
            fates[name] = fate(mutant, sys.modules[module_of(file)], self.living[file], asked_of)
            if fates[name] != "noticed":
                tell(f"{short}:{mutant.line} {fates[name]}: {name}")
            TALLY.mkdir(parents=True, exist_ok=True)
            kept.write_text(json.dumps(fates, indent=1))
        return fates


def module_of(file: Path) -> str:
    return ".".join(("loopwright", *file.relative_to(SOURCE).with_suffix("").parts))


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
    parser.add_argument("--some", type=int)
    parser.add_argument("--only", default="")
    parser.add_argument("--ask", nargs="+")
    words = parser.parse_args()
    os.chdir(ROOT)
    files, tests = chosen(words.what)
    tests = [f"tests/{name}" for name in words.ask] if words.ask else tests
    jit = not any(f.relative_to(SOURCE).as_posix() in KERNELS for f in files)
    if not jit:
        os.environ["NUMBA_DISABLE_JIT"] = "1"
    elif "loops" in str(files[0]):
        importlib.import_module("loopwright.loops.warm").warm_up()  # once for all forks
    campaign = Campaign(files, words, jit=jit)
    pytest.main(
        ["-q", "-s", "-p", "no:cacheprovider", "-p", "no:faulthandler", *tests], plugins=[campaign]
    )
    return int(campaign.findings > 0)


if __name__ == "__main__":
    raise SystemExit(main())
