"""What a search found: the best few beside the rig as it is, what binds them, what they cost, and what didn't go."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from simprop.report.figures import change, number
from simprop.report.structure import Amount, Cell, Items, Picture, Report, Section, Strong, Table
from simprop.report.vary import SAID, folded, short_names
from simprop.study.find.binding import at_ends, close_limits
from simprop.study.find.wanted import Candidate, Found, answer
from simprop.study.find.written import text_at
from simprop.study.vary.limits import Bound
from simprop.study.vary.table import in_unit, limit_in, shown_unit

LONG = 18
"""Letters of a heading beyond which it stands on two lines."""


def found_report(
    found: Found, name: str, pictures: Sequence[Picture] = (), cautions: Sequence[str] = ()
) -> Report:
    """All of it, section by section.

    Args:
        found: the search.
        name: of the rig.
        pictures: beside it.
        cautions: of the rig.
    """
    sections = [
        _verdict(found),
        _table(found),
        _each(found),
        _front(found),
        _tried(found),
        Section("pictures", "", pictures, (), {}),
        Section(
            "cautions", "Cautions", [Items(cautions)] if cautions else [], [], {"cautions": list(cautions)}
        ),
    ]
    return Report(f"{name}: found", [s for s in sections if s.blocks])


def wanted_line(found: Found) -> str:
    """What was wanted, in a line.

    Args:
        found: the search.
    """
    wanted = found.wanted
    said = [bound.text for bound in wanted.bounds]
    goals = [f"{'least' if goal.sign > 0 else 'most'} {goal.text}" for goal in wanted.goals]
    parts = [
        ("Wanted", said[: wanted.wants]),
        ("To be kept", said[wanted.wants :]),
        ("Aim", goals),
    ]
    return ". ".join(f"{head}: {', '.join(own)}" for head, own in parts if own) + "."


def _verdict(found: Found) -> Section:
    """Whether it was found, and where it wasn't, how near it came."""
    blocks: list[Strong | str] = [wanted_line(found)]
    if found.met:
        best = found.best[0]
        blocks.append(Strong(f"{'The best so far' if found.stopped else 'Found'}: {said(found, best)}."))
        if found.own.holds and not found.wanted.goals:
            blocks.append("The rig as it is does all of it too.")
    elif not found.best or found.best[0].outcome.ended not in ("done", "ruled out"):
        blocks.append(Strong("Nothing that was tried came to be asked."))
    else:
        best = found.best[0]
        misses = "; ".join(_missed(found, best))
        blocks.append(
            Strong(f"No variant does all of it. The nearest, {said(found, best)}, misses: {misses}.")
        )
    if found.stopped:
        blocks.append("Stopped before its end, and nothing is settled. The same command goes on from here.")
    data = {
        "wanted": [bound.text for bound in found.wanted.bounds],
        "goals": [goal.text for goal in found.wanted.goals],
        "found": found.met,
        "stopped": found.stopped,
        "seed": found.seed,
        "tried": len(found.tried),
    }
    return Section("search", "", blocks, None, {"search": data})


def said(found: Found, one: Candidate) -> str:
    """The fields of a variant with what stands in them.

    Args:
        found: the search.
        one: a variant of it.
    """
    names, called = short_names(found.spans), _called(found)
    return ", ".join(f"{names[field]} {called.get(text, text)}" for field, text in one.variant.sets)


def _called(found: Found) -> dict[str, str]:
    """What was said for texts of choices."""
    return {
        text: word
        for span in found.spans
        for text, word in zip(span.choices, span.called or span.choices, strict=True)
    }


def _missed(found: Found, one: Candidate) -> Iterator[str]:
    """What a variant misses, with what it answers."""
    for bound, ask, miss in zip(found.wanted.bounds, found.wanted.asks, one.misses, strict=True):
        if miss > 0.0:
            value = one.outcome.answers[ask]
            why = one.outcome.unknown[ask] if one.outcome.unknown else ""
            yield (
                f"{bound.text} (it is {_told(found, one, ask)})"
                if value
                else f"{bound.text} ({why or 'not known'})"
            )


def _told(found: Found, one: Candidate, ask: int, digits: int = 4) -> str:
    """An answer in the unit that people use for it."""
    value = one.outcome.answers[ask]
    if value is None:
        return "-"
    unit = shown_unit(value)
    mark = "~" if one.outcome.level in ("draft", "swept") else ""
    return f"{mark}{number(in_unit(value, unit), digits)} {unit}".strip()


def _table(found: Found) -> Section:
    """The rig as it is and the best few, column by column."""
    shown = [found.own, *found.best]
    titles = ["", ">as it is", *(f">{k}" for k in range(1, len(found.best) + 1))]
    rows: list[list[Cell]]
    rows = [*_fields(found, shown), *_answers(found, shown), ["does all", *(_holds(one) for one in shown)]]
    brief = [[folded(str(row[0]), LONG), *row[1:]] for row in rows]
    drafts = [one for one in shown if one.outcome.level in ("draft", "swept")]
    note = ["~: a draft, one time step; the others are settled."] if 0 < len(drafts) < len(shown) else []
    note = ["All are drafts, one time step each (~)."] if len(drafts) == len(shown) else note
    return Section("variants", "", [Table(titles, rows), *note], [Table(titles, brief), *note])


def _fields(found: Found, shown: Sequence[Candidate]) -> Iterator[list[Cell]]:
    """What stands in each field that may change, field by field."""
    names, called = short_names(found.spans), _called(found)
    for span in found.spans:
        texts = [dict(one.variant.sets).get(span.field) or own_text(found, span.field) for one in shown]
        yield [names[span.field], *(called.get(text, text) for text in texts)]


def _answers(found: Found, shown: Sequence[Candidate]) -> Iterator[list[Cell]]:
    """The answers to each question, question by question."""
    for ask, text in enumerate(found.study.asks):
        known = next((a for one in shown if (a := one.outcome.answers[ask]) is not None), None)
        unit = "" if known is None else shown_unit(known)
        yield [f"{text}, {unit}" if unit else text, *(_cell(one, ask, unit) for one in shown)]


def own_text(found: Found, field: str) -> str:
    """What stands in a field of the rig as it is; "" where nothing does."""
    if field in found.study.sets:
        return found.study.sets[field]
    return text_at(found.study, field)


def _cell(one: Candidate, ask: int, unit: str) -> Amount:
    value = one.outcome.answers[ask]
    if value is None:
        return Amount(None, unit, "-")
    own = in_unit(value, unit)
    mark = "~" if one.outcome.level in ("draft", "swept") else ""
    return Amount(own, unit, mark + number(own, 4))


def _holds(one: Candidate) -> str:
    if one.outcome.ended not in ("done", "ruled out"):
        return SAID[one.outcome.ended][0]
    return "yes" if one.holds else "no"


def _each(found: Found) -> Section:
    """What binds each of the best few, and how it differs from the rig as it is and from the first."""
    items: list[str | list[str]] = []
    for k, one in enumerate(found.best, 1):
        below = [*_binds(found, one)]
        against = _against(found, found.own, one)
        if against:
            below.append(f"against the rig as it is: {against}")
        if k > 1:
            below.append(
                f"against 1: {_against(found, found.best[0], one) or 'the same within half a percent'}"
            )
        items.append([f"{k}: {said(found, one)}", *below])
    return Section("each", "", [Items(items)] if items else [])


def _binds(found: Found, one: Candidate) -> Iterator[str]:
    for bind in close_limits(found, one):
        unit, limit = _limit(found, bind.bound, bind.ask, bind.limit, one)
        yield f"{bind.bound.ask} binds: {_told(found, one, bind.ask)}, and {limit} {unit} is its limit".replace(
            "  ", " "
        )
    names = short_names(found.spans)
    for span in at_ends(found.spans, one.variant):
        text = dict(one.variant.sets)[span.field]
        yield f"{names[span.field]} stands at the end of its range, {text}: widen it to see beyond"


def _limit(found: Found, bound: Bound, ask: int, limit: float, one: Candidate) -> tuple[str, str]:
    own = one.outcome.answers[ask]
    unit = "" if own is None else shown_unit(own)
    return unit, number(limit_in(unit, [own], limit), 4)


def _against(found: Found, base: Candidate, one: Candidate) -> str:
    """By how much each answer differs from another variant's."""
    parts = []
    for ask, text in enumerate(found.study.asks):
        told = change(answer(base.outcome, ask), answer(one.outcome, ask))
        if told and told != "same":
            parts.append(f"{text} {told}")
    return ", ".join(parts)


def _front(found: Found) -> Section:
    """Of several goals: all that no other beats, as a table."""
    if not found.front:
        return Section("front", "", [])
    goals, names = found.wanted.goals, short_names(found.spans)
    units = []
    for goal in goals:
        known = next((a for one in found.front if (a := one.outcome.answers[goal.ask]) is not None), None)
        units.append("" if known is None else shown_unit(known))
    heads = [f">{g.text}, {u}" if u else f">{g.text}" for g, u in zip(goals, units, strict=True)]
    rows: list[list[Cell]] = []
    for one in found.front:
        texts = dict(one.variant.sets)
        cells = [_cell(one, goal.ask, unit) for goal, unit in zip(goals, units, strict=True)]
        rows.append([*(texts[span.field] for span in found.spans), *cells])
    count = f"{len(found.front)} of what was tried can't be beaten in one aim without losing in another"
    brief = [f"{count}: found.md lists them, front.png draws them."]
    return Section("front", "Not beaten", [f"{count}:", Table([*names.values(), *heads], rows)], brief)


def _tried(found: Found) -> Section:
    """How many were tried, and what didn't go, with an example of each."""
    total = len(found.tried)
    items: list[str | list[str]] = [f"{total:,} variants tried, seed {found.seed}; {_depths(found)}"]
    for ended, (_, one, many) in SAID.items():
        own = [c for c in found.tried if c.outcome.ended == ended]
        if own:
            head = f"{len(own):,} of {total:,} {one if len(own) == 1 else many}"
            items.append([head, f"{said(found, own[0])}: {own[0].outcome.reason.partition(chr(10))[0]}"])
    for ask, text in enumerate(found.study.asks):
        own = [c for c in found.tried if c.outcome.ended == "done" and answer(c.outcome, ask) is None]
        if own:
            why = own[0].outcome.unknown[ask].partition("\n")[0]
            items.append([f"{text} isn't known of {len(own):,}", f"{said(found, own[0])}: {why}"])
    data = {
        "ended": {
            ended: count
            for ended in ("done", *SAID)
            if (count := sum(c.outcome.ended == ended for c in found.tried))
        }
    }
    return Section("tried", "", [Items(items)], None, data)


def _depths(found: Found) -> str:
    """How deep variants were looked into."""
    levels = {one.outcome.level for one in found.tried}
    if levels <= {"still", "swept"}:
        how = "by where the mechanism goes"
    elif levels == {"settled"}:
        return "each settled"
    else:
        how = "as drafts, one time step each"
    settled = found.last == "settled" and not found.stopped
    return f"{how}{', the best settled' if settled else ''}."
