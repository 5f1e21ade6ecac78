"""Brushed DC gearmotor."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from math import pi, sqrt
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import model_validator
from typing_extensions import Self

from simprop.catalog import spreads
from simprop.catalog.spreads import Tunable
from simprop.drives.able import Able, Candidate, Demand, from_line
from simprop.drives.base import (
    RATIO,
    RUN_UP,
    MotorDrive,
    Seen,
    Switch,
    Use,
    Wiring,
    doubt,
    grown,
    line_asked,
    possible,
    rotor,
)
from simprop.geometry.arrays import Array
from simprop.laws.cues import Signal
from simprop.laws.dc import DcLine, line_from_figures
from simprop.laws.forms import LOSS, Control, Note, Shaft, Travel
from simprop.laws.locking import Locking
from simprop.laws.supply import Source
from simprop.laws.thermal import Thermal
from simprop.laws.worm import backward_from_forward
from simprop.reading.base import Record
from simprop.reading.fields import (
    AboveZero,
    Angle,
    Current,
    HeatCapacity,
    Inertia,
    NotNegative,
    Number,
    Spin,
    Temperature,
    ThermalResistance,
    Torque,
    Voltage,
    fault,
)
from simprop.reading.inside import altered

HOLDING = 2.0
"""Holding torque of a self-locking gear over the motor's stall torque where none is stated (assumed)."""
OWN_STOP = 100.0
"""A motor's own end stop turns by its stall torque over this many rad (assumed: about half a degree)."""
TRIED = (3.3, 5.0, 6.0, 12.0)
"""Voltages at which classes are proposed, V."""
PEAK_SHARE, LOW_VOLTS, LOW_SHARE = 0.6, 3.5, 0.5
"""A class carries a load whose peak is at most this share of its stall; at so low a voltage one half (cold grease;
both assumed)."""


class ThermalData(Record):
    """A motor as two heat stores, and the temperature its winding must not pass."""

    winding: HeatCapacity
    case: HeatCapacity
    winding_to_case: ThermalResistance
    case_to_air: ThermalResistance
    limit: Temperature = 105.0


class DcMotor(MotorDrive):
    """A brushed DC gearmotor by its line at the output shaft: two points of speed, torque and current.

    Attributes:
        rotor_inertia: of the armature; seen at the output it counts `gear_ratio` squared times. Where it
            isn't given, a run-up time constant of 20 ms is assumed and marked so.
        self_locking: a worm that the load can't drive and that holds when off.
        holding_torque: up to which it does, N*m; where not given, twice the stall torque (assumed).
        breakaway: extra torque that it needs to start from rest (cold grease), N*m.
        live_case: one brush is joined to its case, as of most wiper motors.
        travel: angle between its own end stops, from the start pose both ways in half, rad; None without
            stops.
    """

    word: ClassVar[str] = "DC gearmotor"
    title: ClassVar[str] = "DC gearmotors"
    pulsed: ClassVar[bool] = True
    replaces: ClassVar[tuple[str, ...]] = ("dc", "synchronous")
    continuous: ClassVar[float | None] = 0.3  # 25 to 35 %, from memory
    tunable: ClassVar[tuple[Tunable, ...]] = (
        Tunable("no_load_speed", "spin", "no-load speed", spreads.SPEED),
        Tunable("stall_torque", "torque", "stall torque", spreads.TORQUE),
        Tunable("no_load_current", "current", "no-load current", spreads.NO_LOAD_CURRENT),
        Tunable("stall_current", "current", "stall current", spreads.STALL_CURRENT),
    )
    varied: ClassVar[tuple[str, ...]] = ("torque", "speed")

    kind: Literal["dc"] = "dc"
    rated_voltage: Annotated[Voltage, AboveZero]
    no_load_speed: Annotated[Spin, AboveZero]
    stall_torque: Annotated[Torque, AboveZero]
    no_load_current: Current = 0.0
    stall_current: Current
    rotor_inertia: Inertia | None = None
    gear_ratio: Annotated[Number, AboveZero] = 1.0
    self_locking: Switch = False
    holding_torque: Annotated[Torque, AboveZero] | None = None
    breakaway: Annotated[Torque, NotNegative] = 0.0
    live_case: Switch = False
    travel: Annotated[Angle, AboveZero] | None = None
    thermal: ThermalData | None = None

    def goes_round(self, source: Source, duration: float) -> float:
        """Two thirds of its way without load (assumed), unless it has end stops of its own."""
        return 0.0 if self.travel is not None else duration * self.able(source).speed * 2 / 3

    @model_validator(mode="after")
    def _motor(self) -> DcMotor:
        if self.stall_current <= self.no_load_current:
            raise fault("stalled it takes more current than without load", "stall_current: 15 A")
        possible(self.line())
        return self

    def live(self, told: Collection[str]) -> bool:
        """Turned back by swapped wires, where one brush is joined to the case."""
        return self.live_case and "backward" in told

    def remarks(self, use: Use) -> list[str]:
        """What turning it back takes."""
        if not (self.live_case and bool((use.seen.share < 0).any())):
            return []
        return [
            "turned back by swapping its wires, its case and shaft stand at the supply's voltage, as one brush is "
            "joined to the case: insulate it from metal it is bolted to, fuse both wires, feed nothing by the frame "
            "(common practice, no source)"
        ]

    def piece(self, off: Mapping[str, float]) -> Self:
        """Its torque stalled, and its speed without load."""
        torque, speed, power = grown(off, "torque", "speed")
        return altered(
            self,
            stall_torque=torque * self.stall_torque,
            no_load_speed=speed * self.no_load_speed,
            no_load_current=power * self.no_load_current,
            stall_current=power * self.stall_current,
        )

    def line(self) -> DcLine:
        """Through its two stated points."""
        return line_from_figures(
            self.rated_voltage,
            self.no_load_speed,
            self.stall_torque,
            self.no_load_current,
            self.stall_current,
        )

    def able(self, source: Source | None = None, part: float = 1.0) -> Able:
        return from_line(self.line(), source or Source(self.rated_voltage), part)

    def carries(self, asked: Demand, continuous: float | None) -> list[Candidate]:
        """At usual voltages where peak and RMS load leave it enough; never one with stops of its own."""
        found: list[Candidate] = []
        if self.travel is not None or asked.rms_load > (continuous or 0.0) * self.stall_torque:
            return found
        for volts in TRIED:
            can = self.able(Source(volts))
            share = LOW_SHARE if volts < LOW_VOLTS else PEAK_SHARE
            if volts <= 1.05 * self.rated_voltage and can.stall > 0 and asked.peak_load <= share * can.stall:
                found.append(self._candidate(asked, can))
        return found

    def asked(self, seen: Seen, inertia: float) -> tuple[Array, Array]:
        """By its current, driven the way it is told."""
        way = np.where(seen.share < 0, -1.0, 1.0)
        return way, line_asked(self.line(), seen, way, inertia)

    def thermal_data(self) -> tuple[Thermal, float] | None:
        data = self.thermal
        if data is None:
            return None
        stores = (data.winding, data.case, data.winding_to_case, data.case_to_air)
        return Thermal(self.line().resistance, *stores), data.limit

    def shaft(self, wiring: Wiring, note: Note) -> Shaft:
        line = self.line()
        doubt(line, note)
        inertia, ratio = self._rotor(line, note)
        return Shaft(line, inertia, ratio, control=self._control(line, inertia, wiring, note))

    def _rotor(self, line: DcLine, note: Note) -> tuple[float, float]:
        """Inertia at the output, and gear ratio."""
        if self.rotor_inertia is not None:
            return self.gear_ratio**2 * self.rotor_inertia, self.gear_ratio
        note(f"rotor inertia from a run-up time constant of {RUN_UP * 1e3:g} ms (assumed)")
        ratio = self.gear_ratio
        if ratio == 1.0:
            note(f"gear ratio taken as {RATIO:g} (assumed)")
            ratio = RATIO
        return rotor(line, RUN_UP), ratio

    def _control(self, line: DcLine, inertia: float, wiring: Wiring, note: Note) -> Control | None:
        """What decides about its voltage; None where its line and its windows say all."""
        supply, signal, pulses = wiring.supply, wiring.command.drive, None
        plain = not (self.self_locking or self.breakaway or self.travel or wiring.pulses)
        alone = supply is None or (supply.shared is None and supply.wire is None and supply.resistance == 0.0)
        if plain and alone and (signal is None or wiring.windows):
            return None
        if wiring.pulses is not None:
            pulses = (wiring.pulses.frequency, wiring.pulses.time_constant)
            if signal is None:
                signal = Signal((0.0,), (wiring.pulses.duty,))
            elif wiring.windows:
                signal = replace(signal, values=tuple(v * wiring.pulses.duty for v in signal.values))
        gear = self._gear(line, inertia, note) if self.self_locking else None
        travel = None if self.travel is None else self._stops(self.travel, inertia, note)
        sticking = 0.0 if gear else self.breakaway
        return Control(signal, gear, pulses=pulses, travel=travel, breakaway=sticking)

    def _gear(self, line: DcLine, inertia: float, note: Note) -> Locking:
        holding = self.holding_torque
        if holding is None:
            holding = HOLDING * self.stall_torque
            note(f"holds up to {HOLDING:g} times its stall torque (assumed)")
        forward = min(1.0, line.torque_constant / line.speed_constant)
        wedging = max(0.0, -forward * backward_from_forward(forward))
        return Locking(line, max(inertia, 1e-9), holding, self.breakaway, wedging)

    def _stops(self, travel: float, inertia: float, note: Note) -> Travel:
        stiffness = OWN_STOP * self.stall_torque
        damping = 2 * LOSS * sqrt(stiffness * max(inertia, 1e-9))
        note(f"its own end stops {travel * 180 / pi:.0f} deg apart, half to each side (assumed)")
        return Travel(-travel / 2, travel / 2, stiffness, damping)
