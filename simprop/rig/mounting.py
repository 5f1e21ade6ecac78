"""Mounted motors as parts of the bodies that carry them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from simprop.catalog.builds import Built, built
from simprop.catalog.motors import motor as catalogue_motor
from simprop.drives.kinds import Motor
from simprop.drives.mounts import Mount
from simprop.errors import Fault, RigError, nearest
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import square_way
from simprop.joints.kinds import JointKind
from simprop.parts.kinds import Body, MotorCase
from simprop.reading.fields import Point

SHAFT, OUT = 0.2, 0.5
"""Shaft of a motor that is described in the rig: its diameter over the least size of the gearbox, and how far it stands
out over the same (assumed; for the picture)."""


def mounted(
    bodies: Mapping[str, Body], motors: Mapping[str, Motor], joints: Mapping[str, JointKind]
) -> tuple[dict[str, Body], list[str]]:
    """The bodies with the motors that are mounted on them, and what there is to say of each motor.

    Args:
        bodies: of the rig.
        motors: of the rig.
        joints: of the rig.

    Raises:
        RigError: for a mount that can't be: on a body that isn't the joint's, of unknown weight or size.
    """
    found, faults, told = dict(bodies), [], []
    for name, motor in motors.items():
        joint = joints.get(motor.joint)
        if motor.mount is None or joint is None:
            continue
        own = list(_faults(name, motor, motor.mount, joint))
        faults += own
        if not own:
            body = found[motor.mount.on]
            case, words = _case(name, motor, motor.mount, joint)
            found[motor.mount.on] = body.model_copy(update={"parts": (*body.parts, case)})
            told.append(words)
    if faults:
        raise RigError(faults)
    return found, told


def build_of(motor: Motor) -> Built | None:
    """How a motor is built: as its mount says, else as its class; None where neither says."""
    mount, build = motor.mount, built(motor.motor) if isinstance(motor.motor, str) else None
    if mount is None or mount.gearbox is None:
        return build
    least, can = min(mount.gearbox), mount.can_size or (0.0, 0.0)
    return Built(
        gearbox=mount.gearbox,
        round=False,
        can=can,
        across=mount.can is not None,
        shaft=SHAFT * least,
        out=OUT * least,
        aside=0.0,
        holes=0,
        circle=float(np.hypot(*mount.gearbox[1:])),
        hole=0.0,
        source="as the rig says",
    )


def _faults(name: str, motor: Motor, mount: Mount, joint: JointKind) -> Iterator[Fault]:
    field = f"motors.{name}.mount"
    if mount.on not in joint.between:
        yield Fault(
            f"the motor turns joint {motor.joint!r}, so it is mounted on one of that joint's bodies",
            field=f"{field}.{mount.kind}",
            value=mount.on,
            allowed=", ".join(joint.between),
            nearest=nearest(mount.on, list(joint.between)),
        )
    if build_of(motor) is None:
        yield Fault(
            "how large this motor is isn't known",
            field=field,
            allowed="gearbox: 40 x 60 x 50 mm, and can_size: 35 x 60 mm (diameter x length) where it has a can",
        )
    if mount.mass is None and not isinstance(motor.motor, str):
        yield Fault("what this motor weighs isn't known", field=field, allowed="mass: 0.6 kg")
    if mount.can is not None and abs(float(np.dot(mount.can, _shaft(mount, joint)))) > 0.9:
        yield Fault(
            "the can lies along the shaft by this; leave `can` out where it lies behind the gearbox",
            field=f"{field}.can",
            allowed="a direction square to the shaft",
        )


def _shaft(mount: Mount, joint: JointKind) -> Array:
    return joint.direction if mount.shaft is None else np.asarray(mount.shaft)


def _case(name: str, motor: Motor, mount: Mount, joint: JointKind) -> tuple[MotorCase, str]:
    build = build_of(motor)
    assert build is not None  # else it is a fault
    row = catalogue_motor(motor.motor) if isinstance(motor.motor, str) else None
    shaft = _shaft(mount, joint)
    can = square_way(shaft, None if mount.can is None else np.asarray(mount.can))
    mass = mount.mass or (row.mass if row is not None else None) or 0.0
    at = mount.at or Point(*(np.array(joint.on(mount.on)[:3]) - build.out * shaft))
    told = f"motors.{name}: {mass:.3g} kg, {mount.words} and carried by {mount.on}"
    if mount.mass is None or mount.gearbox is None:
        told += f"; where the mount doesn't say, weight and size are those of its class ({build.source}): weigh it"
    case = MotorCase.model_construct(
        motor=name,
        of=row.name if row is not None else motor.figures.kind,
        weight=mass,
        build=build,
        at=at,
        shaft=tuple(shaft.tolist()),
        can=tuple(can.tolist()),
        hold=mount.where,
        foot=mount.stands,
        name=f"motor {name}",
    )
    return case, told
