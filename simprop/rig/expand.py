"""Things of a rig that stand for more than one: a universal joint is a cross and two pins, a slot has ends, a mounted
motor weighs on a body."""

from __future__ import annotations

from simprop.errors import Fault, RigError
from simprop.forces.contacts import AnyContact, UnmatchedError
from simprop.forces.stops import SlidingStop
from simprop.joints.kinds import Made
from simprop.rig.bearing_ends import borne
from simprop.rig.joining import fitted
from simprop.rig.model import Rig
from simprop.rig.mounting import mounted


def expanded(rig: Rig) -> tuple[Rig, tuple[str, ...]]:
    """The rig with all that its joints stand for, and what there is to say of them, one sentence each.

    Raises:
        RigError: where a name that something gets is taken.
    """
    bodies, joints, stops = dict(rig.bodies), {}, dict(rig.stops)
    told: list[str] = []
    faults: list[Fault] = []
    for name, joint in rig.joints.items():
        told += joint.told(name, rig.joints)
        own = joint.made_of(name, rig.joints) or Made({name: joint})
        for taken in (
            bodies.keys() & own.bodies.keys(),
            (rig.joints.keys() - {name}) & own.joints.keys(),
            stops.keys() & own.ends.keys(),
        ):
            faults += [
                Fault(f"{joint.kind} makes {one!r} of itself, and that name is taken", field=f"joints.{name}")
                for one in sorted(taken)
            ]
        joints.update(own.joints)
        bodies.update(own.bodies)
        stops |= {
            stop: SlidingStop.model_construct(
                slide_stop=ends.joint, below=ends.below, above=ends.above, of=ends.of
            )
            for stop, ends in own.ends.items()
        }
    if faults:
        raise RigError(faults)
    contacts = _contacts(rig)
    bodies, words = mounted(fitted(bodies), rig.motors, rig.joints)
    told += words
    bodies, words = borne(bodies, rig.springs, rig.pushers)
    told += words
    if (bodies, joints, stops, contacts) == (rig.bodies, rig.joints, rig.stops, rig.contacts):
        return rig, tuple(told)
    made = {"bodies": bodies, "joints": joints, "stops": stops, "contacts": contacts}
    return rig.model_copy(update=made), tuple(told)


def _contacts(rig: Rig) -> dict[str, AnyContact]:
    """The contacts, each with what it takes from the parts of its body."""
    found, faults = {}, []
    for name, contact in rig.contacts.items():
        try:
            found[name] = contact.made(rig.bodies[contact.body].parts)
        except UnmatchedError as error:
            message, value, allowed = error.args
            faults.append(Fault(message, field=f"contacts.{name}.rail", value=value, allowed=allowed))
    if faults:
        raise RigError(faults)
    return found
