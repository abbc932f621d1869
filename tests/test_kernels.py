"""No verdict may hang on the processor: the judged part gives the same under other kernels of linear algebra."""

import os
import subprocess
import sys
from functools import cache

import pytest

from tests.support import ROOT

pytestmark = pytest.mark.full
KERNELS = ("Prescott", "Haswell", "SkylakeX")  # old, usual, new
JUDGED = ("judge/test_session.py", "judge/test_finisher_days.py", "ways/test_moments.py")


def child(kernel: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments], cwd=ROOT, capture_output=True, text=True, check=False,
        env={**os.environ, "OPENBLAS_CORETYPE": kernel, "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip


@cache
def said() -> dict[str, str]:
    """What airs on limits come to under each kernel that this machine can run."""
    tried = {kernel: child(kernel, "-m", "tests.judge.judged_on_limits") for kernel in KERNELS}
    # killed by a signal: the processor lacks the kernel's instructions; anything else is a fault of ours
    faults = [run.stderr for run in tried.values() if run.returncode > 0]
    assert not faults, faults[0]
    return {kernel: run.stdout for kernel, run in tried.items() if run.returncode == 0}


def test_airs_on_a_limit_are_judged_alike_to_the_letter():
    answers = said()
    assert len(answers) >= 2, f"this machine runs only {sorted(answers)} of {KERNELS}: nothing was compared"
    assert len(set(answers.values())) == 1, {kernel: len(text) for kernel, text in answers.items()}


@pytest.mark.parametrize("kernel", KERNELS)
def test_the_judged_part_passes_under_each_kernel(kernel):
    if kernel not in said():
        pytest.skip(f"this processor lacks what the kernel {kernel} needs")
    files = [f"tests/{name}" for name in JUDGED]
    run = child(kernel, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-p", "no:xdist", *files)
    assert run.returncode == 0, run.stdout[-3000:]
