"""Cords of a rig as data, and what they do at poses that an engine gives."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import pi, sqrt
from typing import Any, TypeVar

import numpy as np

from simprop.assembly.types import Assembly
from simprop.cords.base import Cord, CordPlace, span_names
from simprop.engine.acting.lines import NEAREST, LineData
from simprop.errors import EngineError, Fault, RigError
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import square
from simprop.geometry.turning import matrices
from simprop.laws.springs import LineLaw

T = TypeVar("T")

SHARP = 0.02
"""Sine of the least turn of a drawn cord that tells which side of a wheel it runs on."""
SLANT = 0.05
"""Angle by which a cord may run out of the plane of a wheel without a word, rad (some 3 deg, common practice)."""
TIGHT = 0.2
"""Most that a cord may be stretched where it begins, as a share of its length."""
LIFTED = 0.01
"""Angle by which a taut cord may seem to lift off a wheel, rad."""


@dataclass(frozen=True)
class Strand(LineLaw):
    """A span of a cord as the line that carries its pull; engines put that pull on the bodies by themselves.

    Attributes:
        rate: a quarter of its stiffness, N/m: it decides how fine the step must be, and what is evaluated at every
            stage of a step is followed at twice the step of what isn't (halving it looks after the rest).
    """

    rate: float

    @property
    def affine(self) -> tuple[float, float, float]:
        return 0.0, 0.0, 0.0

    def tension(self, length: float, rate_of_length: float) -> float:
        return 0.0


@dataclass(frozen=True)
class Passed:
    """A place of a cord in the start pose: body by index; point (m), axis and mark in its body, (3,); radius (m), way
    round (+1, -1), friction."""

    body: int
    point: Array
    axis: Array
    mark: Array
    radius: float
    way: float
    grip: float


@dataclass(frozen=True)
class CordData:
    """A cord.

    Attributes:
        name: as in the rig.
        line: index of its first span in `Actuation.lines`.
        places: that it passes, its ends too.
        stretch: pull that would double its length, N.
        ease: give of the springs at its two ends, m/N.
        length: at no pull, m; None: as drawn.
        slack: added to that, m.
        loss: damping ratio.
        moving: mass that it is counted with, kg.
        weight: of that mass, N.
    """

    name: str
    line: int
    places: tuple[Passed, ...]
    stretch: float
    ease: tuple[float, float]
    length: float | None
    slack: float
    loss: float
    moving: float
    weight: float


class Cording:
    """All cords of a run.

    Args:
        assembly: the prop.
        data: its cords.

    Attributes:
        bodies: position, turn, velocity and spin, to be set by the engine, as in `Touching`.
        force, point: on the body at each end of each span, (2 S, 3) N and m.
        pull, length: of each span, (S,) N and m, straight.
        ends: body of each of those ends, (2 S,).
        stiffness: of each span, (S,) N/m.
        bent: angle turned at each place, (P,) rad; below 0 where the cord would lift off.
        loose: what is slack in each span, (S,) m.
    """

    def __init__(self, assembly: Assembly, data: Sequence[CordData]):
        count = len(assembly.bodies) + 1
        position, velocity, spin = (np.zeros((count, 3)) for _ in range(3))
        position[:-1] = [b.com for b in assembly.bodies]
        self.bodies = position, np.tile(np.eye(3), (count, 1, 1)), velocity, spin
        every = [p for cord in data for p in cord.places]
        counts = np.array([len(cord.places) - 1 for cord in data], dtype=np.int64)
        firsts = np.concatenate([[0], np.cumsum(counts + 1)[:-1]]).astype(np.int64)
        spans = int(counts.sum())
        self._places = (
            np.array([p.body for p in every], dtype=np.int64),
            *(np.array([getattr(p, what) for p in every]) for what in ("point", "axis", "mark")),
            *(np.array([getattr(p, what) for p in every], dtype=float) for what in ("radius", "way", "grip")),
        )
        self.force, self.point = np.zeros((2 * spans, 3)), np.zeros((2 * spans, 3))
        self.pull, self.length, self.bent = np.zeros(spans), np.zeros(spans), np.zeros(len(every))
        self.stiffness, self.loose = np.ones(spans), np.zeros(spans)
        self._cords = firsts, counts, np.zeros(len(data)), np.zeros(len(data))
        self._memory = np.zeros(spans), np.zeros((spans, 2))
        self.ends = np.array(
            [p.body for cord in data for pair in _pairs(cord.places) for p in pair], dtype=np.int64
        )
        self.act(commit=True)
        for c, cord in enumerate(data):
            self._begin(c, cord)
        self.act(commit=False)

    def _begin(self, c: int, cord: CordData) -> None:
        """Count the turns as drawn, and lay the cord in with its length."""
        p0, n = int(self._cords[0][c]), int(self._cords[1][c])
        s0 = p0 - c
        gone, wound = self._memory
        for i in range(1, n):
            way = cord.places[i].way
            arc = way * (wound[s0 + i, 0] - wound[s0 + i - 1, 1])
            wound[s0 + i, 0] -= way * 2 * pi * np.floor(arc / (2 * pi))
        self.act(commit=False)
        radius = np.array([p.radius for p in cord.places])
        arcs = radius * self.bent[p0 : p0 + n + 1]
        own = self.length[s0 : s0 + n] + 0.5 * (arcs[:-1] + arcs[1:])
        give = own / cord.stretch
        give[0] += cord.ease[0]
        give[-1] += cord.ease[1]
        self.stiffness[s0 : s0 + n] = 1.0 / give
        slack = cord.slack if cord.length is None else cord.length - float(own.sum())
        whole = 1.0 / float(give.sum())
        self._cords[2][c] = 2.0 * cord.loss * sqrt(whole * cord.moving)
        self._cords[3][c] = 0.5 * cord.weight / whole
        for i in range(n):
            round_ = 0.0
            for side in (0, 1):
                place = cord.places[i + side]
                round_ += (1 - 2 * side) * place.radius * place.way * wound[s0 + i, side]
            gone[s0 + i] = self.length[s0 + i] + round_ + slack * give[i] * whole

    def act(self, commit: bool) -> None:
        """Work out all forces at the poses and speeds of `bodies`; `commit`: these begin a step."""
        from simprop.engine.acting.cord_kernel import pulled

        work: Any = pulled
        work(*self.state, commit)

    def off(self) -> tuple[int, int] | None:
        """Which cord has lifted off which of the places that it passes, counted from 1; None for none."""
        radius = self._places[4]
        for p in np.flatnonzero((self.bent < -LIFTED) & (radius > 0.0)):
            c = int(np.searchsorted(self._cords[0], p, side="right")) - 1
            if self.pull[p - c - 1] > 0.0:
                return c, int(p - self._cords[0][c])
        return None

    @property
    def state(self) -> tuple[Any, ...]:
        """All that the kernel takes but `commit`."""
        out = self.force, self.point, self.pull, self.length, self.bent, self.loose
        return self._cords, self._places, self.stiffness, self._memory, self.bodies, out


def _pairs(places: Sequence[Passed]) -> list[tuple[Passed, Passed]]:
    return list(pairwise(places))


def cords(assembly: Assembly, lines: list[LineData], note: Callable[[str], None]) -> tuple[CordData, ...]:
    """The cords of a rig; each span is put into `lines`.

    Raises:
        RigError: where a cord doesn't tell which side of a wheel it runs on.
    """
    found = []
    for name, cord in assembly.rig.cords.items():
        places = tuple(_passed(assembly, name, cord, i) for i in range(len(cord.places)))
        stuff = cord.stuff()
        if stuff.assumed:
            note(f"cords.{name}: {stuff.assumed}")
        masses = [b.mass for b in (assembly.bodies[p.body] for p in places) if not b.fixed]
        own = [b.mass for b in (assembly.bodies[p.body] for p in (places[0], places[-1])) if not b.fixed]
        moving = min(own or masses, default=1.0)
        ease = tuple(0.0 if end.spring is None else 1.0 / end.spring for end in (cord.start, cord.end))
        gravity = float(np.linalg.norm(assembly.rig.run.gravity))
        data = CordData(
            name, len(lines), places, stuff.stretch, (ease[0], ease[1]), cord.length, cord.slack, cord.damping,
            moving, moving * gravity,
        )  # fmt: skip
        laid = Cording(assembly, [data])
        _refuse(assembly, data, laid)
        whole = 1.0 / float((1.0 / laid.stiffness).sum())
        rubs = any(p.grip > 0 for p in places)
        for k, (label, pair) in enumerate(zip(span_names(name, cord), _pairs(places), strict=True)):
            ends = [laid.point[2 * k + side] - assembly.bodies[pair[side].body].com for side in (0, 1)]
            law = Strand(0.25 * (float(laid.stiffness[k]) if rubs else whole))
            lines.append(LineData(label, pair[0].body, pair[1].body, ends[0], ends[1], law))
        if any(p.radius > 0 and p.grip == 0 for p in places[1:-1]):
            note(f"cords.{name}: wheels without friction of the cord turn freely, their own inertia left out")
        lean = _slant(data, laid)
        if lean > SLANT:
            note(
                f"cords.{name}: it runs {np.degrees(lean):.0f} deg out of the plane of a wheel or drum: it climbs off "
                "there, and its work isn't whole"
            )
        found.append(data)
    return tuple(found)


def _slant(cord: CordData, laid: Cording) -> float:
    """Largest angle between a span and the plane of a round thing at its ends, rad."""
    line = laid.point[1::2] - laid.point[0::2]
    line = line / np.maximum(np.linalg.norm(line, axis=1, keepdims=True), 1e-12)
    sines = [
        abs(float(way @ p.axis)) for way, pair in zip(line, _pairs(cord.places), strict=True) for p in pair
    ]
    return float(np.arcsin(min(1.0, max(sines))))


def _refuse(assembly: Assembly, cord: CordData, laid: Cording) -> None:
    """Refuse a cord that can't be laid in as it is drawn."""
    bodies, field = assembly.bodies, f"cords.{cord.name}"
    for one, two in _pairs(cord.places):
        apart = bodies[two.body].com + two.point - bodies[one.body].com - one.point
        far = float(np.linalg.norm(apart))
        if far < max(NEAREST, one.radius, two.radius):
            message = f"two places that follow each other are {1e3 * far:.3g} mm apart, one inside the other"
            raise RigError([Fault(message, field=field)])
    drawn = float(laid.length.sum())
    if float(laid.pull.max(initial=0.0)) > TIGHT * cord.stretch:
        message = f"it is stretched by more than {100 * TIGHT:.0f} % where it begins ({1e3 * drawn:.4g} mm as drawn)"
        raise RigError([Fault(message, field=field, allowed="a longer `length`, or more `slack`")])


def _passed(assembly: Assembly, name: str, cord: Cord, i: int) -> Passed:
    place = cord.places[i]
    number = assembly.carrier(place.body, place.at)
    body = assembly.bodies[number]
    local = np.asarray(body.local(place.at))
    if place.diameter is None or place.axis is None:
        return Passed(number, local, np.zeros(3), np.zeros(3), 0.0, 1.0, place.mu)
    axis = np.asarray(body.placement.turn @ np.asarray(place.axis))
    axis = axis / np.linalg.norm(axis)
    mark = np.asarray(square(axis)[0])
    way = _way(assembly, name, cord, i, place, axis)
    return Passed(number, local, axis, mark, place.diameter / 2, way, place.mu)


def _way(assembly: Assembly, name: str, cord: Cord, i: int, place: CordPlace, axis: Array) -> float:
    if place.way is not None:
        return 1.0 if place.way == "with" else -1.0
    here, before, after = (_world(assembly, cord.places[k]) for k in (i, i - 1, i + 1))
    one, two = here - before, after - here
    turn = float(np.cross(one, two) @ axis)
    if abs(turn) < SHARP * float(np.linalg.norm(one) * np.linalg.norm(two)):
        message = "the cord is drawn straight past it, which doesn't tell the side that it runs on"
        raise RigError(
            [Fault(message, field=f"cords.{name}.over.{i - 1}", allowed="way: with, way: against")]
        )
    return 1.0 if turn > 0 else -1.0


def _world(assembly: Assembly, place: CordPlace) -> Array:
    body = assembly.bodies[assembly.carrier(place.body, place.at)]
    return np.asarray(body.placement.world(place.at))


def followed(assembly: Assembly, data: Sequence[CordData], track: T) -> T:
    """A recorded track with the pull and the ends of every span of its cords.

    Args:
        track: a `Trajectory`, whose poses are those that the engine's steps began with.

    Raises:
        EngineError: where a cord lifts off a wheel.
    """
    if not data:
        return track
    laid = Cording(assembly, data)
    own: Any = track
    position, turn, velocity, spin = laid.bodies
    line = np.concatenate([np.arange(c.line, c.line + len(c.places) - 1) for c in data])
    pull, start, end = own.line_force.copy(), own.line_start.copy(), own.line_end.copy()
    turns = matrices(own.rotation.reshape(-1, 4)).reshape(*own.rotation.shape[:2], 3, 3)
    for n in range(len(own.time)):
        position[:-1], turn[:-1] = own.position[n], turns[n]
        velocity[:-1], spin[:-1] = own.velocity[n], own.spin[n]
        laid.act(commit=True)
        lifted = laid.off()
        if lifted is not None:
            raise EngineError(
                f"cord {data[lifted[0]].name!r} lifts off the round thing that it passes as number {lifted[1]} at "
                f"{own.time[n]:.3g} s, which isn't modelled: draw an eye there, or keep the cord bent over it"
            )
        pull[n, line], start[n, line], end[n, line] = laid.pull, laid.point[0::2], laid.point[1::2]
    made: T = replace(own, line_force=pull, line_start=start, line_end=end)
    return made
