"""The energy audit of a run: where the motors' work went, and what doesn't add up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.engine.acting.actuation import MotorData
from simprop.engine.acting.rotors import rotors
from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.giving import stored
from simprop.recording import Recording

LARGEST_RESIDUAL = 0.02
"""Residual above which a run can't be trusted, as a share of what was exchanged."""
STANDS = 1e-9
"""Travel of a prop's whole weight and of what acts on its joints whose work counts as nothing, m and rad."""


@dataclass(frozen=True)
class Energy:
    """Energy of a run from its first to its last row, J. Work is counted as given to the bodies.

    Attributes:
        motor: work of the motors at their shafts, before friction, and of pushers.
        gravity: work of gravity (loss of potential energy).
        spring: work of springs, struts, weights and ropes.
        stop: work of stops (negative: what they took).
        friction: work of dry friction.
        damping: work of viscous friction.
        kinetic: gain of kinetic energy, rotors included.
        residual: kinetic gain less all work, at the worst moment of the run.
        exchanged: what the residual is measured against: the motors' work without regard to sign, or where there is
            none, the largest kinetic energy.
        share: size of the residual over `exchanged`; None where nothing was exchanged.
        contact: work of contacts and of joints with play (negative: what they took), their friction included.
        bending: work of members that bend and joints that give (negative: what they hold at the end); what their
            damping takes counts as that.
        air: work of the air on bodies and strips (negative: what it took), and what the links of strips lost.
        strips: what strips held at first less what they hold at the end: of height, speed and stretch.
    """

    motor: float
    gravity: float
    spring: float
    stop: float
    friction: float
    damping: float
    kinetic: float
    residual: float
    exchanged: float
    share: float | None
    contact: float = 0.0
    bending: float = 0.0
    air: float = 0.0
    strips: float = 0.0


def energy(recording: Recording) -> Energy:
    """Audit the energy of a recording.

    Work is summed over every physics step by the trapezium rule, second order in the step.

    Source: work-energy theorem.
    """
    laws = recording.laws
    track = recording.track
    work = {
        name: _sum(np.einsum("na,na->n", track.applied[:, i], track.rate), track.time)
        for i, name in enumerate(APPLIED)
    }
    for k, coupling in enumerate(recording.assembly.slips):
        rates = [track.rate[:, axis] * work for axis, work in zip(coupling.axes, coupling.works, strict=True)]
        work["friction"] = work["friction"] + _sum(track.slip_force[:, k] * (rates[0] - rates[1]), track.time)
    gravity = _gravity(recording)
    given = -track.line_force * lengthening(recording)
    driven = [d.line for d in laws.line_drives if d.able is not None]
    pushers = _sum(given[:, driven].sum(axis=1), track.time)
    lines = _sum(given.sum(axis=1), track.time) - pushers
    kinetic = _kinetic(recording)
    touching = _touching(recording)
    contact = _sum(touching, track.time)
    elastic, lost = stored(recording.assembly, track)
    bending = elastic[0] - elastic
    work["damping"] = work["damping"] - _sum(lost, track.time)
    air, strips = _outside(recording)
    total = gravity + lines + pushers + contact + bending + air + strips + sum(work.values())
    residual = kinetic - kinetic[0] - total
    worst = float(residual[np.argmax(np.abs(residual))])
    motors = np.abs(track.applied[:, APPLIED.index("motor")] * track.rate).sum(axis=1)
    gross = float(_sum(motors + np.abs(given[:, driven]).sum(axis=1), track.time)[-1])
    exchanged = max(gross, float(kinetic.max(initial=0.0))) if gross > 0 else float(kinetic.max(initial=0.0))
    exchanged = max(exchanged, float(_sum(np.abs(touching), track.time)[-1]), float(np.ptp(elastic)))
    pull = float(np.linalg.norm(recording.assembly.rig.run.gravity))
    load = pull * sum(b.mass for b in recording.assembly.bodies if not b.fixed)
    load += float(np.abs(track.applied).max(initial=0.0))
    share = abs(worst) / exchanged if exchanged > max(1e-12, STANDS * load) else None
    return Energy(
        float(work["motor"][-1] + pushers[-1]),
        float(gravity[-1]),
        float(work["spring"][-1] + lines[-1]),
        float(work["stop"][-1]),
        float(work["friction"][-1]),
        float(work["damping"][-1]),
        float(kinetic[-1] - kinetic[0]),
        worst,
        exchanged,
        share,
        float(contact[-1]),
        float(bending[-1]),
        float(air[-1]),
        float(strips[-1]),
    )


def likely_cause(found: Energy) -> str:
    """The likely cause of a residual that is too large, in words."""
    parts = {
        "a stop that is hit hard for this step": abs(found.stop),
        "dry friction that sticks and slips within a step": abs(found.friction),
        "a stiff spring for this step": abs(found.spring),
        "strips or the drag of the air, too lively for this step": abs(found.air) + abs(found.strips),
        "viscous friction too strong for this step": abs(found.damping),
        "a contact or a joint with play that is hit hard for this step": abs(found.contact),
    }
    cause, size = max(parts.items(), key=lambda item: item[1])
    if size < 0.05 * found.exchanged:
        cause = "fast motion for this step, or a mechanism that passes a dead point"
    return f"likely cause: {cause}; a finer run.step helps"


def _sum(power: Array, time: Array) -> Array:
    """Running integral by the trapezium rule, (n,), zero at the first row."""
    result = np.zeros(len(power))
    result[1:] = np.cumsum((power[1:] + power[:-1]) / 2 * np.diff(time))
    return result


def _gravity(recording: Recording) -> Array:
    track, bodies = recording.track, recording.assembly.bodies
    g = np.asarray(recording.assembly.rig.run.gravity)
    mass = np.array([0.0 if b.fixed else b.mass for b in bodies])
    height = np.einsum("nbi,i->nb", track.position, g) @ mass
    return np.asarray(height - height[0])


def lengthening(recording: Recording) -> Array:
    """Rate at which each line element gets longer, (n, L) m/s; of a cord's span that of the bodies at its ends."""
    track = recording.track
    if not track.line_force.shape[1]:
        return np.zeros_like(track.line_force)
    length = np.linalg.norm(track.line_end - track.line_start, axis=2)
    if len(length) < 2:
        return np.zeros_like(length)
    rate = np.asarray(np.gradient(length, track.time, axis=0))
    for cord in (
        recording.laws.cords
    ):  # what is wound up or runs over a wheel doesn't show in how far its ends are apart
        for k in range(cord.line, cord.line + len(cord.places) - 1):
            line, along = recording.laws.lines[k], track.line_end[:, k] - track.line_start[:, k]
            speeds = [
                track.velocity[:, b] + np.cross(track.spin[:, b], place[:, k] - track.position[:, b])
                for b, place in ((line.first, track.line_start), (line.second, track.line_end))
            ]
            rate[:, k] = np.einsum("ni,ni->n", along, speeds[1] - speeds[0]) / np.maximum(length[:, k], 1e-12)
    return rate


def _touching(recording: Recording) -> Array:
    """Power of all places of touch, (n,)."""
    track = recording.track
    power = np.zeros(len(track.time))
    for k, touch in enumerate(recording.laws.touches):
        force, place = track.touch_force[:, k], track.touch_point[:, k]
        for body, sign in ((touch.second, 1.0), (touch.first, -1.0)):
            if body >= 0:
                arm = place - track.position[:, body]
                speed = track.velocity[:, body] + np.cross(track.spin[:, body], arm)
                power += sign * np.einsum("ni,ni->n", force, speed)
    return power


def _outside(recording: Recording) -> tuple[Array, Array]:
    """Work of the air, with what strips lost in themselves, and what strips gave off, from the first row on, (n,) J."""
    track, none = recording.track, np.zeros(len(recording.track.time))
    power = none.copy()
    for k, row in enumerate(recording.laws.outside.rows):
        if row.sort == "air":  # about the centre of mass
            power += np.einsum("ni,ni->n", track.outer_force[:, k], track.velocity[:, row.body])
            power += np.einsum("ni,ni->n", track.outer_moment[:, k], track.spin[:, row.body])
    air = _sum(power, track.time)
    if not recording.laws.outside.strips:
        return air, none
    stored, taken, lost = (track.held - track.held[0]).T
    return air - taken - lost, -stored


def _kinetic(recording: Recording) -> Array:
    track = recording.track
    inertia = rotors(recording.assembly, recording.laws.motors).whole
    total = np.zeros(len(track.time))
    for i, body in enumerate(recording.assembly.bodies):
        if body.fixed:
            continue
        turn = matrices(track.rotation[:, i])
        local = np.einsum("nji,nj->ni", turn, track.spin[:, i])
        total += 0.5 * body.mass * np.einsum("ni,ni->n", track.velocity[:, i], track.velocity[:, i])
        total += 0.5 * np.einsum("ni,ij,nj->n", local, inertia[i], local)
    for motor in recording.laws.motors:
        total += _rotor(recording, motor)
    return total


def _rotor(recording: Recording, motor: MotorData) -> Array:
    """Kinetic energy of a rotor beyond that of its mass turning with the body it is mounted on."""
    track, assembly = recording.track, recording.assembly
    rate = track.rate[:, motor.axis]
    total = 0.5 * motor.reflected_inertia * rate**2
    data = assembly.axes[motor.axis]
    joint = assembly.joints[data.joint]
    if motor.reflected_inertia and not assembly.bodies[joint.first].fixed:
        axis = matrices(track.rotation[:, joint.first]) @ data.way
        carried = np.einsum("ni,ni->n", track.spin[:, joint.first], axis)
        total = total + motor.reflected_inertia / motor.gear_ratio * rate * carried
    return np.asarray(total)
