"""The hardware list in words."""

from __future__ import annotations

from collections.abc import Iterator

from simprop.catalog.bought import Bought
from simprop.making.hardware import Hardware, hardware
from simprop.making.numbers import part_numbers
from simprop.making.wiring import wiring
from simprop.report.structure import Amount, Block, Items, Section, Table
from simprop.run.run import Run


def bought(run: Run) -> Section | None:
    """What to buy besides what is cut, group by group, what isn't stated, and how bolts were chosen."""
    found = hardware(run.assembly, wiring(run))
    if not found.items and not found.open:
        return None
    blocks: list[Block] = [_table(found)]
    notes = list(_notes(found))
    if notes:
        blocks += ["To know before buying:", Items(notes)]
    blocks.append(Items(list(_said(run, found))))
    return Section("hardware", "Hardware list", blocks)


def _table(found: Hardware) -> Table:
    rows: list[tuple[str | Amount, ...]] = []
    for item in found.items:
        spares = Amount(item.spares, "", f"+{item.spares}" if item.spares else "")
        rows.append((Amount(item.count, "", str(item.count)), spares, item.what, item.where))
    return Table((">buy", ">spare", "what", "where (parts)"), rows)


def _notes(found: Hardware) -> Iterator[str]:
    """What is to know of single items; the same of several is said once."""
    said: dict[str, list[str]] = {}
    for item in found.items:
        if item.note:
            said.setdefault(item.note, []).append(_short(item))
    for note, names in said.items():
        yield f"{'; '.join(dict.fromkeys(names))}: {note}"


def _short(item: Bought) -> str:
    return f"{item.what} ({item.where})" if "not told" in item.what else item.what


def _said(run: Run, found: Hardware) -> Iterator[str]:
    if found.open:
        yield f"Not stated by the rig, so not on this list: what holds {'; '.join(found.open)}."
    bodies: dict[str, int] = {}
    for part in part_numbers(run.assembly).parts:
        for body, _ in part.places:
            bodies[body] = bodies.get(body, 0) + 1
    several = [body.replace("_", " ") for body, count in bodies.items() if count > 1]
    if several:
        yield (
            f"Nor how the parts of one body are fastened to each other ({', '.join(several)}): screws, glue, brackets "
            "or welds, as suits what they are of."
        )
    if any(item.group == "bolts" for item in found.items):
        yield (
            "A bolt is as long as all it goes through as drawn, a washer under its head and its nut, what lies between "
            "the parts, the nut, and one and a half threads that stand out; then the next length that is sold. Parts "
            "drawn in one plane lie side by side, with a washer between where they turn. Measure before buying."
        )
    wears = {item.wears: item.what for item in found.items if item.wears}
    if wears:
        rows = "; ".join(f"{what} - {why}" for why, what in wears.items())
        yield f"Spares are a quarter of what wears, at least one: {rows}."
