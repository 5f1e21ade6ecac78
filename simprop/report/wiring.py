"""Wiring, for the bench: the sketch, what each supply feeds through which fuse and wire, what to mind."""

from __future__ import annotations

from collections.abc import Iterator

from simprop.making.wiring import Circuit, Feed, Wiring, wiring
from simprop.picture.chart.wiring import amperes, sketch
from simprop.report.structure import Amount, Block, Items, Picture, Section, Strong, Table
from simprop.run.run import Run

FILE = "wiring.svg"


def wires(run: Run) -> Section | None:
    """The wiring sketch with its figures; None where nothing is driven."""
    plan = wiring(run)
    if not (plan.circuits or plan.air or plan.by_hand):
        return None
    name = run.rig.name
    about = f"Wiring of {name}: what stands in a dashed frame is done by a licensed person"
    blocks: list[Block] = []
    if plan.circuits or plan.air:
        blocks.append(Picture(FILE, about, sketch(plan, name), size="wide"))
    blocks += [Strong(text) for text in _wrong(plan)]
    if plan.circuits:
        blocks.append(_supplies(plan))
    rows = [*_drives(plan)]
    if rows:
        blocks.append(
            Table(("drive", "what it is", "fed by", ">peak", ">running", "through", "told by"), rows)
        )
    return Section("wiring", "Wiring", [*blocks, Items([*_mind(plan)])])


def _wrong(plan: Wiring) -> Iterator[str]:
    for circuit in plan.circuits:
        if circuit.too_thin is not None:
            yield (
                f"Change the wire of {circuit.name}: no fuse both carries {amperes(circuit.running)} for long and "
                f"protects {circuit.too_thin} AWG. Take {circuit.gauge} AWG with the fuse of {circuit.fuse:g} A."
            )
        unknown = [f for f in circuit.feeds if f.why and not circuit.mains]
        if unknown:
            named = ", ".join(f"{f.name} ({f.why})" for f in unknown)
            yield (
                f"Fuse and wire of {circuit.name} leave out what isn't known: {named}. Add what its maker states, and "
                "take the fuse and the wire that go with the sum."
            )


def _amount(value: float | None) -> Amount:
    return Amount(value, "A", amperes(value))


def _supplies(plan: Wiring) -> Table:
    rows = []
    for c in plan.circuits:
        fuse = "by a licensed person" if c.mains else "as its driver's maker says"
        if c.fuse is not None:
            fuse = f"{c.fuse:g} A slow-blow"
        peak = amperes(c.peak) + (" in pulses" if any(f.pulsed for f in c.feeds) else "")
        rows.append((c.name, _gives(c), Amount(c.peak, "A", peak), _amount(c.running), fuse, _wire(c)))
    return Table(("supply", "gives", ">peak", ">for long", "fuse", "wire"), rows)


def _gives(circuit: Circuit) -> str:
    if circuit.voltage is None:
        if circuit.proposed is None:
            return "not stated"
        return f"not stated: {circuit.proposed[0]:g} V {circuit.proposed[1]:g} A does"
    text = f"{circuit.voltage:g} V"
    text += "" if circuit.limit is None else f" {circuit.limit:g} A"
    text += "" if circuit.frequency is None else f" {circuit.frequency:g} Hz"
    return text


def _wire(circuit: Circuit) -> str:
    if circuit.mains:
        return "by a licensed person"
    if circuit.gauge is None:
        return "as its driver's maker says"
    text = f"{circuit.gauge} AWG"
    if circuit.length is not None:
        return f"{text}, {circuit.length:g} m one way"
    if circuit.longest is not None:
        text += f", up to {circuit.longest:.2g} m one way"
    return text + " (the rig states none: proposed for a loss of 5 %)"


def _drives(plan: Wiring) -> Iterator[tuple[str | Amount, ...]]:
    fed: list[tuple[str, Feed]] = [(c.name, f) for c in plan.circuits for f in c.feeds]
    fed += [(f"air of {line.pressure / 1e5:g} bar", f) for line in plan.air for f in line.feeds]
    for by, feed in fed:
        what = feed.model or f"{feed.word} as in the rig"
        peak = f"{amperes(feed.peak)} in its pulses" if feed.pulsed else amperes(feed.peak)
        currents = (Amount(feed.peak, "A", peak), _amount(feed.running))
        if feed.air is not None:
            currents = (Amount(None, "A", "air"), Amount(None, "A", "air"))
        told = "power on" if feed.output is None else f"output {feed.output}"
        yield (feed.name, what, by, *currents, feed.stage or "-", told)
    for name, what in plan.by_hand:
        yield (name, what, "no wire", Amount(None, "A", "-"), Amount(None, "A", "-"), "-", "-")


def _mind(plan: Wiring) -> Iterator[str]:
    """What to mind when it is wired; common practice, no source."""
    direct = [c for c in plan.circuits if not c.mains]
    feeds = [f for c in direct for f in c.feeds]
    if plan.circuits:
        yield (
            "All inside a dashed frame is mains: a licensed person wires it, on a ground-fault device (GFCI or RCD), "
            "in boxes made for outdoors; local codes decide."
        )
    if direct:
        yield (
            "Each fuse sits in the plus wire within a hand's breadth of its supply, in a holder made for at least the "
            "voltage of the supply; a wire that branches to several drives keeps its gauge in every branch."
        )
        yield (
            "Peak is the most that the run saw, running the mean while it runs; for long is what the fuse must carry. "
            "A supply whose peak stands at its limit gives all it can for that moment, mostly a start."
        )
    for c in direct:
        if c.fuse is not None and c.standing is not None and c.standing > 2 * c.fuse:
            yield (
                f"A prop that is jammed asks {amperes(c.standing)} of the supply {c.name}, unless that gives less: "
                f"the fuse of {c.fuse:g} A is to open then. If it opens at every start, look for what binds before "
                "taking a larger one."
            )
    staged = [f for f in feeds if f.stage and f.peak is not None]
    for f in staged:
        yield f"The {f.stage} of {f.name} is rated for at least {amperes(f.peak)} at the supply's voltage."
    for f in (f for f in feeds if f.live):
        yield (
            f"Turned back, the case and shaft of {f.name} stand at the supply's voltage: a fuse of the same size in "
            "each of its two wires, insulation between it and metal it is bolted to, nothing fed by the frame."
        )
    coils = [f.name for f in feeds if f.coil and f.stage == "switch"]
    coils += [f.name for line in plan.air for f in line.feeds]
    if coils:
        yield (
            f"A coil kicks back when it is switched off: where the switch has no diode of its own, put one across "
            f"that of {', '.join(coils)}."
        )
    if plan.air:
        yield (
            "What the coil of a valve takes stands on its label, and isn't in the currents above. Open the air by hand "
            "and slowly the first time, with everybody clear; the shut-off vents the line when it is closed."
        )
    if plan.controller is not None and feeds:
        yield "The minus of the controller is joined to that of every supply, or its signals mean nothing."
    if plan.circuits or plan.air:
        yield (
            f"The stop is a button that stays in, beside whoever runs the prop; it {_stops(plan)}. Try where the prop "
            "comes to rest when it is pressed, and that nothing falls; nothing may start by itself when the power "
            "comes back."
        )


def _stops(plan: Wiring) -> str:
    """What the stop does."""
    found = ["breaks both poles of the mains"] if any(c.mains for c in plan.circuits) else []
    found += ["breaks the plus wire of every supply"] if any(not c.mains for c in plan.circuits) else []
    found += ["shuts off the air"] if plan.air else []
    return " and ".join(found)
