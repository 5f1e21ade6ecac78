"""The report of a show: what its supplies gave, who suffers, and what each prop bears."""

from __future__ import annotations

from typing import Any

from simprop.report.figures import amount, banded, change, number
from simprop.report.strength import summary
from simprop.report.structure import Amount, Block, Cell, Items, Report, Section, Strong, Table
from simprop.show.effects import Effect, Sag, effects, sags, sufferers
from simprop.show.play import Played

SHARED = (
    "Each prop is checked by itself, where it stands: that one falls on another, or a visitor between two of them is "
    "reached by both, isn't looked at.",
    "Until its start a prop stands in its start pose, without current.",
)


def show_report(played: Played) -> Report:
    """A show as a report.

    Args:
        played: the show as it went.
    """
    found, low = effects(played), sags(played)
    sections = [
        Section("about", "", [played.show.about] if played.show.about else [], brief=()),
        _supplies(low),
        _suffers(found, low),
        _props(found),
        _strength(found),
        _cautions(played),
    ]
    return Report(f"{played.show.name}: show", [s for s in sections if s is not None])


def exit_code(played: Played) -> int:
    """1 if a check of some prop fails, else 3 if one could not be computed, else 0."""
    codes = {part.run.strength.exit_code for part in played.parts}
    return next((code for code in (1, 3) if code in codes), 0)


def _supplies(low: tuple[Sag, ...]) -> Section | None:
    if not low:
        return None
    rows = [_supply(sag) for sag in low]
    return Section(
        "supplies", "Supplies", [Items(rows)], data={"supplies": {s.line.name: _sag(s) for s in low}}
    )


def _supply(sag: Sag) -> list[str]:
    spec, line = sag.line.spec, sag.line
    limit = "" if spec.limit is None else f", {spec.limit:g} A"
    takers = ", ".join(f"{name} {amps:.2g} A" for name, amps in sag.takers) or "nobody"
    said = [
        f"{line.name} ({spec.voltage:g} V{limit}): lowest {number(sag.voltage)} V at {sag.time:.2f} s, "
        f"while it feeds {takers}"
    ]
    if sag.limited > 0.0:
        said.append(f"it gives all that it can for {100 * sag.limited:.2g} % of the show")
    most = float(line.total.max())
    said.append(f"most together {number(most)} A; mean {number(float(line.total.mean()))} A")
    if not line.settled:
        said.append(
            f"NOT SETTLED: after {line.rounds} rounds its voltage still moves by {number(line.moved)} V from one to "
            "the next"
        )
    return said


def _sag(sag: Sag) -> dict[str, Any]:
    return {
        "lowest_V": sag.voltage,
        "at_s": sag.time,
        "takers_A": dict(sag.takers),
        "limited": sag.limited,
        "peak_A": float(sag.line.total.max()),
        "rounds": sag.line.rounds,
        "moved_V": sag.line.moved,
        "settled": sag.line.settled,
    }


def _suffers(found: tuple[Effect, ...], low: tuple[Sag, ...]) -> Section:
    worst = sufferers(found)
    if not low:
        return Section("suffers", "", ["No prop shares a supply with another."], data={"suffers": []})
    if not worst:
        return Section("suffers", "", [Strong("Nobody suffers from the others.")], data={"suffers": []})
    names = [e.part.prop.name for e in worst]
    blocks: list[Block] = [Strong(f"Who suffers: {', '.join(names)}."), Items([_worse(e) for e in worst])]
    return Section("suffers", "", blocks, data={"suffers": names})


def _worse(effect: Effect) -> str:
    said = f"{effect.part.prop.name} falls {number(effect.late, 2)} s behind itself alone"
    if effect.share is not None and effect.share < 0.995:
        said += f", and does {100 * effect.share:.0f} % of its motion by the end"
    if effect.lowest is not None:
        said += f"; its line falls to {number(effect.lowest)} V"
    return said


def _props(found: tuple[Effect, ...]) -> Section:
    rows = [_row(e) for e in found]
    titles = ("prop", ">starts", ">lowest", ">peak", ">behind", "highest load", ">alone")
    return Section(
        "props", "Props", [Table(titles, rows)], data={"props": {_name(e): _data(e) for e in found}}
    )


def _name(effect: Effect) -> str:
    return effect.part.prop.name


def _row(effect: Effect) -> tuple[Cell, ...]:
    load, alone = effect.load, effect.load_alone
    return (
        _name(effect),
        Amount(effect.part.prop.standing.starts, "s", f"{effect.part.prop.standing.starts:g} s"),
        Amount(effect.lowest, "V", amount(effect.lowest, "V")),
        Amount(effect.peak, "A", amount(effect.peak, "A")),
        Amount(effect.late, "s", "-" if effect.late is None else f"{effect.late:.2f} s"),
        "-" if load is None else f"{load.name} {banded(load)}",
        "-" if load is None or alone is None else change(load.value, alone.value),
    )


def _data(effect: Effect) -> dict[str, Any]:
    load, alone = effect.load, effect.load_alone
    return {
        "starts_s": effect.part.prop.standing.starts,
        "lowest_V": effect.lowest,
        "peak_A": effect.peak,
        "behind_s": effect.late,
        "share": effect.share,
        "highest": None if load is None else load.name,
        "highest_value": None if load is None else load.value,
        "highest_alone": None if alone is None else alone.value,
        "strength": effect.part.run.strength.exit_code,
        "seed": effect.part.run.rig.run.seed,
    }


def _strength(found: tuple[Effect, ...]) -> Section:
    rows = [f"{_name(e)}: {summary(e.part.run.strength)}" for e in found]
    return Section("strength", "Strength in the show", [Items(rows)])


def _cautions(played: Played) -> Section:
    said = [text for part in played.parts for text in part.run.cautions]
    return Section("cautions", "Cautions", [Items(tuple(dict.fromkeys((*SHARED, *said))))], brief=())
