"""What each fastener goes through, as its purchase asks for it."""

from __future__ import annotations

from simprop.assembly.types import Assembly
from simprop.catalog.bought import Grip
from simprop.making.numbers import PartNumbers, part_called
from simprop.making.stacks import LENGTHWISE, Fixing, Layer

STUD = 1.5
"""A rod no thicker than so many bolts, drawn where the bolt is, stands for the bolt."""


def grip_of(assembly: Assembly, numbers: PartNumbers, fixing: Fixing) -> Grip:
    """What the fastener of a fixing goes through.

    Args:
        assembly: the prop.
        numbers: of its parts.
        fixing: one that something holds.
    """
    layers = fixing.layers
    thick, apart, turns, assumed = _thickness(fixing)
    unknown = next((words for layer in layers if (words := _unknown(numbers, layer))), "")
    if not unknown and not fixing.axis.any():
        unknown = "the way it points isn't said (`along`)"
    stud = _stud(assembly, numbers, fixing)
    if unknown and stud:
        unknown, stud = f"{stud} is the shaft that it sits on: tap that at its end, or cut a thread on it", ""
    widths = [p.width for layer in layers for p in layer.parts if p.across]
    return Grip(
        thick=thick,
        apart=apart,
        turns=turns,
        moving=fixing.moving and fixing.sort == "joint",
        unknown=unknown,
        slim=min(widths, default=None),
        assumed=assumed,
        stands_for=stud,
    )


def _thickness(fixing: Fixing) -> tuple[tuple[float, ...], tuple[float, ...], int, str]:
    """Of each thing that it goes through, the gaps between them, which of them turns, and what is assumed."""
    one, two = fixing.layers
    if getattr(fixing.hold, "shear", "single") != "double" or fixing.sort != "joint":
        apart = max(two.begins - one.ends, one.begins - two.ends, 0.0) if one.drawn and two.drawn else 0.0
        return (one.thick, two.thick), (apart,), 1, ""
    for fork, inner in ((one, two), (two, one)):
        if fork.far is not None:
            sides = sorted([(fork.begins, fork.ends), fork.far])
            room = sides[1][0] - sides[0][1] - inner.thick
            gaps = (max(room, 0.0) / 2,) * 2
            return (sides[0][1] - sides[0][0], inner.thick, sides[1][1] - sides[1][0]), gaps, 1, ""
    cheek, inside = sorted((one.thick, two.thick))
    words = "the fork or second plate isn't drawn, nor on the cut list: taken as thick as the thinner part"
    return (cheek, inside, cheek), (0.0, 0.0), 1, words


def _unknown(numbers: PartNumbers, layer: Layer) -> str:
    """Why what a fastener goes through on one of two bodies isn't known; "" where it is."""
    if not layer.drawn:
        return ""
    body = layer.body.replace("_", " ")
    if layer.blocked is not None or layer.thick > LENGTHWISE:
        index = layer.parts[0].part if layer.blocked is None else layer.blocked
        return (
            f"{part_called(numbers, layer.body, index)} lies along the bolt and isn't drilled through; what is bolted "
            "there (the leaf of a hinge, an eye, a nut let in) isn't drawn"
        )
    return "" if layer.parts else f"nothing that it could go through is drawn there on {body}"


def _stud(assembly: Assembly, numbers: PartNumbers, fixing: Fixing) -> str:
    """A rod that is drawn in the place of the bolt; "" for none."""
    wide = None if fixing.hold is None else fixing.hold.diameter
    bodies = {body.name: body for body in assembly.drawn}
    for layer in fixing.layers:
        for pierced in layer.parts:
            shape = bodies[layer.body].shapes[pierced.part]
            if not pierced.across and wide is not None and 0 < 2 * shape.radius < STUD * wide:
                return part_called(numbers, layer.body, pierced.part)
    return ""
