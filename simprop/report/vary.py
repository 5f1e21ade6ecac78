"""What came of the variants of a prop: what each answered, which keep their limits, what went wrong."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from simprop.report.comparison import shortest
from simprop.report.figures import number
from simprop.report.structure import Amount, Cell, Items, Picture, Report, Section, Table
from simprop.study.types import Ended, Limit, Outcome, Study, Variant
from simprop.study.vary.limits import Bound
from simprop.study.vary.ranges import Span
from simprop.study.vary.table import Column, answer_columns, field_columns
from simprop.study.vary.worth import FEW, NEAR, held, missed, ranked

MOST = 12
"""Variants that a terminal shows."""
WIDE = 7
"""Columns of fields and answers that it shows."""
NOTHING = 1e-3
"""A change is told against the answer, or against this share of the largest one."""
SAME = 1e-3
"""Smaller changes aren't worth a word."""
DOUBT = 0.1
"""Where settling moves an answer by more than this share, drafts aren't good enough."""
SAID: dict[Ended, tuple[str, str, str]] = {
    "refused": ("refused", "can't be so", "can't be so"),
    "open": ("doesn't close", "doesn't close", "don't close"),
    "jams": ("jams", "jams", "jam"),
    "wrong": ("goes wrong", "goes wrong", "go wrong"),
    "lost": ("lost", "was lost", "were lost"),
    "ruled out": ("ruled out", "was ruled out before its run", "were ruled out before their runs"),
}
"""How what didn't end as done is told: in a table, of one, of several."""


@dataclass(frozen=True)
class Varied:
    """A study with what came of its variants.

    Attributes:
        name: of the rig.
        spans: what varies.
        study: what is asked.
        bounds: what has to hold, in the order of the study's limits.
        how: how the variants were chosen, such as "grid".
        planned: how many there are in all.
        variants: those that came to an end.
        outcomes: of each.
        drafts: outcomes that settled ones took the place of, by the places of their variants.
    """

    name: str
    spans: tuple[Span, ...]
    study: Study
    bounds: tuple[Bound, ...]
    how: str
    planned: int
    variants: Sequence[Variant]
    outcomes: Sequence[Outcome]
    drafts: dict[int, Outcome]

    @property
    def limits(self) -> tuple[Limit, ...]:
        """What has to hold, as numbers."""
        return self.study.limits


def vary_report(varied: Varied, pictures: Sequence[Picture] = ()) -> Report:
    """All of it, section by section.

    Args:
        varied: what was done.
        pictures: beside it.
    """
    found = [_summary(varied), _table(varied), _troubles(varied), Section("pictures", "", pictures, (), {})]
    return Report(f"{varied.name}: varied", [s for s in found if s.blocks])


def short_names(spans: Sequence[Span]) -> dict[str, str]:
    """Each field by the last words that tell it from the others."""
    fields = [span.field for span in spans]
    return {field: shortest(field, fields) for field in fields}


def _summary(varied: Varied) -> Section:
    count, limits = len(varied.outcomes), varied.limits
    items = [f"{count:,} variant{'s' * (count != 1)}: {varied.how}."]
    if count < varied.planned:
        items.append(
            f"Stopped before the end: {varied.planned - count:,} of {varied.planned:,} weren't tried."
        )
    if limits:
        keeps = [held(one, limits) for one in varied.outcomes]
        told = f"{keeps.count(True):,} of {count:,} keep {_all(varied.bounds)}"
        best = " Best is what stays furthest within." if keeps.count(True) > 1 else ""
        unknown = sum(k is None and o.ended == "done" for k, o in zip(keeps, varied.outcomes, strict=True))
        items.append(told + (f"; of {unknown:,} it isn't known." if unknown else ".") + best)
    items += _depth(varied)
    data = {
        "variants": count,
        "planned": varied.planned,
        "chosen": varied.how,
        "asked": list(varied.study.asks),
        "keep": [bound.text for bound in varied.bounds],
    }
    return Section("summary", "", [Items(items)], None, {"study": data})


def _all(bounds: Sequence[Bound]) -> str:
    return bounds[0].text if len(bounds) == 1 else f"all {len(bounds)} limits"


def _depth(varied: Varied) -> Iterator[str]:
    """How deep they were looked into, and by how much that moved the answers."""
    levels = [one.level for one in varied.outcomes if one.ended == "done"]
    drafts, settled = levels.count("draft"), levels.count("settled")
    if drafts and settled:
        near = f"the best {FEW}, and those within {100 * NEAR:.0f} % of a limit"
        which = near if varied.limits else f"the {FEW} highest and lowest"
        yield f"Settled: {settled:,} ({which}); the other {drafts:,} are drafts, one time step each (~)."
    elif drafts:
        yield "All are drafts, one time step each (~)."
    elif settled:
        yield "All are settled: the step halved until the peaks stood still."
    moved = list(_moved(varied))
    told = [f"{ask} by {100 * share:.2g} %" for ask, share in moved if share > SAME]
    if told:
        yield f"Settling moved {', '.join(told)} at most."
    elif moved:
        yield f"Settling moved no answer by more than {100 * SAME:g} %."
    if any(share > DOUBT for _, share in moved):
        yield "That is much: the drafts are rough here, and --settle all tells more."


def _moved(varied: Varied) -> Iterator[tuple[str, float]]:
    """By what share of itself each answer was moved at most."""
    places = sorted(varied.drafts)
    before = answer_columns(varied.study.asks, [varied.drafts[k] for k in places])
    after = answer_columns(varied.study.asks, [varied.outcomes[k] for k in places])
    for old, new in zip(before, after, strict=True):
        known = np.isfinite(old.values) & np.isfinite(new.values)
        size = max(float(np.abs(new.values[known]).max(initial=0.0)), 1e-12)
        if known.any():
            own = np.maximum(np.abs(new.values[known]), NOTHING * size)
            yield old.name, float((np.abs(new.values[known] - old.values[known]) / own).max())


def _table(varied: Varied) -> Section:
    rows = shown_rows(varied.outcomes, varied.limits, MOST)
    left = len(varied.outcomes) - len(rows)
    more = (
        [f"... {left:,} more in variants.csv; shown: the best, the worst, and others evenly."] if left else []
    )
    whole, brief = _grid(varied, rows, len(varied.spans) + len(varied.study.asks)), _grid(varied, rows, WIDE)
    hidden = len(whole.titles) - len(brief.titles)
    short = [f"{hidden} more column{'s' * (hidden > 1)} there."] if hidden else []
    letters = max(8, 80 // len(brief.titles) - 2)
    titles = [folded(title, letters) for title in brief.titles]
    return Section("variants", "", [whole, *more], [Table(titles, brief.rows), *more, *short])


def folded(title: str, letters: int) -> str:
    """A heading in lines of about so many letters, broken between words.

    Example:
        >>> folded(">stall_margin(drive)", 12).splitlines()
        ['>stall', '_margin', '(drive)']
    """
    lines = [""]
    for piece in re.findall(r".[^ (._]*", title):
        if len(lines[-1]) + len(piece) > letters and lines[-1].strip("> "):
            lines.append("")
        lines[-1] += piece
    return "\n".join(line.strip() for line in lines)


def _grid(varied: Varied, rows: Sequence[int], most: int) -> Table:
    """Some variants with the first of their fields and answers, up to so many columns."""
    fields = field_columns(varied.spans, varied.variants)
    answers = answer_columns(varied.study.asks, varied.outcomes)
    fields = fields[: max(1, most - len(answers))]
    answers = answers[: max(1, most - len(fields))]
    names = short_names(varied.spans)
    titles = [("" if c.texts else ">") + names[c.name] + _unit(c) for c in fields]
    titles += [f">{c.name}{_unit(c)}" for c in answers]
    order = ranked(varied.outcomes, varied.limits)
    marks = _marks(order, bool(varied.limits))
    found: list[list[Cell]] = []
    for k in rows:
        outcome = varied.outcomes[k]
        said = [s for s in (_verdict(outcome, varied.limits), marks.get(k, "")) if s]
        own = [_field(column, k) for column in fields]
        found.append([*own, *(_answer(column, k, outcome.level) for column in answers), ", ".join(said)])
    return Table([*titles, ""], found)


def _unit(column: Column) -> str:
    return f", {column.unit}" if column.unit else ""


def _field(column: Column, k: int) -> Cell:
    value = float(column.values[k])
    return column.texts[int(value)] if column.texts else Amount(value, column.unit, f"{value:.5g}")


def _answer(column: Column, k: int, level: str) -> Amount:
    value = float(column.values[k])
    if not np.isfinite(value):
        return Amount(None, column.unit, "-")
    return Amount(value, column.unit, ("~" if level in ("draft", "swept") else "") + number(value, 4))


def _marks(order: Sequence[int], limits: bool) -> dict[int, str]:
    if len(order) < 2:
        return {}
    return {order[0]: "best"} if limits else {order[0]: "highest", order[-1]: "lowest"}


def _verdict(outcome: Outcome, limits: Sequence[Limit]) -> str:
    if outcome.ended != "done":
        return SAID[outcome.ended][0]
    if not limits:
        return ""
    lost = missed(outcome, limits)
    if not lost:
        return "keeps" if held(outcome, limits) else "not known"
    if len(limits) == 1:
        return "misses"
    return f"misses {len(lost)} of {len(limits)}"


def shown_rows(outcomes: Sequence[Outcome], limits: Sequence[Limit], most: int) -> list[int]:
    """Which variants a table shows, in their order: all where they are few, else the best, the worst, others evenly.

    Args:
        outcomes: of all.
        limits: by which they are ranked.
        most: rows.
    """
    count = len(outcomes)
    if count <= most:
        return list(range(count))
    order = ranked(outcomes, limits)
    ends = [*order[: most // 4], *order[-(most // 4) :]]
    other = most - len(ends)
    evenly = [round(k * (count - 1) / (other - 1)) for k in range(other)]
    return sorted(dict.fromkeys([*ends, *evenly]))


def _troubles(varied: Varied) -> Section:
    """What didn't end as done, counted with an example, and what isn't known of what did."""
    items: list[list[str]] = []
    for ended, (_, one, many) in SAID.items():
        own = [k for k, outcome in enumerate(varied.outcomes) if outcome.ended == ended]
        if own:
            head = f"{len(own):,} of {len(varied.outcomes):,} {one if len(own) == 1 else many}"
            items.append([head, f"{_called(varied, own[0])}: {_first_line(varied.outcomes[own[0]].reason)}"])
    for k, ask in enumerate(varied.study.asks):
        own = [i for i, o in enumerate(varied.outcomes) if o.ended == "done" and o.answers[k] is None]
        if own:
            why = varied.outcomes[own[0]].unknown[k]
            items.append(
                [f"{ask} isn't known of {len(own):,}", f"{_called(varied, own[0])}: {_first_line(why)}"]
            )
    return Section("troubles", "", [Items(items)] if items else [])


def _called(varied: Varied, k: int) -> str:
    names = short_names(varied.spans)
    return ", ".join(f"{names.get(field, field)} {text}" for field, text in varied.variants[k].sets)


def _first_line(text: str) -> str:
    return text.partition("\n")[0]
