"""What can be asked of a run by name; every file of measures is read, so that all of them are known."""

from simprop.study.ask import balance, cost, loads, motion  # noqa: F401
