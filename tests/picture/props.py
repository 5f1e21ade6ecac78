"""A straw head that rises over a wall, by plain kinematics: about 46 parts and 40,000 triangles, no engine needed."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Assembly, BodyData, JointData
from simprop.engine.world import Trajectory
from simprop.geometry.placement import AS_DRAWN
from simprop.joints.kinds import JOINTS
from simprop.parts.ball import Sphere
from simprop.parts.bar import Flat
from simprop.parts.block import Cuboid
from simprop.parts.disc import Flange
from simprop.parts.lump import Mote
from simprop.parts.round import Round
from simprop.parts.slender import Line
from simprop.reading.fields import Point
from simprop.rig.model import Rig
from simprop.rules.mass import MassProperties

CRANK, ROD, SHAFT = 0.06, 0.26, 0.30
PVC = (0.0213, 0.0158)
X, Y, Z = np.eye(3)


def shape(kind, path, size, material, looks="plain", direction=(0, 0, 0), name="", mass=0.1):
    """A part of a kind: its sizes in the order of the kind's own, its thickness or axis along `direction`."""
    path, direction = np.atleast_2d(np.asarray(path, dtype=float)), np.asarray(direction, float)
    make, sizes = {
        "pipe": (Round, ("outside", "inside")),
        "tube": (Round, ("outside", "inside")),
        "rod": (Round, ("outside", "inside")),
        "bar": (Flat, ("width", "thick")),
        "disc": (Flange, ("diameter", "thick")),
        "ball": (Sphere, ("diameter",)),
        "lump": (Mote, ("diameter",)),
        "slender": (Line, ("diameter",)),
        "block": (Cuboid, ("size",)),
    }[kind]
    more = dict(zip(sizes, [tuple(size)] if kind == "block" else size, strict=True))
    more |= {"bar": {"direction": direction}, "disc": {"axis": direction}}.get(kind, {})
    if make is Round:
        more["weighed"] = more["inside"]
    weight = MassProperties(mass, path.mean(axis=0), np.zeros((3, 3)))
    return make(
        name=name or kind, material=material, looks=looks, weight=weight, path=path, turn=np.eye(3), **more
    )


def _body(name, fixed, com, shapes) -> BodyData:
    com = np.asarray(com, dtype=float)
    moved = tuple(s.moved(np.eye(3), -com) for s in shapes)
    return BodyData(name, fixed, sum(s.mass for s in shapes), com, 0.01 * np.eye(3), moved, AS_DRAWN)


def _joint(name, kind, first, second, point, axis) -> JointData:
    ends = [["stand", "crank", "rod", "mast"][i] for i in (first, second)]
    way = "along" if kind == "slider" else "axis"
    record = JOINTS.read({kind: ends, "at": Point(*point), way: axis.tolist()})
    return JointData(name, record, first, second, point, axis, record.freedoms)


def _stand():
    parts = [
        shape("block", (0, 0.02, 0.009), (0.44, 0.34, 0.018), "plywood"),
        shape("block", (0, -0.135, 0.24), (0.52, 0.06, 0.42), "", "wall"),
        shape("block", (0.09, 0.09, 0.28), (0.018, 0.12, 0.52), "pine"),
        shape("block", (-0.09, 0.09, 0.28), (0.018, 0.12, 0.52), "pine"),
        shape("bar", [(-0.1, 0.06, 0.60), (0.1, 0.06, 0.60)], (0.04, 0.005), "aluminium", direction=Z),
        shape(
            "tube",
            [
                (0.16, 0.12, 0.018),
                (0.16, 0.12, 0.45),
                (0.0, 0.12, 0.62),
                (-0.16, 0.12, 0.45),
                (-0.16, 0.12, 0.018),
            ],
            PVC,
            "PVC",
        ),
        shape("disc", (0, 0.05, SHAFT), (0.07, 0.06), "steel", direction=Y),
        shape("pipe", [(0, 0, 0.56), (0, 0, 0.63)], (0.0334, 0.027), "PVC"),
        shape("block", (0.20, -0.05, 0.05), (0.10, 0.08, 0.07), "ABS"),
        shape("block", (-0.21, -0.05, 0.06), (0.10, 0.10, 0.12), "foam"),
        shape("block", (-0.33, -0.02, 0.10), (0.12, 0.12, 0.2), "", "lantern"),
        shape("pipe", [(0.30, -0.02, 0), (0.30, -0.02, 0.5)], (0.05, 0.0), "pine", "post"),
        shape("block", (0.30, -0.02, 0.61), (0.17, 0.17, 0.24), "", "owl"),
    ]
    parts += [
        shape("rod", [(x, y, 0.018), (x, y, 0.05)], (0.008, 0), "steel")
        for x in (-0.2, 0.2)
        for y in (-0.08, 0.15)
    ]
    parts += [
        shape("disc", (x, 0.08, 0.018 + 0.004), (0.03, 0.008), "brass", direction=Z)
        for x in np.linspace(-0.12, 0.12, 8)
    ]
    return parts


def prop() -> Assembly:
    """The assembly in its start pose: crank to the right."""
    pin = np.array([CRANK, 0, SHAFT])
    wrist = np.array([0, 0, SHAFT + np.sqrt(ROD**2 - CRANK**2)])
    top = wrist + 0.36 * Z
    crank = [
        shape("bar", [(0, 0.012, SHAFT), pin + 0.012 * Y], (0.03, 0.005), "steel", direction=Y),
        shape("disc", (0, 0.012, SHAFT), (0.045, 0.012), "steel", direction=Y),
        shape("rod", [(0, 0.05, SHAFT), (0, -0.01, SHAFT)], (0.01, 0), "steel"),
        shape("rod", [pin + 0.02 * Y, pin - 0.02 * Y], (0.007, 0), "brass"),
    ]
    rod = [
        shape("pipe", [pin, wrist], PVC, "PVC"),
        shape("disc", pin, (0.034, 0.024), "PVC", direction=Y),
        shape("disc", wrist, (0.034, 0.024), "PVC", direction=Y),
    ]
    mast = [
        shape("pipe", [wrist, top], PVC, "PVC"),
        shape("pipe", [top - 0.19 * X - 0.08 * Z, top + 0.19 * X - 0.08 * Z], PVC, "PVC"),
        shape("ball", top + 0.09 * Z, (0.2,), "", "head"),
        shape("block", top + 0.205 * Z, (0.34, 0.34, 0.13), "", "hat"),
        shape("block", top - 0.19 * X - 0.15 * Z, (0.09, 0.09, 0.13), "", "hand"),
        shape("block", top + 0.19 * X - 0.15 * Z, (0.09, 0.09, 0.13), "", "skull"),
        shape("block", top - 0.11 * Z, (0.19, 0.012, 0.12), "cloth"),
        shape("ball", top - 0.30 * Z, (0.04,), "rubber"),
    ]
    mast += [
        shape("disc", top + np.array([x, -0.008, -0.11]), (0.016, 0.006), "copper", direction=Y)
        for x in (-0.05, 0.0, 0.05)
    ]
    mast += [
        shape(
            "slender",
            [top + np.array([x, 0, -0.08]), top + np.array([1.15 * x, 0.0, -0.13])],
            (0.004,),
            "straw",
        )
        for x in np.linspace(-0.18, 0.18, 6)
    ]
    bodies = (
        _body("stand", True, (0, 0, 0.2), _stand()),
        _body("crank", False, (CRANK / 2, 0, SHAFT), crank),
        _body("rod", False, (pin + wrist) / 2, rod),
        _body("mast", False, (wrist + top) / 2, mast),
    )
    joints = (
        _joint("shaft", "pin", 0, 1, np.array([0, 0, SHAFT]), Y),
        _joint("crankpin", "pin", 1, 2, pin, Y),
        _joint("wrist", "pin", 2, 3, wrist, Y),
        _joint("tee", "slider", 0, 3, np.array([0, 0, 0.6]), Z),
    )
    said = {j.name: j.kind for j in joints}
    rig = Rig.model_validate(
        {
            "rig": 1,
            "name": "Wall peeper",
            "bodies": {"stand": {"fixed": True}},
            "joints": said,
            "run": {"for": "2 s"},
        }
    )
    return Assembly(rig, bodies, joints, (), (), (), 1, 0, np.zeros((4, 3)), np.zeros((4, 3)))


def _about_y(angle):
    out = np.zeros((len(angle), 4))
    out[:, 1], out[:, 3] = np.sin(angle / 2), np.cos(angle / 2)
    return out


def motion(assembly: Assembly, seconds: float = 2.0, step: float = 1e-3, turns: float = 1.0) -> Trajectory:
    """The crank turning evenly, `turns` a second; rows stamped mid-step."""
    n = round(seconds / step)
    time = (np.arange(n) + 0.5) * step
    angle = 2 * np.pi * turns * time  # about -y: from +x towards +z
    pin = np.stack([CRANK * np.cos(angle), 0 * angle, SHAFT + CRANK * np.sin(angle)], 1)
    wrist = np.stack([0 * angle, 0 * angle, pin[:, 2] + np.sqrt(ROD**2 - pin[:, 0] ** 2)], 1)
    start = assembly.bodies
    lean = np.arctan2(wrist[:, 0] - pin[:, 0], wrist[:, 2] - pin[:, 2])
    lean0 = np.arctan2(-CRANK, np.sqrt(ROD**2 - CRANK**2))
    position = np.zeros((n, 4, 3))
    position[:, 0] = start[0].com
    position[:, 1] = (pin + np.array([0, 0, SHAFT])) / 2
    position[:, 2] = (pin + wrist) / 2
    position[:, 3] = start[3].com + wrist - assembly.joints[2].point
    rotation = np.zeros((n, 4, 4))
    rotation[..., 3] = 1.0
    rotation[:, 1] = _about_y(-angle)
    rotation[:, 2] = _about_y(lean - lean0)
    zero, none = np.zeros((n, 4, 3)), np.zeros((n, 0))
    lines = np.zeros((n, 0, 3))
    return Trajectory(
        step,
        time,
        position,
        rotation,
        zero,
        zero,
        zero,
        zero,
        none,
        none,
        np.zeros((n, 5, 0)),
        none,
        lines,
        lines,
        none,
        none,
    )
