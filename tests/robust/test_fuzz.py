"""A sample of the broken rigs; ``python -m tests.bench.fuzz`` runs them by the thousand."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.skipif(sys.platform != "linux", reason="forks and sets limits")
def test_300_reads_and_10_runs() -> None:
    words = ["--reads", "300", "--runs", "10", "--seed", "1"]
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.fuzz", *words],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "300 reads" in done.stdout
    assert "10 runs" in done.stdout
