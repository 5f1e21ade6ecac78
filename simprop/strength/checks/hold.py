"""All checks of what holds a joint, whatever it is, and the single changes that are tried where one fails."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from simprop.catalog import fasteners
from simprop.fasteners.kinds import (
    ClampHold,
    Holding,
    RivetHold,
    RodEndHold,
    RollPinHold,
    SetScrewHold,
    SheetScrewHold,
    SocketHold,
    WeldHold,
)
from simprop.strength.checks.bolt import bolt_checks
from simprop.strength.checks.metal import (
    rivet_checks,
    rod_end_checks,
    roll_pin_checks,
    set_screw_checks,
    weld_checks,
)
from simprop.strength.checks.plastic import clamp_checks, sheet_screw_checks, socket_checks, toggle_checks
from simprop.strength.checks.wood import glue_checks, screw_checks
from simprop.strength.context import Context
from simprop.strength.margins import Check, Remedy, worst

_OWN: dict[str, Callable[[Context], tuple[Check, ...]]] = {
    "bolt": bolt_checks,
    "screw": screw_checks,
    "glue": glue_checks,
}
_KINDS: dict[str, Callable[[Context], list[Check]]] = {
    "socket": socket_checks,
    "clamp": clamp_checks,
    "set_screw": set_screw_checks,
    "roll_pin": roll_pin_checks,
    "rivet": rivet_checks,
    "rod_end": rod_end_checks,
    "weld": weld_checks,
    "sheet_screw": sheet_screw_checks,
    "toggle": toggle_checks,
}
CURED = 72 * 3600.0
"""Full cure of solvent cement, s."""


def hold_checks(ctx: Context) -> tuple[Check, ...]:
    """All checks of what holds a joint, with single changes worked out for those that fail.

    Args:
        ctx: the held joint with its loads.
    """
    if ctx.hold.kind in _OWN:
        return _OWN[ctx.hold.kind](ctx)
    checks = _KINDS[ctx.hold.kind](ctx)
    if not any(c.verdict == "fail" for c in checks):
        return tuple(checks)
    changes = _changes(ctx.hold)
    remedies = [Remedy(text, _worst(ctx, hold)) for text, hold in changes]
    if all(r.margin < 1 for r in remedies):
        both = ((f"{text}, and {more}", other) for text, hold in changes for more, other in _changes(hold))
        enough = ((text, margin) for text, hold in both if (margin := _worst(ctx, hold)) >= 1)
        remedies += [Remedy(*found) for found in [next(enough, None)] if found is not None]
    return tuple(replace(c, remedies=tuple(remedies)) if c.verdict == "fail" else c for c in checks)


def _worst(ctx: Context, hold: Holding) -> float:
    return worst(_KINDS[hold.kind](replace(ctx, hold=hold)))


def _changes(hold: Holding) -> list[tuple[str, Holding]]:
    """Single changes in the order of effort."""
    found: list[tuple[str, Holding]] = []

    def change(text: str, **update: object) -> None:
        found.append((text, hold.model_copy(update=update)))

    if isinstance(hold, SocketHold):
        if hold.how == "dry":
            change("two #8 screws through socket and pipe", how="screwed")
        if hold.how != "glued":
            change("glue the socket with solvent cement", how="glued", cured=CURED)
        elif hold.cured < CURED:
            change("let the cement cure for 72 h", cured=CURED)
    if isinstance(hold, SetScrewHold):
        found += _hub_changes(hold)
    if isinstance(hold, RollPinHold | RivetHold):
        sort, ending = ("roll pin", " roll") if isinstance(hold, RollPinHold) else ("rivet", " rivet")
        larger = fasteners.next_size(hold.size.removesuffix(ending) + ending, sort)
        if larger:
            change(f"{larger.removesuffix(ending)} {sort}s", size=larger)
    if isinstance(hold, RollPinHold) and hold.shaft is not None and hold.count < 2:
        change("a second roll pin, turned a quarter", count=2)
    if isinstance(hold, RodEndHold) and hold.size.upper().startswith("M6"):
        change("an M8 rod end", size="M8 rod end")
    if isinstance(hold, ClampHold | RivetHold | SheetScrewHold):
        for more in (hold.count + 1, hold.count * 2, hold.count * 4):
            spacing = hold.spacing or 0.04
            change(f"{more} of them {spacing * 1e3:.0f} mm apart", count=more, spacing=spacing)
    if isinstance(hold, WeldHold):
        change(f"a {hold.length * 2e3:.0f} mm long weld", length=hold.length * 2)
    return found


def _hub_changes(hold: SetScrewHold) -> list[tuple[str, Holding]]:
    found: list[tuple[str, Holding]] = []
    if not hold.flat:
        found.append(("grind a flat under the set screw", hold.model_copy(update={"flat": True})))
    if hold.count < 2:
        found.append(("a second set screw", hold.model_copy(update={"count": 2})))
    larger = fasteners.next_size(hold.size.removesuffix(" set") + " set", "set screw")
    if larger:
        text = f"a {larger.removesuffix(' set')} set screw"
        found.append((text, hold.model_copy(update={"size": larger})))
    for size in ("3 mm", "4 mm", "5 mm"):
        if fasteners.roll_pin(size).diameter <= hold.shaft / 3 + 1e-9:
            pin = RollPinHold.model_construct(
                kind="roll_pin",
                size=size,
                shaft=hold.shaft,
                shear="double",
                count=1,
                spacing=None,
                along=None,
            )
            found.append((f"a {size} roll pin through hub and shaft", pin))
    return found
