"""Checks across the fields of a rig file: every name points somewhere, and to the right kind of thing."""

from __future__ import annotations

from typing import Any

from simprop.couplings.base import COUPLINGS
from simprop.errors import Fault
from simprop.forces.contacts import contact_faults
from simprop.forces.springs import SPRINGS
from simprop.forces.stops import STOPS
from simprop.joints.kinds import JOINTS
from simprop.reading.looking import mapping, still, strangers, unknown
from simprop.rig.drive_checks import drive_faults


def cross_faults(data: dict[str, Any]) -> list[Fault]:
    """Faults that no single field shows. Works on the file's data so that it also runs when some fields are wrong.

    Returns:
        Faults with `field` set and neither file nor line.

    Example:
        >>> parts = [{"lump": "1 kg"}]
        >>> data = {"bodies": {"arm": {"parts": parts}}, "joints": {"a": {"pin": ["arm", "amr"]}}}
        >>> [f.nearest for f in cross_faults(data)]
        ['arm']
    """
    bodies = mapping(data.get("bodies"))
    joints = mapping(data.get("joints"))
    faults: list[Fault] = []
    for name, joint in joints.items():
        faults += _joint(name, mapping(joint), bodies)
    for name, coupling in mapping(data.get("couplings")).items():
        for kind in COUPLINGS.names:
            pair = mapping(coupling).get(kind)
            for i, joint in enumerate(pair if isinstance(pair, list) else []):
                faults += _named(
                    f"couplings.{name}.{kind}.{i}", joint, joints, "a joint", _moving("turn", "slide")
                )
    for name, spring in mapping(data.get("springs")).items():
        faults += _spring(name, mapping(spring), bodies, joints)
    for name, cord in mapping(data.get("cords")).items():
        faults += _cord(name, mapping(cord), bodies)
    for name, strips in mapping(data.get("strips")).items():
        faults += _strips(name, mapping(strips), bodies)
    for name, stop in mapping(data.get("stops")).items():
        faults += _stop(name, mapping(stop), joints)
    for name, motor in mapping(data.get("motors")).items():
        faults += _named(
            f"motors.{name}.joint",
            mapping(motor).get("joint"),
            joints,
            "a joint",
            _moving("turn"),  # what pushes along a slide is a pusher
        )
    for name in mapping(mapping(data.get("run")).get("start_speeds")):
        faults += _named(f"run.start_speeds.{name}", name, joints, "a joint", _moving("turn", "slide"))
    faults += drive_faults(data)
    faults += contact_faults(data)
    faults += _watch(data, bodies)
    faults += _calm(data)
    for name, body in bodies.items():
        faults += _body(name, mapping(body))
    return faults


def _kind(joint: Any) -> str | None:
    return next((k for k in JOINTS.names if k in mapping(joint)), None)


def _moving(*hows: str) -> tuple[str, ...]:
    """Kinds of joint that move in one of some ways."""
    return tuple(name for name in JOINTS.names if any(how in JOINTS[name].moves for how in hows))


def _named(field: str, value: Any, joints: dict[str, Any], what: str, kinds: tuple[str, ...]) -> list[Fault]:
    if not isinstance(value, str):
        return []
    if value not in joints:
        return [unknown(field, value, joints, what)]
    kind = _kind(joints[value])
    if kind is not None and kind not in kinds:
        return [Fault(f"joint {value!r} is a {kind}", field=field, allowed=f"a {' or '.join(kinds)}")]
    return []


def _pair(field: str, pair: Any, bodies: dict[str, Any]) -> list[Fault]:
    if not isinstance(pair, list) or len(pair) != 2:
        return []
    faults = strangers(field, pair, bodies)
    if not faults and pair[0] == pair[1]:
        faults.append(
            Fault("joins a body to itself", field=field, value=str(pair[0]), allowed="two different bodies")
        )
    return faults


def _joint(name: str, joint: dict[str, Any], bodies: dict[str, Any]) -> list[Fault]:
    kind = _kind(joint)
    if kind is None:
        return []
    pair = joint[kind]
    faults = _pair(f"joints.{name}.{kind}", pair, bodies)
    if not faults and isinstance(pair, list) and len(pair) == 2:
        fixed = [still(bodies[b]) for b in pair]
        if all(fixed):
            faults.append(Fault("joins two bodies that both stand still", field=f"joints.{name}.{kind}"))
        at = joint.get("at")
        if isinstance(at, dict) and set(at) != set(pair):
            faults.append(
                Fault(
                    "a point for each of the two bodies is wanted",
                    field=f"joints.{name}.at",
                    allowed=" and ".join(pair),
                )
            )
    return faults


def _spring(name: str, spring: dict[str, Any], bodies: dict[str, Any], joints: dict[str, Any]) -> list[Fault]:
    kind = SPRINGS.key_of(spring)
    if kind is None:
        return []
    field = f"springs.{name}.{kind}"
    if not SPRINGS[kind].PIVOTED:
        return _pair(field, spring[kind], bodies)
    only = tuple(joint for joint in _moving("turn") if JOINTS[joint].moves == ("turn",))
    return _named(field, spring[kind], joints, "a joint", only)


def _stop(name: str, stop: dict[str, Any], joints: dict[str, Any]) -> list[Fault]:
    kind = STOPS.key_of(stop)
    if kind is None:
        return []
    return _named(f"stops.{name}.{kind}", stop[kind], joints, "a joint", _moving(STOPS[kind].MOTION))


def _cord(name: str, cord: dict[str, Any], bodies: dict[str, Any]) -> list[Fault]:
    over = cord.get("over")
    places = [("from", cord.get("from")), ("to", cord.get("to"))]
    places += [(f"over.{i}", place) for i, place in enumerate(over if isinstance(over, list) else [])]
    faults: list[Fault] = []
    for key, place in places:
        body = mapping(place).get("body")
        if isinstance(body, str) and body not in bodies:
            faults.append(unknown(f"cords.{name}.{key}.body", body, bodies, "a body"))
    return faults


def _strips(name: str, strips: dict[str, Any], bodies: dict[str, Any]) -> list[Fault]:
    faults: list[Fault] = []
    for key, end in (("on", strips), ("to.on", mapping(strips.get("to")))):
        body = end.get("on")
        if isinstance(body, str) and body not in bodies:
            faults.append(unknown(f"strips.{name}.{key}", body, bodies, "a body"))
    return faults


def _calm(data: dict[str, Any]) -> list[Fault]:
    """The wind blows in a run only where the rig says where to."""
    if mapping(data.get("run")).get("wind") is not True or "toward" in mapping(data.get("wind")):
        return []
    message = "for the wind to blow in the run the rig says how fast and where to"
    return [Fault(message, field="run.wind", allowed="wind: {speed: 4 m/s, toward: x}")]


def _watch(data: dict[str, Any], bodies: dict[str, Any]) -> list[Fault]:
    points = mapping(data.get("points"))
    watch = data.get("watch")
    faults = []
    for i, name in enumerate(watch if isinstance(watch, list) else []):
        body, _, point = str(name).rpartition(".")
        if point not in points:
            faults.append(unknown(f"watch.{i}", name, points, "a point"))
        elif body and body not in bodies:
            faults.append(unknown(f"watch.{i}", name, bodies, "a body"))
    return faults


def _body(name: str, body: dict[str, Any]) -> list[Fault]:
    if still(body) or body.get("parts"):
        return []
    return [Fault("a body that moves needs parts, to have a mass", field=f"bodies.{name}")]
