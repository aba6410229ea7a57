"""Coverage-guided fuzzing of every reader, in turns, with a tally that adds up over runs.

Run: ``python tests/torture_fuzz.py --minutes 60``. Needs the library atheris. What is found lies
under ``out/torture/fuzz/found``: one input a kind and place of failure. The tally is
``out/torture/fuzz/tally.json``.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
HOME = ROOT / "out" / "torture" / "fuzz"
SLOW_S = 5.0
"""Processor seconds, since a busy machine makes every input slow by the clock."""
MEMORY_MB = 1024
GROWTH_MB = 300
"""One input that makes a process grow by so much is kept as a finding."""
HEAD = "| reader | minutes | inputs | slowest s | memory MB | found |"


def main() -> int:
    """Fuzz all readers in turns, or one (a child of the former)."""
    options = _options()
    if options.one:
        return _one(options.one, options.seconds, options.home)
    names = options.readers.split(",") if options.readers else _names()
    end = time.monotonic() + 60 * options.minutes
    while time.monotonic() < end:
        for name in names:
            left = end - time.monotonic()
            if left > 10:
                _turn(name, min(options.seconds, left), options.home)
    sys.stdout.write(words(options.home) + "\n")
    return 1 if any((options.home / "found").glob("*/*.txt")) else 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--minutes", type=float, default=8.0)
    parser.add_argument("--seconds", type=float, default=60.0, help="the length of one turn")
    parser.add_argument("--readers", default="", help="names with commas; all if left out")
    parser.add_argument("--home", type=Path, default=HOME)
    parser.add_argument("--one", default="")
    return parser.parse_args()


def _names() -> list[str]:
    from torture_readers import targets

    return list(targets())


def _turn(name: str, seconds: float, home: Path) -> None:
    """Fuzz one reader in a process of its own and add what it says to the tally."""
    before = _children_s()
    command = [sys.executable, __file__, "--one", name, "--seconds", f"{seconds:.0f}"]
    ran = subprocess.run(
        [*command, "--home", str(home)], check=False, capture_output=True, text=True,
        timeout=seconds * 3 + 300, env=_environment(),
    )  # fmt: skip
    said = home / f"{_slug(name)}.last.json"
    last = json.loads(said.read_text("utf-8")) if said.exists() else {}
    said.unlink(missing_ok=True)
    if not last or ran.returncode:
        _keep_crash(name, home, ran.stderr)
    _add(home, name, last | {"minutes": (_children_s() - before) / 60})


def _children_s() -> float:
    """Processor seconds of all ended children: a busy machine must not count as fuzzing."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _environment() -> dict[str, str]:
    paths = [str(ROOT / "src"), str(ROOT / "tests"), os.environ.get("PYTHONPATH", "")]
    return os.environ | {"PYTHONPATH": os.pathsep.join(paths)}


def _slug(name: str) -> str:
    return name.replace(" ", "-")


def _keep_crash(name: str, home: Path, words_: str) -> None:
    """The process itself died: the fuzzer leaves the input as an artifact, we keep its words."""
    folder = home / "found" / _slug(name)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"died-{time.time_ns()}.txt").write_text(words_[-6000:], "utf-8")


def _add(home: Path, name: str, last: dict[str, Any]) -> None:
    path = home / "tally.json"
    tally = json.loads(path.read_text("utf-8")) if path.exists() else {}
    row = tally.setdefault(name, {"minutes": 0.0, "inputs": 0, "slowest_s": 0.0, "memory_mb": 0})
    row["minutes"] = round(row["minutes"] + last["minutes"], 2)
    row["inputs"] += last.get("inputs", 0)
    row["slowest_s"] = max(row["slowest_s"], last.get("slowest_s", 0.0))
    row["memory_mb"] = max(row["memory_mb"], last.get("memory_mb", 0))
    path.write_text(json.dumps(tally, indent=1), "utf-8")


def words(home: Path) -> str:
    """The tally as rows of a Markdown table."""
    path = home / "tally.json"
    tally = json.loads(path.read_text("utf-8")) if path.exists() else {}
    rows = [HEAD, "|---|--:|--:|--:|--:|--:|"]
    for name, row in tally.items():
        found = len(list((home / "found" / _slug(name)).glob("*.txt")))
        rows.append(
            f"| {name} | {row['minutes']:.1f} | {row['inputs']:,} | {row['slowest_s']:.2f} "
            f"| {row['memory_mb']:.0f} | {found} |"
        )
    return "\n".join(rows)


def _scratch() -> Path:
    """Memory if the system has a folder for it: half the time goes into writing inputs."""
    memory = Path("/dev/shm")  # noqa: S108 - a folder of this process is made in it
    return memory if memory.is_dir() else Path(tempfile.gettempdir())


class _Run:
    """One process on one reader: feeds it, times it, keeps each new kind of failure once."""

    def __init__(self, name: str, seconds: float, home: Path) -> None:
        from torture_readers import answers, targets

        self.name, self.home = name, home
        self.target = targets()[name]
        self._answers = answers
        self._folder = _scratch()
        self._path = self._folder / f"torture-{os.getpid()}" / self.target.name
        self._path.parent.mkdir()
        self._end = time.monotonic() + seconds
        self.inputs, self.slowest_s = 0, 0.0

    def feed(self, data: bytes) -> None:
        """Try one input."""
        if time.monotonic() > self._end:
            self.close()
        self.target.put(data, self._path)
        before, peak = time.process_time(), _peak_mb()
        try:
            self._answers(self.target.read, self._path)
        except Exception as error:  # noqa: BLE001 - any other exception is what we look for
            self._keep(data, _where(error), traceback.format_exc())
        took = time.process_time() - before
        self.inputs += 1
        if took > SLOW_S:
            self._keep(data, "slow", f"{took:.1f} s of processor time\n")
        if _peak_mb() > peak + GROWTH_MB:
            self._keep(data, "memory", f"{_peak_mb() - peak:.0f} MB more for this one\n")
        self.slowest_s = max(self.slowest_s, took)
        if _peak_mb() > MEMORY_MB - GROWTH_MB:
            self.close()  # the fuzzer itself lets memory go only at its end

    def _keep(self, data: bytes, kind: str, words_: str) -> None:
        folder = self.home / "found" / _slug(self.name)
        folder.mkdir(parents=True, exist_ok=True)
        if not (folder / f"{kind}.txt").exists():
            (folder / f"{kind}.bin").write_bytes(data)
            (folder / f"{kind}.txt").write_text(words_, "utf-8")

    def close(self) -> None:
        """Say what was done and end the process; the fuzzer's own end would skip this."""
        self._path.unlink(missing_ok=True)
        self._path.parent.rmdir()
        said = {"inputs": self.inputs, "slowest_s": self.slowest_s, "memory_mb": round(_peak_mb())}
        (self.home / f"{_slug(self.name)}.last.json").write_text(json.dumps(said), "utf-8")
        os._exit(0)


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _where(error: BaseException) -> str:
    """Name a failure by its kind and the innermost place in our code."""
    ours = [f for f in traceback.extract_tb(error.__traceback__) if "loopwright" in f.filename]
    place = f"{Path(ours[-1].filename).stem}-{ours[-1].lineno}" if ours else "outside"
    return f"{type(error).__name__}-{place}"


def _dictionary(seeds: tuple[bytes, ...], path: Path) -> Path:
    """Write the words of the seeds and odd pieces as a dictionary for the fuzzer."""
    from test_io_fuzz import PIECES

    pieces = {word for seed in seeds for word in re.findall(rb"[A-Za-z_.:<>/\"]{2,24}", seed)}
    lines = [
        '"' + "".join(f"\\x{byte:02x}" for byte in piece[:60]) + '"'
        for piece in sorted(pieces | set(PIECES))
    ]
    path.write_text("\n".join(lines), "ascii")
    return path


def _one(name: str, seconds: float, home: Path) -> int:
    """Fuzz one reader under atheris until the time is up."""
    import atheris

    with atheris.instrument_imports(include=["loopwright.io", "loopwright.model", "fitdecode"]):
        run = _Run(name, seconds, home)
    corpus = home / "corpus" / _slug(name)
    found = home / "found" / _slug(name)
    for folder in (corpus, found):
        folder.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(run.target.seeds):
        (corpus / f"seed-{number}").write_bytes(seed)
    flags = [
        f"-max_total_time={seconds + 60:.0f}", f"-rss_limit_mb={MEMORY_MB}", "-timeout=60",
        f"-max_len={run.target.longest}", f"-artifact_prefix={found}/", "-verbosity=0",
        f"-dict={_dictionary(run.target.seeds, home / f'{_slug(name)}.dict')}",
        "-print_final_stats=0",
    ]  # fmt: skip
    feed: Callable[[bytes], None] = run.feed
    atheris.Setup([sys.argv[0], *flags, str(corpus)], feed)
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
