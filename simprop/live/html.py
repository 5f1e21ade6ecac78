"""What is told of a state as short pieces of HTML."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import get_args

from markupsafe import Markup

from simprop.live.change import differing
from simprop.live.types import Fact, Figure, Group, Held, Span, State, View
from simprop.quantities import show
from simprop.report.figures import number
from simprop.report.structure import Block, Items, Section, Strong
from simprop.scene.marks import LITTLE, MUCH
from simprop.scene.types import SceneData

GROUPS: tuple[Group, ...] = get_args(Group)
INK = ("#0072b2", "#b87400", "#c82828")
"""Colours of a share: under `LITTLE`, under `MUCH`, above."""
BOX = "border-left:4px solid {};padding:4px 8px;margin:2px 0;font-size:13px;line-height:1.35;overflow-wrap:anywhere"


def ink(share: float) -> str:
    """The colour of a share of what is allowed, as that of arrows.

    Example:
        >>> ink(0.2) != ink(0.8) != ink(1.2)
        True
    """
    return INK[0] if share < LITTLE else INK[1] if share < MUCH * (1 + 1e-6) else INK[2]


def status(view: View | None, fault: str, busy: bool) -> str:
    """What the figures rest on, and why a state can't be run.

    Args:
        view: that is shown.
        fault: "" for none.
        busy: a newer state, or settled figures, are on their way.
    """
    parts = []
    if fault:
        last = " The last prop that could be run is shown." if view is not None else ""
        parts.append(_box(INK[2], Markup("<b>Not so:</b> {}{}").format(fault, last)))
    if view is None:
        parts.append(_box(INK[1], Markup("Putting it together ...")) if not fault else Markup(""))
    elif view.settled:
        parts.append(_box(INK[0], Markup("<b>Settled</b>: peaks stand still as the step is halved.")))
    else:
        more = " Settled figures follow." if busy else ""
        parts.append(_box(INK[1], Markup("<b>DRAFT</b> at one step, {}.{}").format(_known(view), more)))
    return str(Markup("").join(parts))


def _known(view: View) -> str:
    return {
        "motion": "its motion so far",
        "loads": "motion and loads so far",
        "strength": "not settled",
    }[view.stage]


def _box(colour: str, text: Markup) -> Markup:
    return Markup('<div style="{}">{}</div>').format(BOX.format(colour), text)


def tables(figures: Iterable[Figure], before: Mapping[tuple[str, str], Figure], said: str = "") -> str:
    """Tables of figures, each line with a bar of its share.

    Args:
        figures: of the state.
        before: of the state that it is compared with, by group and name.
        said: what that one is called; "": nothing is compared.

    Example:
        >>> was = Figure("Motion", "neck, travel along z", "100 mm", value=0.1)
        >>> now = Figure("Motion", "neck, travel along z", "125 mm", value=0.125)
        >>> "as it was: 100 mm (now +25 %)" in tables([now], {("Motion", now.name): was}, "as it was")
        True
    """
    rows = list(figures)
    parts = []
    for group in GROUPS:
        own = [f for f in rows if f.group == group]
        if own:
            lines = Markup("").join(
                _line(f, before.get((f.group, f.name)) if said else None, said) for f in own
            )
            parts.append(Markup("<b>{}</b>{}").format(group, lines))
    return f'<div style="font-size:13px;line-height:1.35;padding:4px 8px">{Markup("").join(parts)}</div>'


def _line(figure: Figure, before: Figure | None, said: str) -> Markup:
    was = Markup("")
    if before is not None and before.text != figure.text:
        more = 0.0 if figure.value is None or not before.value else figure.value / before.value - 1
        changed = f" (now {100 * more:+.3g} %)" if more else ""
        was = Markup('<div style="opacity:.65">{}: {}{}</div>').format(said, before.text, changed)
    bar = Markup("")
    if figure.share is not None:
        width = 100 * min(figure.share, 1.0)
        bar = Markup(
            '<div style="height:5px;background:rgba(128,128,128,.25);margin-top:2px">'
            '<div style="height:5px;width:{:.1f}%;background:{}"></div></div>'
        ).format(width, ink(figure.share))
    return Markup(
        '<div style="margin:3px 0 7px;overflow-wrap:anywhere"><span style="opacity:.75">{}</span><br>{}{}{}</div>'
    ).format(figure.name, figure.text, was, bar)


def picked(fact: Fact | None, file: str) -> str:
    """What is told of a thing that was picked.

    Args:
        fact: of it; None: nothing was picked.
        file: name of the rig file.
    """
    if fact is None:
        return '<div style="font-size:12px;opacity:.7;padding:2px 8px">Click a part or a joint to read about it.</div>'
    where = f"{file}, line {fact.line}" if fact.line else "not named in the rig file by itself"
    told = Markup("").join(Markup("<div>{}</div>").format(text) for text in fact.told)
    return str(
        _box(
            "#777", Markup("<b>{}</b> <span style='opacity:.7'>({})</span>{}").format(fact.name, where, told)
        )
    )


def words(sections: Iterable[Section]) -> str:
    """Sections of sentences and lists."""
    parts = []
    for section in sections:
        if section.title:
            parts.append(Markup("<p><b>{}</b></p>").format(section.title))
        parts += [_block(b) for b in section.blocks]
    return f'<div style="font-size:13px;line-height:1.4;padding:4px 8px">{Markup("").join(parts)}</div>'


def _block(block: Block) -> Markup:
    if isinstance(block, Strong):
        return Markup("<p><b>{}</b></p>").format(block.text)
    if isinstance(block, Items):
        return Markup('<ul style="margin:2px 0 8px;padding-left:18px">{}</ul>').format(
            Markup("").join(map(_item, block.items))
        )
    return Markup("<p>{}</p>").format(block) if isinstance(block, str) else Markup("")


def _item(item: str | Sequence[str]) -> Markup:
    if isinstance(item, str):
        return Markup("<li>{}</li>").format(item)
    head, *more = item
    return Markup("<li>{}{}</li>").format(head, Markup("").join(Markup("<br>{}").format(m) for m in more))


def strip(told: Sequence[tuple[str, tuple[Span, ...]]], length: float) -> str:
    """When each drive is on, as bars over the run's time; what runs backwards is hatched by its paler colour.

    Args:
        told: of each drive.
        length: of the run, s.
    """
    if not told or length <= 0:
        return ""
    rows = []
    for name, spans in told:
        bars = Markup("").join(
            Markup(
                '<div title="{}" style="position:absolute;left:{:.2f}%;width:{:.2f}%;height:10px;background:{};'
                'opacity:{:.2f}"></div>'
            ).format(
                f"{100 * s.share:.0f} % from {s.begin:.2f} to {s.end:.2f} s",
                100 * s.begin / length,
                max(0.4, 100 * (s.end - s.begin) / length),
                INK[0] if s.share >= 0 else INK[1],
                0.35 + 0.65 * min(1.0, abs(s.share)),
            )
            for s in spans
        )
        rows.append(
            Markup(
                '<div style="font-size:12px">{}<div style="position:relative;height:10px;'
                'background:rgba(128,128,128,.2)">{}</div></div>'
            ).format(name, bars)
        )
    head = f"What each drive is told over {length:.1f} s (blue: forwards, amber: backwards; paler: slower)"
    return f'<div style="padding:2px 8px;font-size:12px">{head}{Markup("").join(rows)}</div>'


def two(held: Held | None, state: State) -> str:
    """Of two states that stand side by side: in what they differ.

    Args:
        held: the one as it was; None: there is one only.
        state: the one as it is.
    """
    if held is None:
        return ""
    rows = Markup("").join(
        Markup("<div>{}: {} &rarr; {}</div>").format(field, was, now)
        for field, was, now in differing(held.state, state)
    )
    kind = "" if held.view.settled else ", a draft"
    return str(
        _box(
            "#777",
            Markup("<b>As it was</b> (left{}) and <b>as it is</b>{}").format(kind, rows or ": alike so far"),
        )
    )


def note(text: str) -> str:
    """A sentence under a button."""
    return str(_box("#777", Markup("{}").format(text)))


def legend(data: SceneData | None) -> str:
    """What the marks of the scene say, to what scale its forces are drawn, and which keys there are.

    Args:
        data: the scene; None: there is none yet.
    """
    scale = ""
    if data is not None and data.full:
        scale = f" {show(data.long, 'length', 3)} of arrow are {number(data.full)} N."
    return str(
        _box(
            "#777",
            Markup(
                "Marks at joints: blue where it turns, green where it slides. Arrows are the forces on the second body "
                "of each joint; blue: under {:.0f} % of what its fastener is allowed, amber: up to 100 %, red: more, "
                "grey: not computed, or not yet.{} "
                "Keys: space plays and pauses, B and N step back and on, H holds a state."
            ).format(100 * LITTLE, scale),
        )
    )
