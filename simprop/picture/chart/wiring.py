"""A wiring sketch: each supply with fuse, stop and wire, what it feeds, the air line, and the controller."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from html import escape
from itertools import pairwise
from typing import Any

from simprop.making.wiring import AirLine, Circuit, Controller, Feed, Wiring

SIZE, SMALL = 10.0, 9.0
"""Of the letters, points."""
FONT = "DejaVu Sans, Arial, sans-serif"
LETTER = 0.0172
"""Width of a letter over its size in points, in units of the sketch (36 points): rather more than any sans has."""
LEFT, WIDE = 0.4, 4.0
"""Where the boxes in the first column begin, and how wide they are."""
BUS, STAGE, MOTOR, BACK = 12.1, 12.9, 17.1, 18.6
"""Where the plus line comes down, the boxes before the drives begin, the drives stand, the minus line comes down."""
ROW = 3.1
"""From one drive to the next."""
LICENSED = "mains side: by a licensed person"


class Sketch:
    """A sketch as it is drawn, from the top down.

    Args:
        title: of the whole.
    """

    def __init__(self, title: str):
        import schemdraw
        from schemdraw import elements
        from schemdraw.segments import SegmentText

        self.parts: Any = elements
        self.text: Any = SegmentText
        schemdraw.use("svg")
        self.drawing = schemdraw.Drawing(show=False, fontsize=SIZE, font=FONT, lw=1.3, color="#1c1e22")
        self.y = 0.0
        self.words(title, LEFT - 0.2, 0.6, room=BACK, size=SIZE + 2)
        self.line((0.0, 0.2), (BACK + 0.4, 0.2))

    def words(
        self, text: str, x: float, y: float, *, room: float = 99.0, size: float = SIZE, middle: bool = False
    ) -> None:
        """A line of text beginning at x, or about it; what has no room is cut."""
        said = escape(shortened(text, room, size), quote=False).replace("$", "&#36;")
        place = self.parts.Element().at((x, y)).theta(0)
        align = ("center" if middle else "left", "center")
        place.segments.append(self.text((0, 0), said, align=align, fontsize=size, font=FONT))
        self.drawing += place

    def box(self, x: float, y: float, wide: float, tall: float, lines: Sequence[str]) -> None:
        """A box about the height y with lines of text in it, each folded to its width."""
        size = SMALL
        rows = [r for line in lines for r in textwrap.wrap(line, int((wide - 0.2) / (LETTER * size)))]
        tall = max(tall, 0.36 * len(rows) + 0.3)
        self.drawing += (
            self.parts.Rect(corner1=(x, y - tall / 2), corner2=(x + wide, y + tall / 2)).at((0, 0)).theta(0)
        )
        for k, row in enumerate(rows):
            self.words(row, x + wide / 2, y + 0.36 * ((len(rows) - 1) / 2 - k), size=size, middle=True)

    def line(self, *places: tuple[float, float], width: float = 1.3) -> None:
        """A line over some places."""
        for one, two in pairwise(places):
            self.drawing += self.parts.Line().endpoints(one, two).linewidth(width)

    def arrow(self, one: tuple[float, float], two: tuple[float, float]) -> None:
        """A line with a head at its end."""
        self.drawing += self.parts.Line(arrow="->").endpoints(one, two)

    def symbol(self, kind: str, one: tuple[float, float], two: tuple[float, float]) -> None:
        """A two-ended symbol of the library between two places."""
        self.drawing += getattr(self.parts, kind)().endpoints(one, two)

    def dot(self, x: float, y: float) -> None:
        """Where wires join."""
        self.drawing += self.parts.Dot(radius=0.07).at((x, y))

    def dashed(self, low: tuple[float, float], high: tuple[float, float]) -> None:
        """The frame of what a licensed person does, with these words on it."""
        frame = self.parts.Rect(corner1=low, corner2=high, ls="--", lw=1.6).at((0, 0)).theta(0)
        self.drawing += frame
        self.words(LICENSED, low[0] + 0.15, high[1] - 0.3, size=SMALL)

    def feeds(self, feeds: Sequence[Feed], drawn: Callable[[Feed, float], None], width: float = 1.3) -> float:
        """What hangs on one line, one below the other; hands back the height of the last."""
        y = self.y
        for k, feed in enumerate(feeds):
            y = self.y - ROW * k
            for n, text in enumerate((_named(feed), _currents(feed))):
                self.words(text, BUS + 0.2, y + 1.4 - 0.42 * n, room=BACK - BUS + 0.2)
            if k:
                self.dot(BUS, self.y - ROW * (k - 1))
            self.line((BUS, self.y), (BUS, y), width=width)
            drawn(feed, y)
            if feed.output is not None:
                x = STAGE + 1.4 if feed.stage else MOTOR
                self.arrow((x, y - 1.35), (x, y - 0.65))
                self.words(f"out {feed.output}", x + 0.2, y - 1.2, size=SMALL)
        return y

    def result(self) -> bytes:
        """The sketch as SVG."""
        found: bytes = self.drawing.get_imagedata("svg")
        return found


def sketch(plan: Wiring, name: str) -> bytes:
    """A wiring sketch as SVG, black on white.

    Args:
        plan: what is joined to what.
        name: of the prop.
    """
    drawn = Sketch(f"{name}: wiring")
    for circuit in plan.circuits:
        drawn.y -= 2.2
        (_mains if circuit.mains else _circuit)(drawn, circuit)
    for k, line in enumerate(plan.air):
        drawn.y -= 2.2
        _air(drawn, line, first=k == 0)
    if plan.controller is not None:
        drawn.y -= 1.6
        _controller(drawn, plan.controller, plan)
    for who, what in plan.by_hand:
        drawn.y -= 1.4
        drawn.box(LEFT, drawn.y, WIDE, 1.0, [who])
        drawn.words(f"{what}: no wire", LEFT + WIDE + 0.4, drawn.y)
        drawn.y -= 0.6
    return drawn.result()


def shortened(text: str, room: float, size: float) -> str:
    """A line of text as far as there is room for it.

    Args:
        text: any.
        room: in units of the sketch.
        size: of the letters, points.

    Example:
        >>> shortened("a lantern", 1.0, 10.0), shortened("a lantern", 2.0, 10.0)
        ('a l …', 'a lantern')
    """
    most = int(room / (LETTER * size))
    return text if len(text) <= most else text[: most - 2].rstrip() + " …"


def _named(feed: Feed) -> str:
    return f"{feed.name}: {feed.model or feed.word}"


def amperes(value: float | None) -> str:
    """A current as the sketch and the notes say it.

    Example:
        >>> amperes(13.572), amperes(0.0174), amperes(None)
        ('13.6 A', '0.017 A', 'not computed')
    """
    if value is None:
        return "not computed"
    return f"{value:.3g} A" if value >= 0.1 else f"{value:.2g} A"


def _currents(feed: Feed) -> str:
    if feed.air is not None:
        return feed.facts
    if feed.peak is None:
        return feed.why if feed.why.startswith("never") else "current not computed"
    peak = "pulses to" if feed.pulsed else "peak"
    return f"{peak} {amperes(feed.peak)}, running {amperes(feed.running)}"


def _supply(circuit: Circuit) -> Iterator[str]:
    """What stands on the box of a supply."""
    of = "of " if any(feed.name == circuit.name for feed in circuit.feeds) else ""
    yield shortened(f"supply {of}{circuit.name}", WIDE - 0.3, SMALL)
    if circuit.voltage is not None:
        limit = "" if circuit.limit is None else f" {circuit.limit:g} A"
        yield f"{circuit.voltage:g} V{limit}"
    elif circuit.proposed is not None:
        yield f"{circuit.proposed[0]:g} V {circuit.proposed[1]:g} A (proposed)"
    if circuit.peak is not None:
        yield f"peak {amperes(circuit.peak)}" + (" in pulses" if any(f.pulsed for f in circuit.feeds) else "")
        yield f"for long {amperes(circuit.running)}"


def _circuit(drawn: Sketch, circuit: Circuit) -> None:
    """A supply of direct current, its fuse, stop and wire, and its drives."""
    top, y = drawn.y, drawn.y
    drawn.dashed((0.0, y - 1.75), (LEFT + WIDE + 0.4, y + 1.5))
    drawn.box(LEFT, y - 0.2, WIDE, 2.0, [*_supply(circuit)])
    drawn.words("outlet on a GFCI or RCD", LEFT, y - 1.5, size=SMALL)
    edge = LEFT + WIDE
    drawn.line((edge, y), (5.0, y))
    drawn.words("+", edge + 0.06, y + 0.2, size=SMALL)
    drawn.symbol("Fuse", (5.0, y), (6.8, y))
    drawn.line((6.8, y), (6.9, y))
    fuse = "fuse" if circuit.fuse is None else f"fuse {circuit.fuse:g} A"
    drawn.words(fuse, 5.9, y + 0.6, room=2.4, middle=True)
    unknown = [feed.name for feed in circuit.feeds if feed.why]
    kind = (
        "by its load" if circuit.fuse is None else f"without {', '.join(unknown)}" if unknown else "slow-blow"
    )
    drawn.words(kind, 5.9, y - 0.5, room=2.3, size=SMALL, middle=True)
    drawn.symbol("Switch", (6.9, y), (8.5, y))
    drawn.words("switch, stop", 7.7, y + 1.0, middle=True)
    drawn.line((8.5, y), (BUS, y))
    for text, at in zip(_wire(circuit), (0.35, -0.35), strict=True):
        drawn.words(text, 8.75, y + at, room=BUS - 8.8)
    last = drawn.feeds(circuit.feeds, lambda feed, at: _drive(drawn, feed, at))
    bottom = min(last, top - 0.9) - 1.75
    if circuit.feeds:
        drawn.line(
            (BACK, top), (BACK, bottom), (edge + 0.25, bottom), (edge + 0.25, top - 0.9), (edge, top - 0.9)
        )
        drawn.words("\u2212", edge + 0.06, top - 0.7, size=SMALL)
    else:
        drawn.words("feeds nothing", BUS + 0.3, y)
    drawn.y = bottom - 0.2


def _wire(circuit: Circuit) -> tuple[str, str]:
    """Gauge and length of a wire, in words."""
    if circuit.gauge is None:
        return "wire", "by what it feeds"
    gauge = f"{circuit.gauge} AWG"
    if circuit.too_thin is not None:
        gauge += f", not {circuit.too_thin}"
    if circuit.length is not None:
        return gauge, f"{circuit.length:g} m one way"
    return gauge, "" if circuit.longest is None else f"up to {circuit.longest:.2g} m"


def _drive(drawn: Sketch, feed: Feed, y: float) -> None:
    """One drive between plus and minus."""
    begin = BUS
    if feed.stage:
        drawn.line((BUS, y), (STAGE, y))
        drawn.box(STAGE, y, 2.9, 1.0, [feed.stage])
        begin = STAGE + 2.9
    drawn.line((begin, y), (MOTOR - 0.6, y))
    drawn.symbol("Motor", (MOTOR - 0.6, y), (MOTOR + 0.6, y))
    drawn.words("M", MOTOR, y, middle=True)
    drawn.line((MOTOR + 0.6, y), (BACK, y))
    if feed.live:
        drawn.words("fuse both wires", MOTOR - 1.0, y - 0.85, size=SMALL)


def _mains(drawn: Sketch, circuit: Circuit) -> None:
    """What runs from the mains itself: all of it by a licensed person."""
    y = drawn.y
    last = y - ROW * (len(circuit.feeds) - 1)
    drawn.dashed((0.0, last - 1.9), (BACK + 0.4, y + 2.3))
    told = "voltage as on its label" if circuit.voltage is None else f"{circuit.voltage:g} V"
    told += "" if circuit.frequency is None else f" {circuit.frequency:g} Hz"
    rated = "outlet on a GFCI or RCD, cord and boxes for outdoors"
    drawn.box(LEFT, y - 0.3, WIDE, 1.9, [f"mains of {circuit.name}", told, rated])
    edge = LEFT + WIDE
    drawn.line((edge, y), (6.9, y))
    drawn.symbol("Switch", (6.9, y), (8.5, y))
    drawn.words("stop, both poles", 7.7, y + 0.9, middle=True)
    drawn.line((8.5, y), (BUS, y))
    drawn.feeds(circuit.feeds, lambda feed, at: _drive(drawn, feed, at))
    bottom = last - 1.6
    drawn.line((BACK, y), (BACK, bottom), (edge + 0.25, bottom), (edge + 0.25, y - 0.9), (edge, y - 0.9))
    drawn.y = last - 2.0


def _air(drawn: Sketch, line: AirLine, *, first: bool) -> None:
    """Compressor, shut-off, regulator, and a valve for each cylinder; hoses are drawn thick."""
    y, thick = drawn.y, 3.0
    rows = ("compressor or bottle, with its own relief valve",), ("shut-off that vents the line",)
    rows = rows if first else (("from the compressor above",), ("through the shut-off above",))
    for k, text in enumerate((*rows, ("filter and regulator", f"{line.pressure / 1e5:g} bar"))):
        drawn.box(LEFT + 4.0 * k, y, 3.1, 1.6, text)
        drawn.line((LEFT + 4.0 * k + 3.1, y), (min(LEFT + 4.0 * (k + 1), BUS), y), width=thick)

    def cylinder(feed: Feed, at: float) -> None:
        drawn.line((BUS, at), (STAGE, at), width=thick)
        drawn.box(STAGE, at, 2.5, 1.0, ["valve" if feed.output else "valve, always on"])
        for off in (0.3, -0.3):
            drawn.line((STAGE + 2.5, at + off), (STAGE + 3.3, at + off), width=thick)
        drawn.box(STAGE + 3.3, at, 2.4, 1.0, ["cylinder"])

    drawn.y = drawn.feeds(line.feeds, cylinder, thick) - 1.5


def _controller(drawn: Sketch, told: Controller, plan: Wiring) -> None:
    """The controller with what starts it on the left and what it tells on the right."""
    outs = [f"out {k}: {name}" for k, name in enumerate(told.outputs, 1)]
    rows = max(len(told.triggers), len(outs) + told.sound, 2)
    tall, x, wide = 1.3 * rows + 0.4, 7.0, 4.4
    top = drawn.y
    middle = top - tall / 2
    drawn.box(x, middle, wide, tall, ["controller", "its own supply, as its maker says", *_joined(plan)])
    for k, trigger in enumerate(told.triggers):
        y = top - 0.2 - 1.3 * (k + 0.5)
        drawn.box(LEFT, y, WIDE, 0.9, [trigger])
        drawn.arrow((LEFT + WIDE, y), (x, y))
        drawn.words(f"in {k + 1}", x - 0.9, y + 0.3, size=SMALL)
    for k, text in enumerate(outs):
        y = top - 0.2 - 1.3 * (k + 0.5)
        drawn.arrow((x + wide, y), (STAGE, y))
        drawn.words(text, STAGE + 0.15, y, room=BACK - STAGE)
    if told.sound:
        y = top - 0.2 - 1.3 * (len(outs) + 0.5)
        drawn.arrow((x + wide, y), (STAGE, y))
        drawn.words("sound: amplifier, speaker", STAGE + 0.15, y, room=BACK - STAGE)
    drawn.y = top - tall - 0.3


def _joined(plan: Wiring) -> list[str]:
    """That the controller needs the minus of what it tells."""
    return (
        ["its minus joined to that of each supply above"] if any(not c.mains for c in plan.circuits) else []
    )
