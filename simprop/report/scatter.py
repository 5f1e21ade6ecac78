"""What scattered builds of a prop come to, in words and tables: spread of answers, how many pass, what moves them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import Any

from simprop.report.figures import number
from simprop.report.structure import Amount, Block, Cell, Items, Section, Strong, Table
from simprop.study.vary.spread import DEAD, SURE, AnswerSpread, Passed, Spread

MOVERS = 3
"""Things told that move an answer most, on the terminal."""
RARE = 20
"""Under so many builds the ends of a spread are guesses."""


def scatter_sections(
    spreads: Sequence[Spread], within: Sequence[str], how: str, *, settled: bool = False
) -> tuple[Section, ...]:
    """The sections of scattered builds, for a report of variants.

    Args:
        spreads: of `spreads_of`, one a variant.
        within: how far things were off, as said: ``lengths=1 mm``.
        how: how the builds were drawn, such as ``a Latin hypercube, seed 1``.
        settled: each was run until its peaks stood still.
    """
    depth = "each run until its peaks stood still" if settled else "drafts, one time step each"
    return _passing(spreads, within, f"{how}; {depth}"), _table(spreads), _moving(spreads)


def _passing(spreads: Sequence[Spread], within: Sequence[str], how: str) -> Section:
    builds = len(spreads[0].ended)
    told = ", ".join(text.replace("=", " ") for text in within)
    each = f" of each of {len(spreads)} variants" if len(spreads) > 1 else ""
    items: list[str] = [
        f"{builds:,} builds{each}, each thing anywhere within {told}, all alike likely: {how}."
    ]
    strong: list[Strong] = []
    for one in spreads:
        label = _label(one, spreads)
        for passed in one.keeps:
            sentence = f"{label}{pass_words(passed)}"
            if passed is one.keeps[-1]:
                strong.append(Strong(sentence))
            else:
                items.append(sentence)
        items += [f"{label}{words}" for words in _dead(one)]
    if any(one.keeps for one in spreads):
        items.append(
            f"The range holds the share of all builds that pass in {100 * SURE:.0f} of 100 cases (Wilson's), if builds "
            "are off as said."
        )
    if builds < RARE:
        items.append(f"{builds} builds are few: the ends of each spread are a guess.")
    return Section(
        "builds", "Builds", [*strong, Items(items)], None, {"builds": [_data(one) for one in spreads]}
    )


def pass_words(passed: Passed) -> str:
    """How many builds pass, in words.

    Example:
        >>> pass_words(Passed("strength > 1", 181, 200, 0, 0.856, 0.938))
        '181 of 200 builds pass strength > 1 (86 to 94 %).'
    """
    what = passed.text or "all that has to hold"
    if not passed.of:
        return f"Of no build it is known whether it keeps {what}."
    unknown = f"; of {passed.unknown} more it isn't known" if passed.unknown else ""
    return (
        f"{passed.passed:,} of {passed.of:,} builds pass {what} ({100 * passed.least:.0f} to "
        f"{100 * passed.most:.0f} %){unknown}."
    )


def variant_label(one: Spread) -> str:
    """What was set in a variant, in words; "as it is" where nothing was.

    Example:
        >>> variant_label(Spread((("motors.drive.supply", "5 V 5 A"),), (), (), ()))
        'supply 5 V 5 A'
    """
    return ", ".join(f"{field.rpartition('.')[2]} {text}" for field, text in one.sets) or "as it is"


def _label(one: Spread, spreads: Sequence[Spread]) -> str:
    return "" if len(spreads) == 1 else f"{variant_label(one)}: "


def _dead(one: Spread) -> Iterator[str]:
    """What didn't end as done."""
    words = {
        "refused": "can't be so",
        "open": "don't close",
        "jams": "jam",
        "wrong": "go wrong",
        "lost": "were lost",
    }
    for how, said in words.items():
        count = one.ended.count(how)
        if count:
            fail = ", and don't pass" if how in DEAD else ""
            yield f"{count:,} of {len(one.ended):,} {said}{fail}."


def _table(spreads: Sequence[Spread]) -> Section:
    titles = ["asked", "unit", ">mean", ">spread", ">5 %", ">95 %", ">least", ">greatest"]
    rows: list[list[Cell]] = []
    for one in spreads:
        for answer in one.answers:
            known = answer.known
            ends = (known.min(), known.max()) if len(known) else (None, None)
            values = (answer.mean, answer.deviation, answer.low, answer.high, *ends)
            rows.append(
                [_label(one, spreads) + answer.ask, answer.unit, *(_amount(v, answer) for v in values)]
            )
    note = "Spread is the standard deviation; 5 % of the builds lie under the one end, 5 % over the other."
    return Section("spread", "Spread", [Table(titles, rows), note], None, {})


def _amount(value: Any, answer: AnswerSpread) -> Amount:
    known = value is not None and isfinite(value)
    return Amount(float(value) if known else None, answer.unit, number(float(value), 4) if known else "-")


def _moving(spreads: Sequence[Spread]) -> Section:
    titles = ["asked", "moved by", ">share", ">at its limit"]
    rows: list[list[Cell]] = []
    for one in spreads:
        for answer in one.answers:
            for k, mover in enumerate(answer.movers[:MOVERS]):
                label = _label(one, spreads) + answer.ask if not k else ""
                sign = "+" if mover.shift > 0 else ""
                shift = f"{sign}{number(mover.shift)} {answer.unit}".rstrip()
                rows.append(
                    [label, mover.key, f"{100 * mover.share:.0f} %", Amount(mover.shift, answer.unit, shift)]
                )
    note = (
        "Share: of the variance, by a straight line in this thing alone (its correlation squared); what is left comes "
        "of smaller things, and of bends and interplay. At its limit: what the answer changes by where the thing is "
        "off by all that it may, upwards."
    )
    blocks: list[Block] = [Table(titles, rows), note] if rows else []
    return Section("moved_by", "What moves it", blocks, None, {})


def _data(one: Spread) -> dict[str, Any]:
    """A spread as plain data."""
    return {
        "set": dict(one.sets),
        "ended": {how: one.ended.count(how) for how in dict.fromkeys(one.ended)},
        "answers": [
            {
                "asked": a.ask,
                "unit": a.unit,
                "known": len(a.known),
                **{key: _plain(getattr(a, key)) for key in ("mean", "deviation", "low", "high")},
                "least": _plain(a.known.min() if len(a.known) else None),
                "greatest": _plain(a.known.max() if len(a.known) else None),
                "moved_by": [{"what": m.key, "share": m.share, "shift": m.shift} for m in a.movers],
            }
            for a in one.answers
        ],
        "keep": [
            {"limit": k.text, "passed": k.passed, "of": k.of, "unknown": k.unknown}
            | {"least": _plain(k.least), "most": _plain(k.most)}
            for k in one.keeps
        ],
    }


def _plain(value: Any) -> float | None:
    return float(value) if value is not None and isfinite(value) else None
