"""What a run says of a state, as plain data: figures, what is told of each thing that is picked, plots, peaks."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.live.types import Fact, Figure, Plot, Span, Stage, View
from simprop.loads.driving import DriveRows, driven
from simprop.loads.joints import Peak
from simprop.making.upkeep import bearing_most
from simprop.picture.render.motion import poses_at
from simprop.picture.render.watch import follow, watched
from simprop.quantities import show
from simprop.report import hazards
from simprop.report.bears import percent
from simprop.report.figures import banded, margin, number
from simprop.report.strength import explain, first, open_points, summary
from simprop.report.structure import Items, Section
from simprop.run.run import Run
from simprop.scene.scene import forced, scene_of
from simprop.scene.things import node
from simprop.scene.types import SceneData
from simprop.study.ask.motion import path

POINTS = 240
"""Points of a line of a plot, at most."""
MOST = 6
"""Lines of one plot, at most: those with the largest peaks."""


def view_of(run: Run, stage: Stage, *, settled: bool, before: SceneData | None = None) -> View:
    """What is shown of a run.

    Args:
        run: of the state.
        stage: how much of it is worked out.
        settled: whether its step was halved until its peaks stood still.
        before: the scene of the same run at an earlier stage, which is gone on with; None: it is made anew.
    """
    loads, strength = stage != "motion", stage == "strength"
    scene = scene_of(run, loads=False) if before is None else before
    if loads:
        scene = forced(scene, run, shares=strength)
    sections: tuple[Section | None, ...] = (Section("cautions", "Cautions", [Items(run.cautions)]),)
    if strength:
        sections = (first(run), open_points(run), hazards.hurts(run))
    return View(
        stage,
        settled,
        scene,
        tuple(figures(run, stage, settled=settled)),
        facts(run, stage),
        tuple(plots(run, loads=loads)),
        peaks(run) if loads else (),
        told(run, loads=loads),
        tuple(s for s in sections if s is not None),
    )


def figures(run: Run, stage: Stage, *, settled: bool) -> Iterator[Figure]:
    """Lines of the tables of answers: travel, joints by share of what they bear, motors, strength, how it was run.

    Args:
        run: of the state.
        stage: how much of it is worked out; what isn't has no line, or none of its shares.
        settled: see `view_of`.
    """
    yield from _motion(run)
    if stage == "motion":
        return
    yield from _joints(run, shares=stage == "strength")
    yield from _motors(run)
    if stage == "strength":
        yield Figure("Strength", "verdict", summary(run.strength))
        for check in run.strength.ranking[:4]:
            share = None if check.margin is None else 1 / check.margin if check.margin > 0 else float("inf")
            yield Figure("Strength", f"{check.place}: {check.name}", f"margin {margin(check.margin)}", share)
    yield from _how(run, settled=settled)


def _motion(run: Run) -> Iterator[Figure]:
    for point in watched(run.assembly):
        way = np.ptp(path(run, point.name), axis=0)
        for axis, length in zip("xyz", way, strict=True):
            if length > 1e-5:
                yield Figure(
                    "Motion",
                    f"{point.name}, travel along {axis}",
                    show(float(length), "length", 4),
                    value=float(length),
                )


def _joints(run: Run, *, shares: bool) -> Iterator[Figure]:
    if not shares:
        for force, _ in run.loads.joints:
            yield Figure("Joints", force.name, _told(force), value=force.value)
        return
    for bears in bearing_most(run):
        peak = bears.peak
        if bears.share is None:
            unknown = f"{_told(peak)}, share not computed: {bears.why}"
            yield Figure("Joints", bears.joint, unknown, value=peak.value)
        else:
            used = f"{_told(peak)}, {percent(bears.share)} used"
            yield Figure("Joints", bears.joint, used, bears.share, peak.value)


def _told(peak: Peak) -> str:
    """A peak with its band, where it has one: a draft has none."""
    return banded(peak) if peak.band is not None else f"{number(peak.value)} {peak.unit}"


def _motors(run: Run) -> Iterator[Figure]:
    for load in (*run.loads.motors, *run.loads.pushers):
        able, unit = load.able, load.peak.unit
        share = load.peak.value / able if able else None
        stall = "no stated limit" if able is None else f"{number(able)} {unit} at standstill"
        times = f", stall margin {margin(1 / share)}" if share else ""
        asked = f"asked {_told(load.peak)} of {stall}{times}"
        yield Figure("Motors and supplies", load.name, asked, share, load.peak.value)
        if load.current is not None:
            most = load.current_able
            of = "no stated limit" if most is None else f"{number(most)} A"
            used = None if not most or load.pulsed else load.current / most
            yield Figure(
                "Motors and supplies", f"{load.name}, current", f"{number(load.current)} A of {of}", used
            )
    for text in run.supply_warnings:
        yield Figure("Motors and supplies", "supply", text)


def _how(run: Run, *, settled: bool) -> Iterator[Figure]:
    share = run.loads.energy.share
    off = "nothing was exchanged" if share is None else f"{100 * share:.2g} % unexplained"
    yield Figure("Run", "energy", off)
    bands = run.recording.bands or {}
    restless = [name for name, band in bands.items() if not band.settled]
    state = "one step, peaks not settled" if not settled else "every peak has settled"
    if settled and restless:
        state = f"the step can't be halved further; not settled: {', '.join(restless[:4])}"
    yield Figure("Run", "peaks", state)
    yield Figure("Run", "step and engine", f"{run.track.step * 1e3:.3g} ms, {run.recording.engine}")


def facts(run: Run, stage: Stage) -> dict[str, Fact]:
    """What is told of each body and joint that can be picked, by its name in the scene.

    Args:
        run: of the state.
        stage: how much of it is worked out.
    """
    lines = run.rig.source.document.lines
    bodies = {b.name: k for k, b in enumerate(run.assembly.bodies)}
    peaks = {force.name: (force, moment) for force, moment in run.loads.joints} if stage != "motion" else {}
    bears = {b.joint: b for b in bearing_most(run)} if stage == "strength" else {}
    found = {}
    hung: dict[int, list[str]] = {}
    for j, joint in enumerate(run.assembly.joints):
        if j in run.assembly.seams:
            continue
        said = [f"joins {run.assembly.bodies[joint.first].name} and {run.assembly.bodies[joint.second].name}"]
        if joint.name in peaks:
            force, moment = peaks[joint.name]
            said.append(
                f"peak {_told(force)} at {force.time:.3f} s" + (f", {_told(moment)}" if moment else "")
            )
        own = bears.get(joint.name)
        if own is not None and own.share is not None and own.check is not None:
            said.append(f"{percent(own.share)} used, margin {margin(own.check.margin)}: {own.check.name}")
            said.append(explain(own.check))
        elif own is not None:
            said.append(f"margin not computed: {own.why}")
        found[f"joints/{node(joint.name)}"] = Fact(joint.name, lines.get(("joints", joint.name)), tuple(said))
        for side in (joint.first, joint.second):
            hung.setdefault(side, []).append(f"{joint.name}: {said[1]}" if len(said) > 1 else joint.name)
    for name, k in bodies.items():
        body = run.assembly.bodies[k]
        said = [f"mass {show(body.mass, 'mass')}"] if isfinite(body.mass) and body.mass > 0 else []
        found[f"prop/{node(name)}"] = Fact(name, lines.get(("bodies", name)), (*said, *hung.get(k, ())))
    return found


def plots(run: Run, *, loads: bool) -> Iterator[Plot]:
    """Lines over time: where watched points are, what joints, motors and supplies bear.

    Args:
        run: of the state.
        loads: with what takes its loads.
    """
    time = run.track.time
    rows = np.unique(np.linspace(0, len(time) - 1, POINTS).astype(int))
    poses = poses_at(run.assembly, run.track, time[rows])
    points = watched(run.assembly)
    if points:
        places = follow(points, poses)
        lines = [
            (f"{p.name} {axis}", 1e3 * places[:, k, a])
            for k, p in enumerate(points)
            for a, axis in enumerate("xyz")
            if np.ptp(places[:, k, a]) > 1e-5
        ]
        yield Plot("places, mm", time[rows], tuple(lines[:MOST]))
    if not loads:
        return
    bins = np.append(rows[1:], len(time))
    forces = [(f.name, _largest(run.loads.history(f), rows, bins)) for f, _ in run.loads.joints[:MOST]]
    yield Plot("forces in joints, N", time[rows], tuple(forces))
    yield from _drive_plots(run.drives, time, rows)


def _largest(values: Array, rows: Any, ends: Any) -> Array:
    """The largest of the values from each row up to the next, so that no peak is lost."""
    return np.array([values[a:b].max() for a, b in zip(rows, ends, strict=True)])


def _drive_plots(drives: tuple[DriveRows, ...], time: Array, rows: Any) -> Iterator[Plot]:
    turning = [d for d in drives if d.turns][:MOST]
    pushing = [d for d in drives if not d.turns][:MOST]
    for name, some in (("torques asked of motors, N*m", turning), ("forces asked of pushers, N", pushing)):
        if some:
            yield Plot(name, time[rows], tuple((d.name, d.load[rows]) for d in some))
    if turning:
        speeds = tuple((d.name, d.speed[rows] * 30 / np.pi) for d in turning)
        yield Plot("speeds of motors, rpm", time[rows], speeds)
    known = [d for d in drives if np.isfinite(d.current).all()][:MOST]
    if known:
        yield Plot("currents, A", time[rows], tuple((d.name, d.current[rows]) for d in known))


def peaks(run: Run) -> tuple[tuple[str, float], ...]:
    """What peaks, in words, and when, s: joints by force, then drives."""
    found = [(f"{f.name}, {number(f.value)} N", f.time) for f, _ in run.loads.joints]
    drives = (*run.loads.motors, *run.loads.pushers)
    return (*found, *((f"{m.name}, {number(m.peak.value)} {m.peak.unit}", m.peak.time) for m in drives))


def told(run: Run, *, loads: bool) -> tuple[tuple[str, tuple[Span, ...]], ...]:
    """What each drive is told when: spans in which it is on, with its share of the voltage.

    Args:
        run: of the state.
        loads: its loads are worked out; else they aren't for this.
    """
    time = run.track.time
    drives = run.drives if loads else [d for d in driven(run.recording) if d.figures.sized]
    return tuple((d.name, tuple(_spans(time, d))) for d in drives)


def _spans(time: Array, drive: DriveRows) -> Iterator[Span]:
    level = np.where(drive.on, np.round(drive.share * drive.way, 2), 0.0)
    edges = np.flatnonzero(np.diff(level)) + 1
    for begin, end in zip([0, *edges], [*edges, len(level)], strict=True):
        if drive.on[begin]:
            yield Span(float(time[begin]), float(time[min(end, len(time) - 1)]), float(level[begin]))
