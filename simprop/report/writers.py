"""A report as Markdown, as JSON and on a terminal of 80 columns."""

from __future__ import annotations

import io
import json
import math
import re
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from simprop.report.structure import Amount, Block, Cell, Clip, Inset, Items, Picture, Report, Strong, Table

WIDTH = 80


def markdown(report: Report) -> str:
    """A report as Markdown; what a name may hold is written so that it stands there as it is."""
    lines = [f"# {escaped(report.title)}", ""]
    for section in report.sections:
        if not section.blocks:
            continue
        if section.title:
            lines += [f"## {escaped(section.title)}", ""]
        for block in section.blocks:
            lines += [*_markdown(block), ""]
    return "\n".join(lines).rstrip() + "\n"


def _markdown(block: Block) -> list[str]:
    if isinstance(block, str):
        return [escaped(block)]
    if isinstance(block, Strong):
        return [f"**{escaped(block.text)}**"]
    if isinstance(block, Picture):
        return [f"![{escaped(block.about)}]({block.file})"]
    if isinstance(block, Inset):
        return [f"![{escaped(block.about)}]({block.still})"]
    if isinstance(block, Clip):
        return [f"[![{escaped(block.about)}]({block.still})]({block.file})"]
    if isinstance(block, Items):
        mark = "1. " if block.numbered else "- "
        return [mark + _item(item) for item in block.items]
    sides = ["---:" if t.startswith(">") else "---" for t in block.titles]
    rows = [[t.removeprefix(">") for t in block.titles], *block.rows]
    lines = ["| " + " | ".join(escaped(cell_text(c)) for c in row) + " |" for row in rows]
    return [lines[0], f"| {' | '.join(sides)} |", *lines[1:]]


def _item(item: str | Sequence[str]) -> str:
    if isinstance(item, str):
        return escaped(item)
    return f"**{escaped(item[0])}**: {escaped('; '.join(item[1:]))}"


def escaped(text: str) -> str:
    """Text as Markdown that shows it as it is; units of moment with a dot.

    Example:
        >>> escaped("a|b *c* <d> is 2 N*m, write `held_by: {bolt: x}`")
        'a\\\\|b \\\\*c\\\\* &lt;d> is 2 N·m, write `held_by: {bolt: x}`'
    """
    spans = code_spans(text)
    spans[::2] = [re.sub(r"([\\`*_|\[\]])", r"\\\1", s).replace("<", "&lt;") for s in spans[::2]]
    return "".join(spans)


def code_spans(text: str) -> list[str]:
    """Text on one line, every second piece of it code between backticks; units of moment with a dot but in code.

    Example:
        >>> code_spans("2 N*m, as `rate: 2 N*m/rad` says")
        ['2 N·m, as ', '`rate: 2 N*m/rad`', ' says']
    """
    spans = re.split(r"(`[^`|]*`)", " ".join(text.split()))
    spans[::2] = [re.sub(r"\b(N|kg|kgf|ozf)\*(?=m|s|cm|in\b)", r"\1·", span) for span in spans[::2]]
    return spans


def cell_text(cell: Cell) -> str:
    """What people read in a cell."""
    return cell.text if isinstance(cell, Amount) else cell


def as_json(report: Report) -> str:
    """A report as JSON, SI; null is 'not computed' or 'without limit'."""
    data: dict[str, Any] = {"report": report.title}
    for section in report.sections:
        if section.data is not None:
            data |= section.data
        else:
            data[section.key] = [
                _data(block) for block in section.blocks if not isinstance(block, Picture | Clip | Inset)
            ]
    return json.dumps(_clean(data), indent=2, allow_nan=False) + "\n"


def _data(block: Block) -> Any:
    if isinstance(block, Table):
        keys = [t.removeprefix(">") for t in block.titles]
        return [dict(zip(keys, map(_cell, row), strict=True)) for row in block.rows]
    if isinstance(block, Items):
        return list(block.items)
    return block.text if isinstance(block, Strong) else block


def _cell(cell: Cell) -> Any:
    return {"value": cell.value, "unit": cell.unit} if isinstance(cell, Amount) else cell


def _clean(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(k): _clean(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(v) for v in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def show(report: Report, console: Console) -> None:
    """Print a report; a section with a title stands apart."""
    for section in report.sections:
        blocks = section.blocks if section.brief is None else section.brief
        shown = [block for block in blocks if not isinstance(block, Picture | Clip | Inset)]
        if shown and section.title:
            console.print(Text(f"\n{section.title}"))
        for block in shown:
            _print(block, console)


def _print(block: Block, console: Console) -> None:
    if isinstance(block, Strong | str):
        text, style = (block, "") if isinstance(block, str) else (block.text, "bold")
        for line in _folded(text, ""):
            console.print(Text(line, style=style))
    elif isinstance(block, Items):
        for k, item in enumerate(block.items, 1):
            head, *below = [item] if isinstance(item, str) else item
            mark = f"{k}. " if block.numbered else "- "
            for line in _folded(head, mark):
                console.print(Text(line))
            for text in below:
                for line in _folded(text, " " * (len(mark) + 2)):
                    console.print(Text(line))
    elif isinstance(block, Table):
        grid = Grid(box=None, pad_edge=False, header_style="bold")
        for title in block.titles:
            right = title.startswith(">")
            grid.add_column(title.removeprefix(">"), overflow="fold", justify="right" if right else "left")
        for row in block.rows:
            grid.add_row(*(Text(cell_text(cell)) for cell in row))
        console.print(grid)


UNIT = re.compile(r"(?<=\d) (?=%|(?:N\*m|N|A|V|W|J|Hz|mm|m|kg|g|ms|s|min|h|deg|degC|rpm|ohm)\b)")
"""The space between a number and its unit, at which no line is broken."""


def _folded(text: str, mark: str) -> list[str]:
    """Lines of at most 80 columns; a number keeps its unit beside it.

    Example:
        >>> _folded("It carries so much over and over again, and has a margin of as much as about 25 % left", "- ")
        ['- It carries so much over and over again, and has a margin of as much as about', '  25 % left']
    """
    rest = " " * len(mark)
    lines = textwrap.wrap(
        UNIT.sub("\0", text),
        WIDTH,
        initial_indent=mark,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace("\0", " ") for line in lines]


def plain(report: Report) -> str:
    """What `show` prints on 80 columns, without colours."""
    file = io.StringIO()
    show(report, Console(file=file, width=WIDTH, highlight=False, color_system=None))
    return "\n".join(line.rstrip() for line in file.getvalue().strip("\n").splitlines()) + "\n"
