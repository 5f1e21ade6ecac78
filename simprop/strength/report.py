"""What breaks first: every check of a run, ranked, with what to change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from simprop.assembly.types import Assembly
from simprop.checking.check import Check, exit_code, not_computed, ranked
from simprop.checking.harder import harder
from simprop.loads.joints import JointLoads
from simprop.parts.kinds import PARTS
from simprop.strength.checks.coils import springs
from simprop.strength.checks.cords import cords
from simprop.strength.checks.couplings import couplings
from simprop.strength.checks.falls import fall_of
from simprop.strength.checks.fittings import fittings
from simprop.strength.checks.ground import Ground
from simprop.strength.checks.member import member_checks
from simprop.strength.checks.mounts import mounts
from simprop.strength.checks.reach import Envelope, reach_checks
from simprop.strength.checks.run import RUN_CHECKS
from simprop.strength.checks.stand import stand_checks
from simprop.strength.checks.wind import in_the_wind
from simprop.strength.members.bent import Bent
from simprop.strength.members.whole import histories
from simprop.strength.setting import setting_of

RUN_CHECKS.add(cords)
RUN_CHECKS.add(couplings)
RUN_CHECKS.add(mounts)
RUN_CHECKS.add(fittings)
RUN_CHECKS.add(springs)


@dataclass(frozen=True)
class StrengthReport:
    """All that was checked of a run.

    Attributes:
        rig: name of the rig.
        duration: of the run, s.
        step: physics step, s.
        engine: name of the engine.
        checks: every check, in the order of members, fasteners, stability, reach.
        envelopes: where each moving body goes, and how hard.
        bent: members at their worst moment, to be drawn.
        ground: reaction of the ground; None where it isn't known.
        assumed: what the rig doesn't say and was assumed, a sentence each.
        notes: what a person should know, a sentence each.
    """

    rig: str
    duration: float
    step: float
    engine: str
    checks: tuple[Check, ...]
    envelopes: tuple[Envelope, ...]
    bent: tuple[Bent, ...]
    ground: Ground | None
    assumed: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def exit_code(self) -> int:
        """1 if a check fails, else 3 if one could not be computed, else 0."""
        return exit_code(self.checks)

    @property
    def ranking(self) -> tuple[Check, ...]:
        """Computed checks, the worst margin first."""
        return ranked(self.checks)


def strength(loads: JointLoads, report: Callable[[str, int, int], None] | None = None) -> StrengthReport:
    """Check members, fasteners, fatigue life, stability and reach against the loads of a run.

    Args:
        loads: of the run, from `simprop.loads.joints.joint_loads`.
        report: called with the stage, bodies done, and bodies in all; what it raises ends the checks.

    Returns:
        Every check with its verdict; nothing is left out in silence.
    """
    recording, assembly = loads.recording, loads.recording.assembly
    setting = setting_of(assembly.rig)
    checks: list[Check] = []
    bent: list[Bent] = []
    notes: list[str] = []
    wind = assembly.rig.wind
    windy = in_the_wind(loads, wind) if wind is not None and wind.speed > 0 else []
    words = "" if wind is None else f"with a steady wind of {wind.speed:g} m/s on top of the run's loads"
    gusty = replace(setting, lasting=False)
    blown_on = [histories(other) for other in windy]
    calm = histories(loads)
    for i, history in enumerate(calm):
        body, in_wind = history.data, [rows[i] for rows in blown_on]
        for k, member in enumerate(history.members):
            if report is not None:
                report("checking what breaks first", i, len(calm))
            found, shape = member_checks(history, member, setting)
            blown = [c for h in in_wind for c in member_checks(h, h.members[k], gusty)[0]]
            checks += harder(found, blown, words)
            bent += [shape] if shape is not None else []
        notes += [
            f"{one} and {two} are drawn {gap * 1e3:.0f} mm apart and taken as fastened together"
            for one, two, gap in history.gaps
        ]
        notes += [
            f"{one} and {two} close a frame: it is taken as open between them, so the loads in it are a guess"
            for one, two in history.frames
        ]
        checks += [
            not_computed("member", "strength", f"{body.name}: {shape.name}", shape.no_section)
            for shape in body.shapes
            if shape.no_section and not body.fixed
        ]
    checks += harder(RUN_CHECKS(loads), [c for other in windy for c in RUN_CHECKS(other)], words)
    standing, ground = stand_checks(loads)
    reaching, envelopes = reach_checks(loads)
    notes += _shared(loads)
    notes += _left_out(assembly)
    unsettled = [key for key, band in recording.bands.items() if not band.settled]
    if unsettled:
        notes.append(f"these peaks had not settled when the step was last halved: {', '.join(unsettled)}")
    if not recording.bands:
        notes.append("one step only was run: the peaks have no numerical band")
    track = recording.track
    return StrengthReport(
        assembly.rig.name,
        len(track.time) * track.step,
        track.step,
        recording.engine,
        (*checks, *standing, *reaching),
        envelopes,
        tuple(bent),
        ground,
        setting.assumed,
        tuple(notes),
    )


def _shared(loads: JointLoads) -> list[str]:
    """What joints share, and by which part of it they are judged: joints of which the same holds in one sentence."""
    alike: dict[str, list[str]] = {}
    for j, joint in enumerate(loads.recording.assembly.joints):
        words = loads.wrenches.shared[j]
        if words and joint.give is None:
            said = f"{words} shared as joints and bodies give (rigid bodies don't determine it)"
            said = f"{said}; {fall_of(loads, j).words}"
            alike.setdefault(said, []).append(joint.name)
    return [f"{', '.join(names)}: {said}" for said, names in alike.items()]


def _left_out(assembly: Assembly) -> list[str]:
    """What no check looks at, so that nobody takes it for checked."""
    rig = assembly.rig
    unchecked = [kind.unchecked for kind in PARTS if kind.unchecked]
    found = [
        f"{', '.join(unchecked[:-1])} and {unchecked[-1]}, and how the parts of one body are fastened to each other, "
        "are not checked (join two bodies with a `fixed` joint to check what holds them)"
    ]
    if len(rig.between_points) > sum(len(cord.spans) for cord in rig.cords.values()):
        found.append(
            "springs without a `coil`, struts and ropes themselves, and their hooks, are not checked for strength"
        )
    if rig.wind is not None:
        found.append(
            "the wind counts as a steady push on each part by itself, none in the lee of another; motors and pushers "
            "hold against it, what nothing holds and loose joints give way"
        )
    if rig.stand is not None and rig.stand.anchored:
        found.append("an anchored stand isn't checked for tipping and sliding, nor are its anchors")
        if not rig.stand.feet:
            found.append(
                "members of the stand are taken as held at their lowest point (`stand: {feet: [...]}` says where)"
            )
    return found
