"""Springs: what the rig says of them, their law, and what is seen of them."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan
from typing import TYPE_CHECKING, Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from simprop.catalog import spreads, spring_wires
from simprop.catalog.bought import Bought
from simprop.catalog.spreads import Tunable
from simprop.fasteners.ends import Ended, Held
from simprop.forces.coil import coil
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.joints.kinds import Pair
from simprop.laws.springs import AxisLaw, Coil, Compression, Extension, LineLaw, Torsion, TwoWay
from simprop.reading.base import Record
from simprop.reading.catalogue import known
from simprop.reading.fields import (
    Angle,
    Damping,
    Force,
    Length,
    NotNegative,
    Number,
    Place,
    Size,
    Stiffness,
    Torque,
    TurningDamping,
    TurningStiffness,
    apart,
    fault,
)
from simprop.reading.kinds import Kinds
from simprop.rules import coils

STORED = "Springs store energy with the power off: let them down before work, shield the ends."


@dataclass(frozen=True)
class Line:
    """A law between a point on each of two bodies, places of the start pose."""

    between: Pair
    start: Place
    end: Place
    law: LineLaw


class Wound(Record):
    """What a coil spring is wound of.

    Attributes:
        wire: its diameter, m.
        mean: diameter of the coil to the middle of the wire, m.
        coils: all of them.
        active: those that give; None: all of an extension spring, all but one at each end of any other (ground ends).
        of: sort of wire.
    """

    wire: Size
    mean: Size
    coils: Annotated[Number, Field(ge=1.0, le=1000.0)]
    active: Annotated[Number, Field(gt=0.0)] | None = None
    of: Annotated[str, known(spring_wires.wire)] = "music wire"

    @model_validator(mode="after")
    def _index(self) -> Wound:
        if not 3.0 <= self.mean / self.wire <= 20.0:
            raise fault(
                f"a coil of {self.mean / self.wire:.3g} wire diameters can't be wound or tangles",
                "3 to 20 of them",
            )
        if self.active is not None and self.active > self.coils:
            raise fault("more coils give than there are", f"up to {self.coils:g}")
        return self

    def rate(self, ends: float) -> float:
        """Force per length, N/m.

        Args:
            ends: coils that don't give where `active` isn't stated.
        """
        active = self.coils - ends if self.active is None else self.active
        return coils.rate(spring_wires.wire(self.of).shear, self.wire, self.mean, active)

    def mass(self, hooks: float) -> float:
        """Of its wire, kg.

        Args:
            hooks: further coils in its ends.
        """
        density = spring_wires.wire(self.of).density
        return coils.mass(density, self.wire, self.mean, self.coils + hooks)


class Spring(Ended):
    """What any room may ask of a spring; its kind's key names its two bodies, or the joint that it acts about.

    Attributes:
        PIVOTED: it acts about a joint that only turns; else between two bodies.
        tunable: its figures that readings on the built prop can tell.
    """

    kind: str
    PIVOTED: ClassVar[bool] = False
    tunable: ClassVar[tuple[Tunable, ...]] = ()
    cautions: ClassVar[tuple[str, ...]] = (STORED,)

    def line(self) -> Line | None:
        """What it is between two points; None where it acts about a joint."""
        return None

    def about(self) -> tuple[str, AxisLaw] | None:
        """The joint that it acts about, and its law; None where it acts between two points."""
        return None

    def bought(self) -> tuple[Bought, ...]:
        """What one asks for; in the words of its kind where that doesn't say more."""
        return (Bought("springs and pulls", f"{self.kind.replace('_', ' ')} spring", 1),)

    @property
    def free(self) -> float:
        """Length or angle at which it gives nothing, m or rad; NaN where it has none."""
        return nan

    @property
    def wound(self) -> Wound | None:
        """What it is wound of; None where the rig doesn't say."""
        return None

    @property
    def mass(self) -> float:
        """Weight that its ends share, kg; 0 where it isn't known."""
        return 0.0

    @property
    def pulls(self) -> bool:
        """It only pulls, by hooks."""
        return False

    def drawn(self, lengths: Array) -> Surface:
        """What is seen of it along x from 0 to 1, to be stretched to its length; `lengths`: over the run, (n,) m."""
        return coil(float(lengths.mean()))


class LineSpring(Spring):
    """A coil spring between a point on each of two bodies.

    Attributes:
        rate: force per length, N/m; None: that of its coil.
        coil: what it is wound of; then its weight is shared by its ends, and its wire is checked.
        free_length: distance of the two points at which the spring (behind its slack) carries no force, m.
        preload: initial tension of a close-wound extension spring, N.
        slack: free play of hooks or rope before the spring is taken up, m.
        held_by: what holds its ends to the bodies; None: not named.
        LAW: of its kind.
    """

    tunable: ClassVar[tuple[Tunable, ...]] = (
        Tunable("rate", "stiffness", "rate", spreads.RATE, "stiff"),
        Tunable("free_length", "length", "free length", spreads.FREE_LENGTH),
        Tunable("preload", "force", "preload", spreads.PRELOAD),
    )
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    rate: Stiffness | None = None
    coil: Wound | None = None
    free_length: Size
    preload: Annotated[Force, NotNegative] = 0.0
    slack: Annotated[Length, NotNegative] = 0.0
    damping: Damping = 0.0
    held_by: Held = None
    if TYPE_CHECKING:
        between: Pair
    LAW: ClassVar[type[Coil]]
    ENDS: ClassVar[float] = 2.0
    """Coils at its ends that don't give."""
    HOOKS: ClassVar[float] = 0.0
    """Further coils of wire in its ends."""

    @model_validator(mode="after")
    def _straight(self) -> LineSpring:
        apart(self.start, self.end)
        if self.rate is None and self.coil is None:
            raise fault(
                "how stiff it is isn't known", "rate: 500 N/m, or coil: {wire: 1 mm, mean: 10 mm, coils: 30}"
            )
        if self.coil is not None and self.coil.active is None and self.coil.coils <= self.ENDS:
            raise fault("none of its coils gives: one at each end doesn't", f"more than {self.ENDS:g} coils")
        return self

    @property
    def free(self) -> float:
        return self.free_length

    @property
    def stiff(self) -> float:
        """Force per length, N/m."""
        if self.rate is not None or self.coil is None:
            return self.rate or 0.0
        return self.coil.rate(self.ENDS)

    def bought(self) -> tuple[Bought, ...]:
        words = f"{self.kind.replace('_', ' ')} spring, {self.stiff / 1e3:.3g} N/mm, free length "
        words += f"{1e3 * self.free_length:.4g} mm"
        if self.preload:
            words += f", initial tension {self.preload:.3g} N"
        if self.coil is not None:
            own = self.coil
            words += f", of {1e3 * own.wire:g} mm {own.of}, {1e3 * (own.mean + own.wire):.4g} mm outside, "
            words += f"{own.coils:g} coils"
        note = "its rate and free length are measured when it is bought; the tune-up sheet asks for them"
        return (Bought("springs and pulls", words, 1, wears="it tires and rusts", note=note),)

    @property
    def wound(self) -> Wound | None:
        return self.coil

    @property
    def mass(self) -> float:
        return 0.0 if self.coil is None else self.coil.mass(self.HOOKS)

    def drawn(self, lengths: Array) -> Surface:
        return self._drawn(lengths, 0.02)

    def _drawn(self, lengths: Array, hook: float) -> Surface:
        own = self.coil
        measures = None if own is None else (own.wire, own.mean, own.coils)
        return coil(float(lengths.mean()), hook, measures)

    def line(self) -> Line:
        law = self.LAW(self.stiff, self.free_length, self.preload, self.slack, self.damping)
        return Line(self.between, self.start, self.end, law)


class ExtensionSpring(LineSpring):
    """Pulls when longer than its free length, goes slack when shorter."""

    kind: Literal["extension"] = "extension"
    between: Pair = Field(alias="extension")
    LAW: ClassVar[type[Coil]] = Extension
    ENDS: ClassVar[float] = 0.0
    HOOKS: ClassVar[float] = 2.0

    @property
    def pulls(self) -> bool:
        return True

    def drawn(self, lengths: Array) -> Surface:
        """With straight hooks at its ends."""
        return self._drawn(lengths, 0.12)


class CompressionSpring(LineSpring):
    """Pushes when shorter than its free length, comes loose when longer."""

    hooked: ClassVar[bool] = False
    kind: Literal["compression"] = "compression"
    between: Pair = Field(alias="compression")
    LAW: ClassVar[type[Coil]] = Compression


class TwoWaySpring(LineSpring):
    """Pulls and pushes: fastened at both ends."""

    kind: Literal["two_way"] = "two_way"
    between: Pair = Field(alias="two_way")
    LAW: ClassVar[type[Coil]] = TwoWay


class TorsionSpring(Spring):
    """A spring about a pin: torque = -rate * (angle - free_angle) - preload in the sense of the angle."""

    tunable: ClassVar[tuple[Tunable, ...]] = (
        Tunable("rate", "turning_stiffness", "rate", spreads.RATE),
        Tunable("preload", "torque", "preload", spreads.PRELOAD),
    )
    kind: Literal["torsion"] = "torsion"
    joint: str = Field(alias="torsion")
    rate: TurningStiffness
    free_angle: Angle = 0.0
    preload: Torque = 0.0
    slack: Annotated[Angle, NotNegative] = 0.0
    damping: TurningDamping = 0.0
    PIVOTED: ClassVar[bool] = True

    @property
    def free(self) -> float:
        return self.free_angle

    def bought(self) -> tuple[Bought, ...]:
        words = f"torsion spring, {self.rate:.3g} N*m/rad"
        note = "for the pin of its joint; legs as its stops want them"
        return (Bought("springs and pulls", words, 1, wears="it tires and rusts", note=note),)

    def about(self) -> tuple[str, AxisLaw]:
        return self.joint, Torsion(self.rate, self.free_angle, self.preload, self.slack, self.damping)


SPRINGS: Kinds[Spring] = Kinds("spring")
"""The kinds of spring."""

for _kind in (ExtensionSpring, CompressionSpring, TwoWaySpring, TorsionSpring):
    SPRINGS.add(_kind)

AnySpring = Annotated[Spring, SPRINGS]
