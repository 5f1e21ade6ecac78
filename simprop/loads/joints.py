"""Peaks of everything that carries load over a run - joints, motors, springs, stops, contacts - and its audit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.cords import presses
from simprop.loads.driving import DriveRows, Rows, driven, stretches
from simprop.loads.energy import Energy, energy
from simprop.loads.mounts import held_motors
from simprop.loads.newton_euler import Wrenches, wrenches
from simprop.loads.outside import outer_pulls
from simprop.recording import Band, Recording

Kind = Literal["force", "moment"]

TOO_SMALL = 1e-6
"""A load that is none, N or N*m."""
JOLT = 1.01
"""A start is worth a word where it loads more than running by so much, as finely as peaks are settled."""


@dataclass(frozen=True)
class Peak:
    """The largest value of one quantity while the prop runs: without the starts of its drives.

    Of what a motor or pusher gives the largest while that drive runs itself: its own start and what it gives while a
    stop holds it left out. Where nothing but starts is seen, all of it counts.

    Attributes:
        key: ``joint.NAME.force``, ``joint.NAME.moment``, ``motor.NAME.load``, ``spring.NAME.load``,
            ``pusher.NAME.load`` (between its ends), ``pusher.NAME.push`` (what it is asked for), ``pull.NAME.load``,
            ``cord.NAME.load`` (of a span), ``cord.NAME over K.force`` (on the K-th place that it passes),
            ``strip.NAME.load`` (of a whole row, at its roots), ``air.BODY.load``,
            ``stop.NAME.load``, ``contact.NAME.force``, ``mount.NAME.force`` or ``.moment`` (of a motor) or
            ``member.NAME.moment``; also the key of its band.
        name: of what carries it.
        kind: force (N) or moment (N*m).
        value: SI, never negative.
        time: when, s.
        angle: coordinate of the first motor's joint then, rad (or m); None without a motor.
        row: index of the physics step.
        band: numerical band, or None when only one step was run.
        range: of a joint that shares its load with others in a way that rigid bodies don't determine: the peak if all
            were equally stiff, and if this one took all that it can, the lesser first; None where nothing is shared.
        start: the largest value while a drive starts (see `simprop.loads.driving.starts`), with ``.start`` behind its
            key; None where no start is told apart. Strength takes the larger of the two.
        of: of a drive, what its law gave at most, of which its load is what its own rotor and friction leave: the
            least by which an error of it counts, N*m or N; 0 for all else.
    """

    key: str
    name: str
    kind: Kind
    value: float
    time: float
    angle: float | None
    row: int
    band: Band | None
    range: tuple[float, float] | None = None
    start: Peak | None = None
    of: float = 0.0

    @property
    def unit(self) -> str:
        """N or N*m."""
        return "N" if self.kind == "force" else "N*m"

    @property
    def jolt(self) -> Peak | None:
        """Its peak while a drive starts where that is the higher one, else None."""
        if self.start is None or self.start.value < TOO_SMALL or self.start.value <= JOLT * self.value:
            return None
        return self.start

    @property
    def sort(self) -> str:
        """What carries it: joint, motor, spring, pusher, pull, cord, strip, air, stop, contact, member or coupling."""
        return self.key.partition(".")[0]


Pair = tuple[Peak | None, Peak | None]
"""Peak force and peak moment of one thing; None where it can't carry that."""


@dataclass(frozen=True)
class MotorLoad:
    """What a motor or pusher is asked for at its worst, beside what it can give.

    Attributes:
        name: of the drive.
        peak: largest load that the prop asks of it while it runs, with when; its own friction and rotor left out.
        able: what it can give at standstill from its supply with the wire (stall or pull-out), N*m or N; None where
            that isn't known.
        current: largest current, A; None where the law knows none.
        current_able: what the supply can give, A; None when unlimited or not known.
        difference: largest difference between the load its law applied and the load recovered from the motion, as
            a share of the largest; None where the mechanism doesn't determine it, and of a pusher.
        pulsed: switched on and off quickly (PWM): the supply's limit then acts on the mean of its current.
        held: how long a stop holds it in all, s.
        held_since: when first, s; None where none does.
    """

    name: str
    peak: Peak
    able: float | None
    current: float | None
    current_able: float | None
    difference: float | None
    pulsed: bool = False
    held: float = 0.0
    held_since: float | None = None


@dataclass(frozen=True)
class JointLoads:
    """Loads of a whole run.

    Attributes:
        recording: what they were computed from.
        wrenches: every joint at every step.
        joints: peak force and peak moment that each joint bears, highest force first: without what acts along or about
            its free axes (motors, springs, stops, friction).
        motors: what the motors are asked for, in the order of the rig.
        pushers: the same of the pushers.
        driven: rows of both.
        couplings: peak of what each coupling bears: push of the teeth, pull of the tight strand.
        mounts: peak force and peak moment of what holds each mounted motor.
        lines: peak load in each spring, pusher, pull (rope, gas strut, weight) and span of a cord: its ends must carry
            it too; pull of each row of strips at its roots, and drag on each body that the air brakes.
        stops: peak load in each stop.
        contacts: peak force in each contact.
        members: peak of the moment in each member that bends, the largest of any of its cross-sections.
        energy: audit of the run's energy.
        lasting: they are those of every night; False with a steady wind on top, at some instants of the run.
    """

    recording: Recording
    wrenches: Wrenches
    joints: tuple[tuple[Peak, Peak], ...]
    motors: tuple[MotorLoad, ...]
    lines: tuple[Peak, ...]
    stops: tuple[Peak, ...]
    contacts: tuple[Peak, ...]
    energy: Energy
    lasting: bool = True
    members: tuple[Peak, ...] = ()
    pushers: tuple[MotorLoad, ...] = ()
    driven: tuple[DriveRows, ...] = ()
    couplings: tuple[Peak, ...] = ()
    mounts: tuple[tuple[Peak, Peak], ...] = ()

    @property
    def starting(self) -> Rows:
        """When any drive starts, (n,); their own rows stand in `driven`."""
        none = np.zeros(len(self.recording.track.time), dtype=bool)
        return np.asarray(np.any([none, *(d.start for d in self.driven)], axis=0))

    @property
    def ranked(self) -> tuple[Pair, ...]:
        """Everything that carries load, highest force first, and after the forces what carries a moment alone."""
        alone = (*self.lines, *self.couplings, *self.stops, *self.contacts)
        pairs: list[Pair] = [*self.joints, *self.mounts]
        pairs += [(p, None) if p.kind == "force" else (None, p) for p in alone]
        return tuple(sorted(pairs, key=lambda pair: tuple(-p.value if p else 1.0 for p in pair)))

    @property
    def worst(self) -> Peak | None:
        """The highest peak force of anything, or None where nothing carries any."""
        return self.ranked[0][0] if self.ranked else None

    @property
    def worst_joint(self) -> Peak | None:
        """The highest peak force of any joint, or None without joints."""
        return self.joints[0][0] if self.joints else None

    def history(self, peak: Peak) -> Array:
        """Size of the load at each step, (n,) in the unit of its peak.

        Args:
            peak: one of these loads'.
        """
        found = _histories(self.recording, self.wrenches, self.driven)
        whole = peak.key.removesuffix(START)
        return next(size for key, _, size in found if key == whole)

    def with_bands(self, bands: Mapping[str, Band]) -> JointLoads:
        """The same loads with numerical bands put to their peaks."""

        def put(p: Peak) -> Peak:
            start = None if p.start is None else put(p.start)
            return replace(p, band=bands.get(p.key), start=start)

        def drives(loads: tuple[MotorLoad, ...]) -> tuple[MotorLoad, ...]:
            return tuple(replace(m, peak=put(m.peak)) for m in loads)

        return replace(
            self,
            recording=replace(self.recording, bands=bands),
            joints=tuple((put(f), put(m)) for f, m in self.joints),
            motors=drives(self.motors),
            pushers=drives(self.pushers),
            lines=tuple(map(put, self.lines)),
            stops=tuple(map(put, self.stops)),
            contacts=tuple(map(put, self.contacts)),
            members=tuple(map(put, self.members)),
            couplings=tuple(map(put, self.couplings)),
            mounts=tuple((put(f), put(m)) for f, m in self.mounts),
        )


START = ".start"
"""What the key of a start's peak ends with."""


def joint_loads(recording: Recording) -> JointLoads:
    """Wrenches and peaks of everything that carries load, over every physics step of a recording.

    Source: Newton-Euler equations over the recorded motion (`simprop.loads.newton_euler`).
    """
    laws = recording.laws
    found, rows = wrenches(recording.assembly, recording.track, laws), driven(recording)
    begun = (
        np.any([d.start for d in rows], axis=0) if rows else np.zeros(len(recording.track.time), dtype=bool)
    )
    own = {d.key: d for d in rows}
    peaks = {}
    for key, kind, size in _histories(recording, found, rows):
        drive = own.get(key)
        runs, starting = (~begun, begun) if drive is None else (drive.running, drive.start)
        most = 0.0 if drive is None else float(np.abs(drive.seen.given).max(initial=0.0))
        top = _peak(recording, key, kind, np.where(runs, size, -1.0) if runs.any() else size)
        peaks[key] = replace(top, of=most)
        if starting.any() and runs.any():
            start = _peak(recording, key + START, kind, np.where(starting, size, -1.0))
            peaks[key] = replace(peaks[key], start=replace(start, of=most))
    pairs = []
    for j, joint in enumerate(recording.assembly.joints):
        if j in recording.assembly.seams:
            continue
        pair = [peaks[f"joint.{joint.name}.{kind}"] for kind in ("force", "moment")]
        if j in found.shares:
            of = found.shares[j]
            for which, top in enumerate(pair):
                ends = [float(v[which][~begun].max(initial=0.0)) for v in (of.equal, of.alone)]
                pair[which] = replace(top, range=(min(top.value, *ends), max(top.value, *ends)))
        pairs.append((pair[0], pair[1]))
    pairs.sort(key=lambda pair: (-pair[0].value, pair[0].name))
    told = [_drive(recording, k, d, peaks[d.key], found) for k, d in enumerate(rows)]
    motors, pushers = tuple(told[: len(laws.motors)]), tuple(told[len(laws.motors) :])
    lines, stops, contacts, members, couplings = (
        tuple(p for p in peaks.values() if p.sort in sorts and p.key not in own)
        for sorts in (
            ("spring", "pusher", "pull", "cord", "strip", "air"),
            ("stop",),
            ("contact",),
            ("member",),
            ("coupling",),
        )
    )
    audit = energy(recording)
    return JointLoads(
        recording,
        found,
        tuple(pairs),
        motors,
        lines,
        stops,
        contacts,
        audit,
        members=members,
        pushers=pushers,
        driven=rows,
        couplings=couplings,
        mounts=tuple(
            (peaks[f"mount.{name}.force"], peaks[f"mount.{name}.moment"])
            for name, motor in recording.assembly.rig.motors.items()
            if motor.mount is not None
        ),
    )


def _peak(recording: Recording, key: str, kind: Kind, size: Array) -> Peak:
    row, motors = int(np.argmax(size)), recording.laws.motors
    where = float(recording.track.coordinate[row, motors[0].axis]) if motors else None
    name = key.removesuffix(START).partition(".")[2].rpartition(".")[0]
    time = float(recording.track.time[row])
    return Peak(key, name, kind, float(size[row]), time, where, row, recording.bands.get(key))


def _bearing(recording: Recording, found: Wrenches, j: int) -> tuple[Array, Array]:
    """Size of the force and of the moment that a joint bears at each step, (n,) each, without its free axes' loads."""
    assembly, force, moment = recording.assembly, found.force[:, j].copy(), found.moment[:, j].copy()
    turn = matrices(recording.track.rotation[:, assembly.joints[j].first])
    for axis in assembly.axes:
        if axis.joint == j:
            way, whole = turn @ axis.way, moment if axis.motion == "turn" else force
            whole -= np.einsum("ni,ni->n", whole, way)[:, None] * way
    return np.linalg.norm(force, axis=1), np.linalg.norm(moment, axis=1)


def _tied(recording: Recording, found: Wrenches) -> Iterator[tuple[str, Kind, Array]]:
    """The same of couplings, those that may slip last."""
    assembly, slipping = recording.assembly, recording.track.slip_force
    for k, coupling in enumerate(assembly.couplings):
        yield f"coupling.{coupling.name}.force", "force", coupling.kind.size(found.coupled[:, k])
    for k, coupling in enumerate(assembly.slips):
        yield f"coupling.{coupling.name}.force", "force", coupling.kind.size(slipping[:, k])


def _histories(
    recording: Recording, found: Wrenches, rows: tuple[DriveRows, ...]
) -> Iterator[tuple[str, Kind, Array]]:
    """Key of the peak, kind and size at each step, (n,), of every load that has a peak."""
    assembly, laws, track = recording.assembly, recording.laws, recording.track
    kinds: tuple[Kind, Kind] = ("force", "moment")
    for j, joint in enumerate(assembly.joints):
        if j in assembly.seams:
            continue
        for kind, size in zip(kinds, _bearing(recording, found, j), strict=True):
            yield f"joint.{joint.name}.{kind}", kind, size
    for member in assembly.members:
        across = np.linalg.norm(found.moment[:, member.seams], axis=2).max(axis=1)
        yield f"member.{member.whole.name}.moment", "moment", across
    for drive in rows:
        yield drive.key, kinds[drive.turns], drive.load
    yield from _between_points(recording)
    turning = [name for name, spring in assembly.rig.springs.items() if spring.about() is not None]
    for (axis, spring), name in zip(laws.torsion, turning, strict=True):
        angle, rate = track.coordinate[:, axis], track.rate[:, axis]
        torque = [spring.torque(a, r) for a, r in zip(angle.tolist(), rate.tolist(), strict=True)]
        yield f"spring.{name}.load", "moment", np.abs(torque)
    for (axis, _), name in zip(laws.stops, assembly.rig.stops, strict=True):
        turns = assembly.axes[axis].motion == "turn"
        yield f"stop.{name}.load", kinds[turns], np.abs(track.applied[:, APPLIED.index("stop"), axis])
    for held in held_motors(recording, found):
        yield f"mount.{held.motor}.force", "force", np.linalg.norm(held.force, axis=1)
        yield f"mount.{held.motor}.moment", "moment", np.linalg.norm(held.moment, axis=1)
    yield from _tied(recording, found)
    for k, touch in enumerate(laws.touches):
        if touch.joint < 0:
            yield f"contact.{touch.name}.force", "force", np.linalg.norm(track.touch_force[:, k], axis=1)


def _between_points(recording: Recording) -> Iterator[tuple[str, Kind, Array]]:
    """The same of what acts between two points, and of the places that cords pass."""
    for k, (name, sort) in enumerate(recording.assembly.rig.lines):
        yield f"{sort}.{name}.load", "force", np.abs(recording.track.line_force[:, k])
    for name, size in presses(recording):
        yield f"cord.{name}.force", "force", size
    for sort, name, force in outer_pulls(recording):
        yield f"{sort}.{name}.load", "force", force


def all_peaks(loads: JointLoads) -> list[Peak]:
    """Every peak, in one list; each that has one with its start behind it."""
    found = [p for pair in (*loads.joints, *loads.mounts) for p in pair] + [
        *(m.peak for m in (*loads.motors, *loads.pushers)),
        *loads.lines,
        *loads.stops,
        *loads.contacts,
        *loads.members,
        *loads.couplings,
    ]
    return [one for p in found for one in (p, p.start) if one is not None]


def _drive(recording: Recording, k: int, drive: DriveRows, top: Peak, found: Wrenches) -> MotorLoad:
    known = np.isfinite(drive.current)
    largest = float(drive.current[known].max()) if known.any() else None
    limit, motors = drive.source.limit, recording.laws.motors
    difference = None
    if k < len(motors):
        given = float(np.abs(found.applied[:, k]).max())
        if np.isfinite(found.recovered[:, k]).all() and given > 0.0:
            difference = float(np.abs(found.recovered[:, k] - found.applied[:, k]).max() / given)
    begun = [float(recording.track.time[begin]) for begin, _ in stretches(drive.held)]
    return MotorLoad(
        drive.name,
        top,
        drive.able if np.isfinite(drive.able) else None,
        largest,
        limit if np.isfinite(limit) else None,
        difference,
        drive.spec.pwm is not None,
        float(drive.held.sum()) * recording.track.step,
        begun[0] if begun else None,
    )
