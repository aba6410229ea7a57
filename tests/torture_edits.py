"""Thousands of steps of everything a person can do to areas, in any order, with two windows.

Run: ``python tests/torture_edits.py --steps 20000 --seed 1``. The rules are those of
``test_edits_stateful``, which the tests run in a short form. Any step after which a window, a file
or unsaved work kept aside is not what the model says ends the run with the shortest way to it.
"""

from __future__ import annotations

import argparse
import sys
import time

from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from test_edits_stateful import Machine

STEPS_A_RUN = 60
AT_ONCE = 40
"""Runs between two lines on the screen."""


def main() -> int:
    """Run until so many steps are done, and say how often each was."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--steps", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    number = options.seed
    before = time.process_time()
    while (done := Machine.steps.total()) < options.steps:
        _some(number)
        number += 1
        sys.stdout.write(f"{done:,} steps, {time.process_time() - before:.0f} s\n")
        sys.stdout.flush()
    sys.stdout.write("| step | times |\n|---|--:|\n")
    for name, times in sorted(Machine.steps.items(), key=lambda one: -one[1]):
        sys.stdout.write(f"| {name} | {times:,} |\n")
    total, spent = Machine.steps.total(), time.process_time() - before
    sys.stdout.write(f"{total:,} steps in {spent:.0f} s of processor time, nothing lost\n")
    return 0


def _some(number: int) -> None:
    how = settings(
        max_examples=AT_ONCE, stateful_step_count=STEPS_A_RUN, deadline=None, database=None,
        derandomize=False, suppress_health_check=list(HealthCheck),
        phases=(Phase.generate, Phase.shrink),
    )  # fmt: skip
    run_state_machine_as_test(seed(number)(Machine), settings=how)


if __name__ == "__main__":
    sys.exit(main())
