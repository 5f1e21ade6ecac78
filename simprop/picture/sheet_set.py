"""All sheets of one run in one go."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from simprop.picture.chart.curves import load_rose, torque_against_angle
from simprop.picture.chart.drawings import schematic
from simprop.picture.chart.paths import pole_path
from simprop.picture.chart.sheets import contact_sheet, motion_ghost
from simprop.picture.clip.clip import Progress
from simprop.picture.render.exaggerate import exaggerated, note_of
from simprop.picture.render.film import Shot
from simprop.picture.render.watch import watched
from simprop.written import file_name

if TYPE_CHECKING:
    from simprop.loads.joints import JointLoads


def write_sheets(
    loads: JointLoads,
    folder: str | Path,
    *,
    joints: Sequence[str] | None = None,
    vector: str = "svg",
    exaggerate: float = 1.0,
    progress: Progress | None = None,
) -> list[Path]:
    """Contact sheet, motion ghost, drawings, paths of watched points, torque of each motor and load roses.

    Args:
        folder: where to; the files are ``contact.png``, ``ghost.png``, ``schematic``, ``structure`` (the same without
            looks), ``path_POINT``, ``torque_MOTOR`` and ``rose_JOINT``.
        joints: which joints get a rose; None: the one that carries most.
        vector: ending of the drawings, svg or pdf.
        exaggerate: bending is drawn so many times in the contact sheet and the ghost; the others carry measures.

    Returns:
        The paths written, in that order.
    """
    folder = Path(folder)
    assembly, track = loads.recording.assembly, loads.recording.track
    shown, note = track, note_of(exaggerate)
    if exaggerate > 1.0:
        shown = exaggerated(assembly, loads.recording.laws, track, exaggerate)
    names = list(joints) if joints is not None else ([loads.worst_joint.name] if loads.worst_joint else [])
    jobs: list[Callable[[], Path]] = [
        lambda: contact_sheet(assembly, shown, folder / "contact.png", note=note),
        lambda: motion_ghost(assembly, shown, folder / "ghost.png", shot=Shot(size=(960, 720), note=note)),
        lambda: schematic(assembly, track, folder / f"schematic.{vector}"),
        lambda: schematic(assembly, track, folder / f"structure.{vector}", looks=False),
    ]
    jobs += [_path(loads, folder, point.name, vector) for point in watched(assembly)]
    jobs += [_torque(loads, folder, motor.name, vector) for motor in loads.motors]
    jobs += [_rose(loads, folder, name, vector) for name in names]
    made = []
    for done, job in enumerate(jobs, 1):
        made.append(job())
        if progress is not None:
            progress(done, len(jobs))
    return made


def _path(loads: JointLoads, folder: Path, point: str, vector: str) -> Callable[[], Path]:
    recording = loads.recording
    return lambda: pole_path(
        recording.assembly, recording.track, point, folder / f"path_{file_name(point)}.{vector}"
    )


def _torque(loads: JointLoads, folder: Path, motor: str, vector: str) -> Callable[[], Path]:
    return lambda: torque_against_angle(loads, folder / f"torque_{file_name(motor)}.{vector}", motor)


def _rose(loads: JointLoads, folder: Path, joint: str, vector: str) -> Callable[[], Path]:
    return lambda: load_rose(loads, joint, folder / f"rose_{file_name(joint)}.{vector}")
