"""Puts a prop together: masses, tree and loops, a start pose that closes, and consistent start speeds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from simprop.assembly.bending import Wanted, bent, slender
from simprop.assembly.closing import Closed, Mobility, count, follow
from simprop.assembly.coupling import coupled, coupling_told
from simprop.assembly.giving import given
from simprop.assembly.graph import WORLD, span
from simprop.assembly.kinematics import STILL, Hinge, Tree, make_tree, poses, residual, typical_length
from simprop.assembly.modes import fresh, still_closed
from simprop.assembly.seating import Seats, reseated, seated
from simprop.assembly.speeds import start_speeds
from simprop.assembly.types import Assembly, Axis, BodyData, Branch, Closure, JointData
from simprop.errors import AssemblyError, OpenLoopError
from simprop.geometry.arrays import Array
from simprop.geometry.placement import AS_DRAWN, Placement
from simprop.parts.kinds import Bending, Body
from simprop.parts.part import Shape
from simprop.quantities import show
from simprop.reading.fields import LIMITS, Point
from simprop.rig.model import Rig
from simprop.rules.mass import MassProperties, combined

OFF = 0.03
"""A joint is told of where it is drawn further than this from the parts of a body that it holds, m (assumed)."""
SLIDE_OFF = 1.0
"""The same for joints that slide, whose parts may be away along the rail, m (assumed)."""
TOLERANCE = 5e-4
"""Largest disagreement of points measured on two bodies that is taken for a bench error and closed, m."""


def assemble(rig: Rig) -> Assembly:
    """Put a rig together at its start pose.

    Held lengths and points measured on each body are met by moving the other bodies as little as possible from
    where they were drawn; joints with motors stay as drawn.

    Args:
        rig: as read by `load_rig`.

    Returns:
        The assembly; loops closed to 1e-9 m.

    Raises:
        OpenLoopError: when a loop doesn't close: names the joint and the gap.
        AssemblyError: when a body has no mass, or the start speeds contradict the joints.

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... bodies:
        ...   post: {fixed: true}
        ...   bob: {parts: [{lump: 1 kg, at: 1000 0 0 mm}]}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
        ... run: {for: 1 s}
        ... ''')
        >>> assemble(rig).mobility
        1
    """
    with rig.locating():
        rig.check_files()
        return _assemble(rig)


def _assemble(rig: Rig) -> Assembly:
    names = list(rig.bodies)
    holds = [_hold(rig, name) for name in names]
    shapes = [_shapes(rig, name, hold) for name, hold in zip(names, holds, strict=True)]
    weights = [combined([shape.weight for shape in row]) for row in shapes]
    _weighed(rig, weights)
    nodes = {name: WORLD if rig.bodies[name].still else i for i, name in enumerate(names)}
    order = list(rig.joints)
    branches, closing = span(rig, nodes, order, [w.mass for w in weights])
    size = _size(rig)

    def build(share: float) -> tuple[Tree, list[Hinge]]:
        hinges = _hinges(rig, nodes, holds, share)
        return make_tree(hinges, branches, len(names)), [hinges[i] for i in closing]

    _measured_points(rig)
    tree, loops = build(1.0)
    solved = follow(build, size, _driven(rig, tree, order))
    if solved.reached < 1.0:
        raise _not_closed(rig, solved, tree, [order[i] for i in closing], loops, size)
    seats = Seats(rig, holds)
    solved = replace(solved, q=reseated(seats, tree, loops, solved.q, size, _driven(rig, tree, order)))
    slack = make_tree(_loosened(rig, tree.hinges), branches, len(names))
    q = np.zeros(slack.size)  # play starts centred
    q[[k for i, f, _ in slack.coordinates if not f.play for k in range(i, i + f.rates)]] = solved.q
    mobility = count(slack, [slack.hinges[i] for i in closing], q, size)
    placed, unseated = seated(seats, poses(tree, solved.q))
    bodies = tuple(
        _body(name, rig.bodies[name], row, weight, hold, placed[i])
        for i, (name, row, weight, hold) in enumerate(zip(names, shapes, weights, holds, strict=True))
    )
    closures = tuple(_closure(i, tree.hinges[i], placed, mobility, k) for k, i in enumerate(closing))
    axes: list[Axis] = []
    joints = tuple(_joint(rig, name, slack.hinges[i], placed, names, axes) for i, name in enumerate(order))
    couplings, slips = coupled(rig, bodies, joints, axes)
    velocity, spin = start_speeds(rig, tree, loops, solved.q, size=size, bodies=bodies, couplings=couplings)
    told = (*rig.told, *coupling_told((*couplings, *slips)))
    notes = (*told, *unseated, *_notes(rig, solved, tree, order), *_odd(rig, bodies, joints, branches))
    rigid = Assembly(
        rig,
        bodies,
        joints,
        tuple(branches),
        closures,
        tuple(axes),
        mobility.freedoms - len(couplings),
        mobility.surplus,
        velocity,
        spin,
        notes,
        couplings=couplings,
        slips=slips,
    )
    if couplings and not fresh(rigid):
        raise AssemblyError(
            "couplings: they say again what joints say, or contradict them, so that something can't move"
        )
    wanted = _bending(rig, bodies)
    if any(j.give for j in rig.joints.values()):
        rigid = given(rigid)
        rigid = replace(rigid, closures=still_closed(rigid))
    return bent(rigid, wanted) if wanted else rigid


def _bending(rig: Rig, bodies: Sequence[BodyData]) -> dict[int, Wanted]:
    """How bodies bend, by index; none where all are rigid."""
    found = {}
    for i, body in enumerate(rig.bodies.values()):
        if isinstance(body.bends, Bending):
            found[i] = Wanted(body.bends.pieces, body.bends.damping)
        elif body.bends:
            found[i] = Wanted()
        elif any(part.bends for part in body.parts):
            found[i] = Wanted(parts=frozenset(k for k, part in enumerate(body.parts) if part.bends))
        elif rig.run.bend and not bodies[i].fixed and slender(bodies[i]):
            found[i] = Wanted(every=False)
    return found


def _loosened(rig: Rig, hinges: Sequence[Hinge]) -> list[Hinge]:
    """The joints with what their play leaves free."""
    return [replace(h, freedoms=j.loosened) for h, j in zip(hinges, rig.joints.values(), strict=True)]


def _hold(rig: Rig, name: str) -> Placement:
    hold = rig.bodies[name].hold
    if hold is None:
        return AS_DRAWN
    start, end = np.array(hold.start[:3]), np.array(hold.end[:3])
    drawn = float(np.linalg.norm(end - start))
    if drawn < 1e-6:
        raise AssemblyError(f"bodies.{name}.hold: its two points are the same")
    return replace(AS_DRAWN, start=start, unit=(end - start) / drawn, scale=hold.length / drawn - 1.0)


def _shapes(rig: Rig, name: str, hold: Placement) -> list[Shape]:
    shapes = []
    for i, part in enumerate(rig.bodies[name].parts):
        field = f"bodies.{name}.parts.{i}"
        try:
            shape = part.place(hold, rig.source.read, part.name or field)
        except AssemblyError as error:
            raise AssemblyError(str(error) if part.name is None else f"{field}: {error}") from None
        if not shape.mass <= LIMITS["mass"][1]:
            most = show(LIMITS["mass"][1], "mass")
            raise AssemblyError(f"{field}: it weighs {show(shape.mass, 'mass')} (allowed: up to {most})")
        shapes.append(shape)
    return _as_weighed(shapes, rig.bodies[name].mass, name)


def _as_weighed(shapes: list[Shape], mass: float | None, name: str) -> list[Shape]:
    """Parts of a body that was weighed as a whole (kg), each in proportion."""
    if mass is None:
        return shapes
    drawn = sum(shape.mass for shape in shapes)
    if drawn <= 0:
        raise AssemblyError(f"bodies.{name}: its mass has no part to belong to: add a lump")
    return [replace(shape, weight=shape.weight.times(mass / drawn)) for shape in shapes]


def _weighed(rig: Rig, weights: Sequence[MassProperties]) -> None:
    for (name, body), weight in zip(rig.bodies.items(), weights, strict=True):
        if not body.still and weight.mass <= 0:
            raise AssemblyError(f"bodies.{name}: a body that moves needs a mass")


def _size(rig: Rig) -> float:
    """A length typical of the prop, to weigh turns against slides, m."""
    places = [p for j in rig.joints.values() for p in (j.at.values() if isinstance(j.at, dict) else [j.at])]
    if len(places) < 2:
        return 0.1
    return typical_length(np.array([p[:3] for p in places]))


def _partial(hold: Placement, share: float) -> Placement:
    return replace(hold, scale=hold.scale * share)


def _hinges(rig: Rig, nodes: dict[str, int], holds: Sequence[Placement], share: float) -> list[Hinge]:
    index = {name: i for i, name in enumerate(rig.bodies)}
    hinges = []
    for joint in rig.joints.values():
        a, b = joint.between
        at_a, at_b = joint.on(a), joint.on(b)
        if isinstance(joint.at, dict):
            middle = (np.array(at_a[:3]) + np.array(at_b[:3])) / 2
            at_a, at_b = (Point(*(middle + (np.array(p[:3]) - middle) * share)) for p in (at_a, at_b))
        on_a = _partial(holds[index[a]], share).stretched(at_a)
        on_b = _partial(holds[index[b]], share).stretched(at_b)
        hinges.append(Hinge(joint.freedoms, nodes[a], nodes[b], on_a, on_b, joint.direction))
    return hinges


def _measured_points(rig: Rig) -> None:
    """Points measured on both bodies must agree, unless a held length is there to be met."""
    if any(body.hold for body in rig.bodies.values()):
        return
    for name, joint in rig.joints.items():
        if isinstance(joint.at, dict):
            one, two = (np.array(p[:3]) for p in joint.at.values())
            apart = float(np.linalg.norm(one - two))
            if apart > TOLERANCE:
                a, b = joint.at
                raise AssemblyError(
                    f"joint {name!r} doesn't close: its points on {a!r} and {b!r} are {apart * 1000:.2f} mm apart "
                    f"(up to {TOLERANCE * 1000:g} mm is taken for a measuring error)"
                )


def _driven(rig: Rig, tree: Tree, order: Sequence[str]) -> list[int]:
    driven = {order.index(m.joint) for m in rig.motors.values() if m.joint in order}
    pairs = [(i, f) for i, f, step in tree.coordinates if step.branch.joint in driven]
    return [k for i, f in pairs for k in range(i, i + f.rates)]


def _not_closed(
    rig: Rig, solved: Closed, tree: Tree, names: Sequence[str], loops: Sequence[Hinge], size: float
) -> OpenLoopError:
    at = poses(tree, solved.q)
    gaps = [float(np.linalg.norm(residual([h], at, size))) for h in loops]
    worst = int(np.argmax(gaps))
    return OpenLoopError(
        f"joint {names[worst]!r} doesn't close: a gap of {gaps[worst] * 1000:.1f} mm is left"
    )


def _body(
    name: str,
    body: Body,
    shapes: Sequence[Shape],
    weight: MassProperties,
    hold: Placement,
    pose: tuple[Array, Array],
) -> BodyData:
    turn, shift = pose
    own = weight.moved(turn, shift)
    placement = replace(hold, turn=turn, shift=shift)
    placed = tuple(shape.moved(turn, shift - own.centre) for shape in shapes)
    return BodyData(name, body.still, own.mass, own.centre, own.inertia, placed, placement, body.scenery)


def _joint(
    rig: Rig,
    name: str,
    hinge: Hinge,
    placed: Sequence[tuple[Array, Array]],
    names: Sequence[str],
    axes: list[Axis],
) -> JointData:
    """A joint at the start pose; its coordinates are added to `axes`."""
    index, kind = list(rig.joints).index(name), rig.joints[name]
    turn, shift = STILL if hinge.first < 0 else placed[hinge.first]
    freedoms = []
    for freedom in hinge.freedoms:
        way, number = turn @ freedom.way, -1
        if freedom.how != "ball" and not freedom.play:
            number, motion = len(axes), freedom.how
            same = sum(a.joint == index and a.motion == motion for a in axes)
            axes.append(Axis(index, motion, way, f"{motion}{same + 1}" if same else motion))
        freedoms.append(replace(freedom, way=way, axis=number))
    first, second = (names.index(b) for b in kind.between)
    point, axis = turn @ hinge.on_first + shift, turn @ hinge.axis
    return JointData(name, kind, first, second, point, axis, tuple(freedoms))


def _closure(
    index: int, hinge: Hinge, placed: Sequence[tuple[Array, Array]], mobility: Mobility, k: int
) -> Closure:
    turn = STILL[0] if hinge.first < 0 else placed[hinge.first][0]
    both = np.zeros((6, 6))
    both[:3, :3] = both[3:, 3:] = turn
    return Closure(index, mobility.enforce[k] @ both.T, mobility.leave[k] @ both.T)


def _odd(
    rig: Rig, bodies: Sequence[BodyData], joints: Sequence[JointData], branches: Sequence[Branch]
) -> Iterator[str]:
    """What reads and goes together, and is hardly meant."""
    for section, drives in (("motors", rig.motors), ("pushers", rig.pushers)):
        for name, drive in drives.items():
            yield from (f"{section}.{name}: {words}" for words in drive.notes)
    turned: dict[str, str] = {}
    for name, motor in rig.motors.items():
        if motor.figures.sized and motor.joint in turned:
            yield f"motors.{name}: motor {turned[motor.joint]!r} turns joint {motor.joint!r} too"
        turned.setdefault(motor.joint, name)
    if rig.cues is not None:
        yield from rig.cues.late(rig.run.duration)
    for joint in joints:
        far = SLIDE_OFF if "slide" in joint.kind.moves else OFF
        for body in (bodies[joint.first], bodies[joint.second]):
            gap = min((s.gap(joint.point - body.com) for s in body.shapes), default=0.0)
            if gap > far:
                what = f"{1000 * gap:.0f} mm off the nearest part of {body.name!r}"
                yield f"joints.{joint.name}: {what}: move it, or draw what reaches there"
    touched = {b for spring in rig.springs.values() for b in getattr(spring, "between", ())}
    touched |= {b for pusher in rig.pushers.values() for b in pusher.between}
    touched |= {b for pull in rig.pulls.values() for b in pull.between}
    touched |= {place.body for cord in rig.cords.values() for place in cord.places}
    touched |= {end.on for strips in rig.strips.values() for end in strips.held}
    touched |= {contact.body for contact in rig.contacts.values()}
    for branch in branches:
        if branch.joint is None and bodies[branch.body].name not in touched:
            yield f"bodies.{bodies[branch.body].name}: nothing holds it, so it falls for ever"


def _notes(rig: Rig, solved: Closed, tree: Tree, order: Sequence[str]) -> list[str]:
    notes = []
    for name, body in rig.bodies.items():
        for i, part in enumerate(body.parts):
            notes += [f"bodies.{name}.parts.{i}: {words}" for words in part.notes()]
    if float(np.abs(solved.q).max(initial=0.0)) <= 1e-9:
        return notes
    for i, freedom, step in tree.coordinates:
        if step.branch.joint is None:
            continue
        name, value = order[step.branch.joint], solved.q[i]
        if freedom.how == "turn" and abs(value) > 1e-4:
            notes.append(f"joint {name!r} was turned by {np.degrees(value):.2f} deg to close the loops")
        elif freedom.how == "slide" and abs(value) > 1e-5:
            notes.append(f"joint {name!r} was slid by {value * 1000:.2f} mm to close the loops")
    return notes
