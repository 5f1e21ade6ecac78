"""Cases on an engine that isn't installed here are skipped, with the reason."""

from __future__ import annotations

import os
from collections.abc import Generator
from importlib.util import find_spec

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line has it, before numpy is loaded

from simprop.errors import EngineMissingError

MISSING = {"bullet"} if find_spec("pybullet") is None else set()


@pytest.fixture(params=["mujoco", "exudyn", "bullet"])
def engine(request: pytest.FixtureRequest) -> str:
    """Each engine in turn; those that aren't installed here are skipped."""
    name = str(request.param)
    pytest.importorskip({"bullet": "pybullet"}.get(name, name))
    return name


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Skip what is parametrised with a missing engine."""
    for item in items:
        values = getattr(getattr(item, "callspec", None), "params", {}).values()
        for engine in MISSING & {v for v in values if isinstance(v, str)}:
            item.add_marker(
                pytest.mark.skip(reason=f"{engine} isn't installed here (no wheel for this Python)")
            )


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, object, object]:
    """A test that asks for a missing engine by itself is skipped too."""
    try:
        return (yield)
    except (EngineMissingError, ImportError) as error:
        if MISSING and ("PyBullet" in str(error) or "pybullet" in str(error)):
            pytest.skip(str(error))
        raise
