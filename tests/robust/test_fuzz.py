"""A sample of the broken rigs; ``python -m tests.bench.fuzz`` runs them by the thousand."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.skipif(sys.platform != "linux", reason="forks and sets limits")
def test_some_reads_and_runs() -> None:
    words = ["--reads", "40", "--runs", "3", "--seed", "1"]
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.fuzz", *words],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "40 reads" in done.stdout
    assert "3 runs" in done.stdout
