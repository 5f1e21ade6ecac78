"""What a fastener sees: the load across, along and about it at every step, and the parts it goes through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from simprop.catalog.strengths import Strength
from simprop.checking import check
from simprop.checking.check import Check, judge
from simprop.checking.setting import Setting, weakened
from simprop.geometry.arrays import Array

NO_DIRECTION = "its direction isn't said (`along`): the whole force and moment count along and about it"


@dataclass(frozen=True)
class Part:
    """What a fastener goes through on one of its two bodies.

    Attributes:
        body: name of the body.
        label: as a person would call it, such as ``arm PVC pipe``.
        tube: it is a tube, not something solid (a plate).
        outside: outside diameter of a tube, or the size of a plate along the fastener, m.
        wall: thickness of one wall of a tube, or the plate's size along the fastener, m.
        edge: from the fastener to the nearer free end as drawn, m; None for a block.
        half: half of its size along the fastener, m.
        middle: place of its middle line along the fastener's axis, m.
        strength: of its material; None where the catalogue has none.
        material: its name.
        plate: thickness of a plate put over each loaded wall, m.
        grain: direction of its length and so of its grain in the start pose, (3,); zeros where it has none.
    """

    body: str
    label: str
    tube: bool
    outside: float
    wall: float
    edge: float | None
    half: float
    middle: float
    strength: Strength | None
    material: str
    plate: float = 0.0
    grain: Array = field(default_factory=lambda: np.zeros(3))


@dataclass(frozen=True)
class Context:
    """A held joint with its loads over all steps.

    Attributes:
        joint: its name.
        moving: the joint moves while the prop runs.
        axis: unit direction of the fastener in the start pose; zeros where it isn't known.
        across: load across the fastener, (n, 2) N, in two directions of the first body.
        along: load along it, (n,) N, positive when the second body is pulled along `axis`.
        torque: about it, (n,) N*m.
        tilt: moment square to it, (n,) N*m, never negative. Where the axis isn't known, the whole force counts both
            across and along, and the whole moment both about and square to it.
        time: (n,) s.
        parts: of the first and the second body; None where nothing is drawn at the joint.
        setting: temperature, season, people.
        shared: what rigid bodies leave undetermined at this joint, in words, or "".
        swing: rotation of the second body against the first, (n, 3, 3).
        turned_by: the motor that turns the joint, or "".
    """

    joint: str
    moving: bool
    axis: Array
    across: Array
    along: Array
    torque: Array
    tilt: Array
    time: Array
    parts: tuple[Part | None, Part | None]
    setting: Setting
    shared: str
    swing: Array
    turned_by: str = ""

    @property
    def sideways(self) -> Array:
        """Size of the load across the fastener, (n,) N."""
        return np.asarray(np.linalg.norm(self.across, axis=1))

    def grain_angle(self, which: int) -> Array:
        """Angle of the sideways load to the grain of a part, rad (n,): a right angle where either isn't known.

        Args:
            which: 0 for the part on the first body, 1 for that on the second.
        """
        part, square = self.parts[which], np.full(len(self.time), np.pi / 2)
        if part is None or not part.grain.any() or not self.axis.any():
            return square
        one, two = square_to(self.axis)
        way = self.across[:, :1] * one + self.across[:, 1:] * two
        grain = np.broadcast_to(part.grain, way.shape) if which == 0 else self.swing @ part.grain
        size = np.linalg.norm(way, axis=1)
        share = np.abs(np.einsum("ni,ni->n", way, grain)) / np.maximum(size, 1e-12)
        return np.where(size > 1e-12, np.arccos(np.minimum(share, 1.0)), square)

    @property
    def whole(self) -> Array:
        """Size of the whole force, (n,) N."""
        return np.asarray(np.sqrt(self.sideways**2 + self.along**2))

    @property
    def step(self) -> float:
        """Time between two steps, s."""
        return float(self.time[1] - self.time[0]) if len(self.time) > 1 else 0.0

    @property
    def tube(self) -> Part | None:
        """The tube at the joint: of the second body, else of the first."""
        return next((p for p in reversed(self.parts) if p is not None and p.tube), None)

    def weakened(self, strength: Strength) -> float | str:
        """Factor on a strength at the setting's temperature, or why it isn't known."""
        weak = weakened(strength, self.setting)
        return (
            f"no figures for {strength.name} at {self.setting.temperature:.0f} degC" if weak is None else weak
        )

    def not_computed(self, name: str, reason: str) -> Check:
        """A check of this joint that could not be made, with the reason."""
        return check.not_computed("fastener", name, self.joint, reason)

    def warning(self, name: str, reason: str) -> Check:
        """Something to look at at this joint."""
        return check.warning("fastener", name, self.joint, reason)

    def against(
        self,
        name: str,
        values: Array,
        limit: float,
        *,
        unit: str,
        factor: float,
        assumed: Sequence[str] = (),
        source: str = "",
    ) -> Check:
        """The peak of a load history, (n,) in `unit`, against a limit in `unit`; the rest are fields of `Check`."""
        most, row = peak(values)
        return judge(
            "fastener",
            name,
            self.joint,
            most,
            limit,
            unit=unit,
            factor=factor,
            assumed=assumed,
            source=source,
            time=float(self.time[row]),
        )

    def pull_and_twist(
        self,
        name: str,
        limits: tuple[float, float],
        *,
        factor: float,
        assumed: Sequence[str] = (),
        source: str = "",
    ) -> Check:
        """Pull along the fastener (limit N) and twist about it (limit N*m) together, linear; no limit, no load.

        The rest of the arguments are fields of `Check`.
        """
        pull, twist = np.abs(self.along), np.abs(self.torque)
        force, torque = limits
        unit = "of its strength"
        use, limit = np.zeros(len(self.time)), 1.0
        if not self.axis.any():
            assumed = [*assumed, NO_DIRECTION]
        for values, most, own, least in ((pull, force, "N", 1e-3), (twist, torque, "N*m", 1e-4)):
            if most > 0:
                use = use + values / most
            elif peak(values)[0] > least:
                use, limit, unit = values, 0.0, own
                break
        return self.against(name, use, limit, unit=unit, factor=factor, assumed=assumed, source=source)

    def row(self, count: int, spacing: float | None) -> tuple[Array, Array] | None:
        """Load across and along the worst of a row of fasteners, (n,) N each; None where one can't stop turning.

        Args:
            spacing: between two of them, m; None: not known.
        """
        shear, pull = self.sideways / count, np.abs(self.along) / count
        if self.moving:
            return shear, pull
        arm = group_arm(count, spacing)
        if arm is None:
            return (shear, pull) if max(peak(self.torque)[0], peak(self.tilt)[0]) <= 1e-3 else None
        return shear + np.abs(self.torque) * arm[0] / arm[1], pull + self.tilt * arm[0] / arm[1]


def square_to(axis: Array) -> tuple[Array, Array]:
    """Two unit directions square to a unit direction and to each other, (3,) each.

    Args:
        axis: (3,).

    Example:
        >>> [way.tolist() for way in square_to(np.array([0.0, 0.0, 1.0]))]
        [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]
    """
    least = np.eye(3)[int(np.argmin(np.abs(axis)))]
    one = np.cross(axis, least)
    one = one / np.linalg.norm(one)
    return one, np.cross(axis, one)


def peak(values: Array) -> tuple[float, int]:
    """Largest size of some values and its index.

    Args:
        values: (n,).

    Example:
        >>> peak(np.array([1.0, -3.0, 2.0]))
        (3.0, 1)
    """
    row = int(np.argmax(np.abs(values)))
    return float(abs(values[row])), row


def group_arm(count: int, spacing: float | None) -> tuple[float, float] | None:
    """Largest arm m and sum of squared arms m^2 of a straight row of fasteners about its middle; None for one.

    Args:
        spacing: between two of them, m; None: not known.

    Example:
        >>> group_arm(3, 0.1)
        (0.1, 0.020000000000000004)
    """
    if count < 2 or spacing is None:
        return None
    arms = (np.arange(count) - (count - 1) / 2) * spacing
    return float(arms.max()), float((arms**2).sum())
