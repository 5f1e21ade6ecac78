"""Places where bodies touch, as data: contacts of the rig, and the walls of joints with play."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from math import inf, pi, sqrt
from typing import Literal

import numpy as np

from simprop.assembly.types import Assembly, BodyData
from simprop.catalog.load import Material, material
from simprop.catalog.strengths import strength_of
from simprop.errors import Fault, RigError
from simprop.forces.contacts import Contact, Patch
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import square
from simprop.joints.play import Play
from simprop.laws import contact as law
from simprop.quantities import show

FLOOR = "spruce-pine-fir"
"""What the floor is made of where the rig doesn't say (assumed)."""
FLOOR_NORMAL = (0.0, 0.0, 1.0)


@dataclass(frozen=True)
class TouchData:
    """One place of touch between two bodies.

    Attributes:
        name: of the contact, or of the joint with play.
        kind: ball (also a point, of radius 0) or arc on a flat face or a cam; ring: a round thing in a round hole.
        joint: index of the joint with play, -1 for a contact.
        first: body of the face or hole, -1 for the floor.
        second: the other body.
        first_point: on the face, or the middle of the hole, (3,) m in the first body's frame (world for the floor).
        direction: unit normal of the face, or axis of the hole or cam, (3,), in the first body's start axes.
        second_point: centre of ball or arc, or a point on the middle line of what is in the hole, (3,) m, second body.
        axis: of the arc, or of what is in the hole, (3,), in the second body's start axes; zeros for a ball.
        middle: of the arc, unit (3,), in the second body's start axes.
        spread: how far the arc goes to both sides of its middle, rad.
        radius: of ball, arc or hole, m.
        gap: radial play of a ring, m.
        stiffness: N/m.
        damping: N*s/m.
        static: coefficient of friction at rest.
        kinetic: coefficient of friction while sliding.
        zero: unit direction from which a cam's angle counts, (3,), in the first body's start axes.
        curve: radius and its slope of a cam's pitch curve all around it, (n, 2) m and m/rad; empty on a flat face.
    """

    name: str
    kind: Literal["ball", "arc", "ring"]
    joint: int
    first: int
    second: int
    first_point: Array
    direction: Array
    second_point: Array
    axis: Array
    middle: Array
    spread: float
    radius: float
    gap: float
    stiffness: float
    damping: float
    static: float
    kinetic: float
    zero: Array = field(default_factory=lambda: np.zeros(3))
    curve: Array = field(default_factory=lambda: np.zeros((0, 2)))

    @property
    def cam(self) -> bool:
        """Whether it is on a cam."""
        return len(self.curve) > 0


FAR = 5e-4
"""A follower that begins further off its cam is told of, m (assumed)."""
PARALLEL = 1e-3
"""Sine up to which axes count as parallel."""
MOST_SAGS, PRESSED = 3.0, 2e-4
"""A contact may begin so many times as deep as the weight of all that moves presses it, and so much deeper, m."""


def touches(assembly: Assembly, note: Callable[[str], None]) -> tuple[TouchData, ...]:
    """All contacts of a rig, then the walls of its joints with play.

    Args:
        note: called with each thing worth saying (derived stiffness, what is assumed).

    Raises:
        RigError: where a stiffness can't be derived because a material isn't known.
    """
    found = [_contact(assembly, name, c, note) for name, c in assembly.rig.contacts.items()]
    for index, joint in enumerate(assembly.joints):
        if joint.kind.play is not None:
            found += _walls(assembly, index, joint.kind.play, note)
    return tuple(found)


def _contact(assembly: Assembly, name: str, spec: Contact, note: Callable[[str], None]) -> TouchData:
    place, patch = f"contacts.{name}", spec.patch()
    second = assembly.carrier(spec.body, patch.centre)
    body = assembly.bodies[second]
    centre, turn = body.local(patch.centre), body.placement.turn
    first, face, way = -1, np.zeros(3), np.array(FLOOR_NORMAL)
    if spec.on is not None:
        first = assembly.carrier(spec.on.body, spec.on.at)
        face = assembly.bodies[first].local(spec.on.at)
        way = assembly.bodies[first].placement.turn @ spec.on.way
    origin = face + (assembly.bodies[first].com if first >= 0 else 0.0)
    away = body.com + centre - origin
    met = _on_cam(place, spec, away, way) or _on_face(patch, turn, away, way)
    middle = met.middle
    where = centre + patch.radius * middle
    own = _made_of(body, where, spec.of)
    other = (
        _made_of(assembly.bodies[first], face, spec.on_of) if first >= 0 else material(spec.on_of or FLOOR)
    )
    weight = sum(b.mass for b in assembly.bodies if not b.fixed) * float(
        np.linalg.norm(assembly.rig.run.gravity)
    )
    stiffness = spec.stiffness
    if stiffness is None:
        flat = law.ACROSS if _wooden(other) and not len(met.curve) else 1.0  # boards lie flat
        modulus = law.joint_modulus(_plane(own, f"{place}.of"), flat * _plane(other, f"{place}.of"))
        stiffness, how = spec.derived(modulus, weight)
        how += ", wood across its grain" if flat < 1.0 else ""
        floor = ", floor taken for softwood (assumed)" if first < 0 and spec.on_of is None else ""
        note(f"{place}: stiffness {show(stiffness, 'stiffness')} ({how}{floor})")
    deep, sag = met.deep, weight / stiffness
    if deep > MOST_SAGS * sag + PRESSED:
        inside, usual = show(deep, "length"), show(sag, "length")
        raise RigError(
            [
                Fault(
                    f"in the start pose it is {inside} inside what it touches, and would be thrown out",
                    field=place,
                    allowed=f"about {usual}, which is what the weight presses it in: move it out",
                )
            ]
        )
    if len(met.curve) and -deep > FAR:
        note(f"{place}: the follower begins {show(-deep, 'length')} off its cam")
    mass = _meeting(assembly, first, second, body.com + where, met.normal[None])
    loss = _loss(spec.loss, (own, other))
    return TouchData(
        name,
        patch.form,
        -1,
        first,
        second,
        face,
        way,
        centre,
        turn @ patch.axis,
        middle,
        patch.spread,
        patch.radius,
        0.0,
        stiffness,
        law.damping(stiffness, loss, mass),
        spec.friction.static,
        spec.friction.kinetic,
        met.zero,
        met.curve,
    )


@dataclass(frozen=True)
class _Met:
    """How what touches meets what it rests on in the start pose.

    Attributes:
        normal: in which it is pushed, unit (3,).
        middle: of an arc, from its centre; on a cam towards that, unit (3,).
        deep: how far it is inside, m; negative: off.
        zero, curve: see `TouchData`.
    """

    normal: Array
    middle: Array
    deep: float
    zero: Array = field(default_factory=lambda: np.zeros(3))
    curve: Array = field(default_factory=lambda: np.zeros((0, 2)))


def _on_face(patch: Patch, turn: Array, away: Array, normal: Array) -> _Met:
    """What touches a flat face.

    Args:
        patch: what touches.
        turn: of its body from as drawn, (3, 3).
        away: from a point of the face to its centre, (3,) m.
        normal: of the face, (3,).
    """
    middle = turn @ patch.middle
    reach = _reach(patch.radius, turn @ patch.axis, middle, patch.spread, normal)
    return _Met(normal, middle, reach - float(normal @ away))


def _on_cam(place: str, spec: Contact, away: Array, axis: Array) -> _Met | None:
    """What touches a cam; None on a flat face.

    Args:
        place: of the contact in the rig.
        spec: the contact.
        away: from the cam's point to the follower's middle, (3,) m.
        axis: of the cam, (3,).

    Raises:
        RigError: where no disc can do what it says, or the follower stands on its axis or crosswise.
    """
    on, patch = spec.on, spec.patch()
    if on is None:
        return None
    try:
        pitch = on.pitch(patch.radius)
        if pitch is None:
            return None
        if patch.axis.any() and float(np.linalg.norm(np.cross(patch.axis, on.way))) > PARALLEL:
            raise ValueError("the axes of a cam and its roller are parallel")
        across = away - axis * float(away @ axis)
        far = float(np.linalg.norm(across))
        if far < patch.radius or far < 1e-4:
            raise ValueError("its follower stands on the cam's axis")
    except ValueError as error:
        raise RigError([Fault(str(error), field=f"{place}.on")]) from None
    out = across / far
    radius, slope = float(pitch.radius[0]), float(pitch.slope[0])
    long = float(np.hypot(radius, slope))
    normal = (radius * out - slope * np.cross(axis, out)) / long
    deep = (radius - far) * radius / long
    return _Met(normal, -normal, deep, out, np.column_stack([pitch.radius, pitch.slope]))


def _reach(radius: float, axis: Array, middle: Array, spread: float, normal: Array) -> float:
    """How far something round reaches against a normal from its centre, m: within its spread, if it has an axis."""
    down = -normal
    if spread < pi or axis.any():
        across = down - float(down @ axis) * axis
        size = float(np.linalg.norm(across))
        down = across / size if size > 1e-9 else middle
        down = down if float(down @ middle) >= np.cos(spread) else middle
    return float(-normal @ down) * radius


def _walls(assembly: Assembly, index: int, play: Play, note: Callable[[str], None]) -> list[TouchData]:
    """The rings of a loose joint."""
    joint = assembly.joints[index]
    field = f"joints.{joint.name}"
    one, two = assembly.bodies[joint.first], assembly.bodies[joint.second]
    materials = [_made_of(b, joint.point - b.com, None) for b in (one, two)]
    stiffness = play.stiffness
    if stiffness is None:
        moduli = [_modulus(m, f"{field}.stiffness") for m in materials]
        if joint.kind.held_by is not None and joint.kind.held_by.diameter is not None:
            moduli = [_modulus(material("steel"), field), min(moduli)]
        stiffness = law.bearing_stiffness(moduli[0], moduli[1], play.length) / len(play.rings)
        ends = " at each end" if len(play.rings) > 1 else ""
        pipe = _piped(two, joint.point - two.com) if ends else None
        flat = ""
        if pipe is not None:
            outside, wall = pipe
            long = play.length / len(play.rings) + outside
            squeezed = law.ring_stiffness(moduli[1], outside, wall, long)
            stiffness, flat = (
                1.0 / (1.0 / stiffness + 1.0 / squeezed),
                ", and the pipe flattened as a ring (assumed)",
            )
        note(
            f"{field}: play {show(play.clearance, 'length')}, walls of {show(stiffness, 'stiffness')}{ends} "
            f"(t / (1/E1 + 1/E2) over {show(play.length, 'length')}{flat}); starts centred"
        )
    loss = _loss(play.loss, materials)
    places = [joint.point + ring * joint.axis for ring in play.rings]
    masses = [_meeting(assembly, joint.first, joint.second, p, square(joint.axis)) for p in places]
    return [
        TouchData(
            joint.name,
            "ring",
            index,
            joint.first,
            joint.second,
            place - one.com,
            joint.axis,
            joint.point - two.com,
            joint.axis,
            np.zeros(3),
            pi,
            play.diameter / 2,
            play.clearance / 2,
            stiffness,
            law.damping(stiffness, loss, mass),
            play.friction.static if play.friction is not None else 0.0,
            play.friction.kinetic if play.friction is not None else 0.0,
        )
        for place, mass in zip(places, masses, strict=True)
    ]


def _made_of(body: BodyData, point: Array, stated: str | None) -> Material | None:
    """Material as stated, else that of the body's nearest part whose material is known."""
    if stated is not None:
        return material(stated)
    known = [s for s in body.shapes if s.material]
    return material(min(known, key=lambda s: s.nearness(point)).material) if known else None


def _piped(body: BodyData, point: Array) -> tuple[float, float] | None:
    """Outside diameter and wall (m) of the pipe of a body that is nearest to a point; None where something else is."""
    known = [s for s in body.shapes if s.material]
    near = min(known, key=lambda s: s.nearness(point), default=None)
    wall = None if near is None or near.radius == 0.0 else near.through(np.zeros(3))
    return (wall.size, wall.wall) if wall is not None and wall.tube else None


def _wooden(of: Material | None) -> bool:
    strength = None if of is None else strength_of(of.name)
    return strength is not None and strength.family == "wood"


def _modulus(of: Material | None, field: str) -> float:
    if of is None or of.modulus is None:
        what = "no part with a known material there" if of is None else f"{of.name} has no modulus"
        raise RigError(
            [
                Fault(
                    f"the stiffness can't be derived: {what}",
                    field=field,
                    allowed="stiffness: 200 N/mm, or a material",
                )
            ]
        )
    return of.modulus


def _plane(of: Material | None, field: str) -> float:
    return law.plane_modulus(_modulus(of, field), None if of is None else of.poisson)


def _loss(stated: float | None, materials: Sequence[Material | None]) -> float:
    if stated is not None:
        return stated
    known = [m for m in materials if m is not None and m.modulus is not None]
    return law.loss_of(min(known, key=lambda m: m.modulus or inf)) if known else law.LOSS[2][1]


def _meeting(assembly: Assembly, first: int, second: int, place: Array, ways: Array) -> float:
    """Least mass with which two free bodies meet at a place along some directions (k, 3), kg."""
    eases = [sum(_ease(assembly.bodies[b], place, way) for b in (first, second) if b >= 0) for way in ways]
    return 1.0 / max(eases) if max(eases) > 0.0 else 1.0


def quickest(assembly: Assembly, data: Sequence[TouchData]) -> tuple[float, str]:
    """Highest natural frequency of places of touch against the free bodies that meet there, rad/s, and which place.

    0 and "" without any.

    All places between two bodies are counted as if they held together at the stiffest of them.
    """
    found = [(0.0, "")]
    for t in data:
        together = sum(u.stiffness for u in data if {u.first, u.second} == {t.first, t.second})
        place = assembly.bodies[t.second].com + t.second_point + t.radius * t.middle
        ways = (-t.middle if t.cam else t.direction)[None]
        if t.kind == "ring":
            place, ways = t.first_point + assembly.bodies[t.first].com, square(t.direction)
        which = f"contact {t.name!r}" if t.joint < 0 else f"the play of joint {t.name!r}"
        found.append((sqrt(together / _meeting(assembly, t.first, t.second, place, ways)), which))
    return max(found, key=lambda one: one[0])


def _ease(body: BodyData, place: Array, way: Array) -> float:
    """Acceleration of a point of a free body for a unit force there, 1/kg."""
    if body.fixed:
        return 0.0
    arm = np.cross(place - body.com, way)
    moments, axes = np.linalg.eigh(body.inertia)
    turning = sum(
        (float(arm @ a)) ** 2 / m for m, a in zip(moments, axes.T, strict=True) if m > 1e-9 * body.mass
    )
    return float(1.0 / body.mass + turning)
