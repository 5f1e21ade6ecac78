"""The validation table as Markdown: ``python -m tests.validation.table``, or ``... DEVELOPERS.md`` to put it there."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

from tests.validation.cases import CASES
from tests.validation.harness import ENGINES, Case, run


def rows(cases: Iterable[Case] = CASES) -> Iterator[str]:
    """The table, a line at a time."""
    engines = [text for engine in ENGINES for text in (engine, "error")]
    yield "| Case | Quantity | Reference | " + " | ".join(engines) + " |"
    yield "|---" * (3 + len(engines)) + "|"
    for case in cases:
        outcomes = {engine: run(case, engine) for engine in case.step}
        for quantity in case.quantities:
            cells = []
            for engine in ENGINES:
                if engine not in outcomes or engine not in quantity.tolerance:
                    cells += ["not run", ""]
                    continue
                error = quantity.error(outcomes[engine])
                unit = f" {quantity.unit}" if quantity.absolute else ""
                cells += [f"{quantity.ours(outcomes[engine]):.6g}", f"{error:.1e}{unit}"]
            name = f"{quantity.name}, {quantity.unit}"
            yield "| " + " | ".join([case.name, name, f"{quantity.reference:.6g}", *cells]) + " |"


def sources(cases: Iterable[Case] = CASES) -> Iterator[str]:
    """Source and argument of each case, a line at a time."""
    for case in cases:
        steps = ", ".join(f"{engine} at {step * 1e3:g} ms" for engine, step in case.step.items())
        yield f"- **{case.name}** ({steps}). Source: {case.source}. Tolerances: {case.why}"


BEGIN, END = "<!-- validation -->", "<!-- end of validation -->"


def put(path: Path, lines: Iterable[str]) -> None:
    """Put lines between the two marks of a file.

    Raises:
        ValueError: when the file lacks the marks.
    """
    before, _, rest = path.read_text().partition(BEGIN)
    _, mark, after = rest.partition(END)
    if not mark:
        raise ValueError(f"{path} has no place for the table between {BEGIN} and {END}")
    path.write_text("\n".join([before + BEGIN, "", *lines, "", END + after]))


if __name__ == "__main__":
    made = [*rows(), "", *sources()]
    if len(sys.argv) > 1:
        put(Path(sys.argv[1]), made)
    else:
        print("\n".join(made))
