"""The motion as an animated glTF 2.0 file (.glb) for any 3D viewer or animation program.

Written after the Khronos glTF 2.0 specification: one node a body under a root that turns z-up into the file's y-up, one
mesh primitive a finish, one animation with linear translation and rotation (and scale for springs). Keys are as many as
it takes for every vertex to stay within a tolerance of the recording.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.geometry.turning import of_matrix
from simprop.picture.render.bent import finely, skin
from simprop.picture.render.cords import cord_pieces, with_cords
from simprop.picture.render.fittings import hardware
from simprop.picture.render.lines import FRAMES, line_surfaces
from simprop.picture.render.motion import Poses, poses_at
from simprop.picture.render.strips import drapes, frames_now, placed, with_strips
from simprop.written import written_beside

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

FLOAT, UINT, USHORT = 5126, 5125, 5123
ARRAY, ELEMENTS = 34962, 34963


class _Buffer:
    """The binary part of the file and the accessors into it."""

    def __init__(self) -> None:
        self.data = bytearray()
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []

    def add(
        self, values: Any, kind: str, target: int | None = None, bounds: bool = False, of: int = FLOAT
    ) -> int:
        rows = np.ascontiguousarray(values, {FLOAT: "<f4", UINT: "<u4", USHORT: "<u2"}[of])
        self.data += b"\0" * (-len(self.data) % 4)
        view: dict[str, Any] = {"buffer": 0, "byteOffset": len(self.data), "byteLength": rows.nbytes}
        if target is not None:
            view["target"] = target
        self.data += rows.tobytes()
        entry: dict[str, Any] = {
            "bufferView": len(self.views),
            "componentType": of,
            "count": len(rows),
            "type": kind,
        }
        if bounds:
            flat = rows.reshape(len(rows), -1)
            entry["min"], entry["max"] = flat.min(axis=0).tolist(), flat.max(axis=0).tolist()
        self.views.append(view)
        self.accessors.append(entry)
        return len(self.accessors) - 1


def quaternions(turn: Array) -> Array:
    """Rotation matrices (n, 3, 3) to unit quaternions x y z w that change sign nowhere, (n, 4).

    Example:
        >>> quaternions(np.eye(3)[None]).tolist()
        [[0.0, 0.0, 0.0, 1.0]]
    """
    out = of_matrix(turn)
    dots = np.sum(out[1:] * out[:-1], axis=1)
    flips = np.cumprod(np.where(dots < 0, -1.0, 1.0))
    out[1:] *= flips[:, None]
    return out


def _slerp(first: Array, second: Array, part: Array) -> Array:
    dot = np.clip(np.abs(np.sum(first * second, axis=1)), -1.0, 1.0)
    sign = np.where(np.sum(first * second, axis=1) < 0, -1.0, 1.0)[:, None]
    angle = np.arccos(dot)
    small = angle < 1e-6
    bottom = np.where(small, 1.0, np.sin(angle))
    a = np.where(small, 1 - part, np.sin((1 - part) * angle) / bottom)[:, None]
    b = np.where(small, part, np.sin(part * angle) / bottom)[:, None]
    return np.asarray(a * first + sign * b * second)


def key_rows(track: Trajectory, reach: Array, tolerance: float) -> Array:
    """Rows of the recording that are enough as keys: linear motion between them stays within `tolerance`.

    Args:
        reach: farthest vertex of each body from its centre of mass, (B,) m.
        tolerance: m.

    Returns:
        Rising row numbers with the first and the last.
    """
    last = len(track.time) - 1
    stride = max(1, round(0.04 / track.step)) if track.step > 0 else 1
    while True:
        keys = np.unique(np.append(np.arange(0, last + 1, stride), last))
        if stride == 1 or _error(track, keys, reach) <= tolerance:
            return keys
        stride = max(1, stride // 2)


def _error(track: Trajectory, keys: Array, reach: Array) -> float:
    rows = np.arange(len(track.time))
    before = np.clip(np.searchsorted(keys, rows, side="right") - 1, 0, len(keys) - 2)
    a, b = keys[before], keys[before + 1]
    part = (track.time - track.time[a]) / (track.time[b] - track.time[a])
    worst = 0.0
    for body in range(track.position.shape[1]):
        line = track.position[a, body] + part[:, None] * (track.position[b, body] - track.position[a, body])
        gap = np.linalg.norm(line - track.position[:, body], axis=1)
        turned = _slerp(track.rotation[a, body], track.rotation[b, body], part)
        dot = np.clip(np.abs(np.sum(turned * track.rotation[:, body], axis=1)), 0.0, 1.0)
        # the angle from the length of the difference: arccos of a float near 1 has no figures left
        away = 2 * np.sqrt(np.maximum(0.0, 2 - 2 * dot))
        worst = max(worst, float((gap + away * reach[body]).max()))
    return worst


def write_glb(
    assembly: Assembly,
    track: Trajectory,
    path: str | Path,
    *,
    tolerance: float = 5e-5,
    with_hardware: bool = True,
) -> Path:
    """Write the prop and its motion as one animated .glb.

    Args:
        track: its recorded motion; the file's time starts at the first row.
        path: file to write, ending in ``.glb``.
        tolerance: how far any vertex may be from the recording between keys, m.
        with_hardware: also draw fittings, bolts and springs.

    Returns:
        The path written.

    Raises:
        RenderError: for another ending, or a run with less than two rows.
    """
    path = Path(path)
    if path.suffix.lower() != ".glb":
        raise RenderError(f"{path.name!r} doesn't end in .glb")
    if len(track.time) < 2:
        raise RenderError("a run of less than two steps can't be written as an animation")
    track = with_strips(assembly, with_cords(assembly, track))
    more = hardware(assembly) if with_hardware else {}
    drawn = [finely(assembly, i) for i in range(len(assembly.bodies))]
    surfaces = [
        [s for shape, bends in own if not bends for s in shape.surfaces()] + more.get(i, [])
        for i, own in enumerate(drawn)
    ]
    bent = [(i, s) for i, own in enumerate(drawn) for shape, bends in own if bends for s in shape.surfaces()]
    names = [body.name for body in assembly.bodies]
    if with_hardware:
        known = [name for name, _ in (*assembly.rig.lines, *cord_pieces(assembly))]
        for k, own in enumerate(line_surfaces(assembly, track)):
            line, frame = divmod(k, FRAMES)
            name = known[line] if line < len(known) else f"line {line + 1}"
            surfaces.append(own)
            names.append(f"{name} {('stretched', 'start', 'end')[frame]}")
    content = _content(assembly, track, surfaces, names, tolerance, bent)
    with written_beside(path.parent) as work:
        (work / path.name).write_bytes(content)
    return path


def _content(
    assembly: Assembly,
    track: Trajectory,
    surfaces: list[list[Surface]],
    names: list[str],
    tolerance: float,
    bent: list[tuple[int, Surface]],
) -> bytes:
    buffer = _Buffer()
    materials: dict[tuple[Any, ...], int] = {}
    records: list[dict[str, Any]] = []
    meshes: list[dict[str, Any]] = []
    nodes: list[dict[str, Any]] = [
        {
            "name": assembly.rig.name,
            "rotation": [-float(np.sqrt(0.5)), 0.0, 0.0, float(np.sqrt(0.5))],
            "children": [],
        }
    ]
    count = len(assembly.bodies)
    reach = np.array(
        [
            max((float(np.linalg.norm(s.vertices, axis=1).max()) for s in own), default=0.0)
            for own in surfaces[:count]
        ]
    )
    for i, surface in bent:
        reach[i] = max(reach[i], float(np.linalg.norm(surface.vertices, axis=1).max()))
    keys = key_rows(track, reach, tolerance)
    poses = poses_at(assembly, track, track.time[keys])
    time = buffer.add(poses.time - poses.time[0], "SCALAR", bounds=True)
    samplers: list[dict[str, Any]] = []
    channels: list[dict[str, Any]] = []
    for i, (own, name) in enumerate(zip(surfaces, names, strict=True)):
        node: dict[str, Any] = {"name": name}
        if i >= count and not own:
            continue
        if own:
            node["mesh"] = len(meshes)
            primitives = [_primitive(buffer, s, materials, records) for s in own]
            meshes.append({"name": name, "primitives": primitives})
        size = np.linalg.norm(
            poses.turn[:, i], axis=1
        )  # lengths of the columns: 1, and the stretch of a spring
        turn = quaternions(poses.turn[:, i] / size[:, None, :])
        node["translation"], node["rotation"] = poses.shift[0, i].tolist(), turn[0].tolist()
        tracks = {"translation": (poses.shift[:, i], "VEC3"), "rotation": (turn, "VEC4")}
        if i >= count:
            node["scale"] = size[0].tolist()
            tracks["scale"] = (size, "VEC3")
        if i >= count or not assembly.bodies[i].fixed:
            for target, (values, kind) in tracks.items():
                channels.append({"sampler": len(samplers), "target": {"node": len(nodes), "path": target}})
                samplers.append(
                    {"input": time, "output": buffer.add(values, kind), "interpolation": "LINEAR"}
                )
        nodes[0]["children"].append(len(nodes))
        nodes.append(node)
    skins = _skinned(assembly, buffer, bent, nodes, meshes, (materials, records))
    moved = (time, samplers, channels)
    skins += _draped(
        assembly, buffer, poses, len(names), nodes, meshes, moved, (materials, records), len(skins)
    )
    root = _root(nodes, meshes, records, buffer)
    if skins:
        root["skins"] = skins
    if channels:
        root["animations"] = [{"name": "run", "samplers": samplers, "channels": channels}]
    return _packed(root, buffer)


def still_glb(surfaces: Sequence[Surface], name: str) -> bytes:
    """Surfaces that stand still as a .glb of one mesh, in their own frame (z up where theirs is).

    Args:
        surfaces: one primitive each.
        name: of the node.
    """
    buffer = _Buffer()
    materials: dict[tuple[Any, ...], int] = {}
    records: list[dict[str, Any]] = []
    mesh = {"name": name, "primitives": [_primitive(buffer, s, materials, records) for s in surfaces]}
    root = _root([{"name": name, "mesh": 0}], [mesh], records, buffer)
    return _packed(root, buffer)


def _root(
    nodes: list[dict[str, Any]], meshes: list[dict[str, Any]], records: list[dict[str, Any]], buffer: _Buffer
) -> dict[str, Any]:
    return {
        "asset": {"version": "2.0", "generator": "simprop"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": nodes,
        "meshes": meshes,
        "materials": records,
        "accessors": buffer.accessors,
        "bufferViews": buffer.views,
        "buffers": [{"byteLength": len(buffer.data)}],
    }


def _packed(root: dict[str, Any], buffer: _Buffer) -> bytes:
    """The whole file."""
    text = json.dumps(root, separators=(",", ":")).encode()
    text += b" " * (-len(text) % 4)
    data = bytes(buffer.data) + b"\0" * (-len(buffer.data) % 4)
    total = 12 + 8 + len(text) + 8 + len(data)
    head = b"glTF" + np.array([2, total], "<u4").tobytes()
    chunk = np.array([len(text)], "<u4").tobytes() + b"JSON" + text
    return head + chunk + np.array([len(data)], "<u4").tobytes() + b"BIN\0" + data


def _skinned(
    assembly: Assembly,
    buffer: _Buffer,
    bent: list[tuple[int, Surface]],
    nodes: list[dict[str, Any]],
    meshes: list[dict[str, Any]],
    made: tuple[dict[tuple[Any, ...], int], list[dict[str, Any]]],
) -> list[dict[str, Any]]:
    """One skin over the pieces of all members that bend, whose nodes are its joints; none where none bends."""
    if not bent:
        return []
    pieces = sorted({j for member in assembly.members for j in member.bodies})
    place = {piece: k for k, piece in enumerate(pieces)}
    coms = np.array([body.com for body in assembly.bodies])
    bind = np.tile(np.eye(4), (len(pieces), 1, 1))
    bind[:, :3, 3] = -coms[pieces]
    for member in assembly.members:
        primitives = []
        for i, surface in bent:
            if i not in member.bodies:
                continue
            own = skin(assembly, i, surface.vertices)
            joints, weights = np.zeros((len(own.share), 4)), np.zeros((len(own.share), 4))
            joints[:, 0], joints[:, 1] = place[i], [place[int(j)] for j in own.other]
            weights[:, 0], weights[:, 1] = 1.0 - own.share, own.share
            joints[own.share == 0.0, 1] = 0
            moved = replace(surface, vertices=surface.vertices + coms[i])
            primitive = _primitive(buffer, moved, *made)
            primitive["attributes"]["JOINTS_0"] = buffer.add(joints, "VEC4", ARRAY, of=USHORT)
            primitive["attributes"]["WEIGHTS_0"] = buffer.add(weights, "VEC4", ARRAY)
            primitives.append(primitive)
        nodes[0]["children"].append(len(nodes))
        nodes.append({"name": member.whole.name, "mesh": len(meshes), "skin": 0})
        meshes.append({"name": member.whole.name, "primitives": primitives})
    columns = bind.transpose(0, 2, 1).reshape(len(pieces), 16)
    return [{"joints": [1 + piece for piece in pieces], "inverseBindMatrices": buffer.add(columns, "MAT4")}]


def _draped(
    assembly: Assembly,
    buffer: _Buffer,
    poses: Poses,
    first: int,
    nodes: list[dict[str, Any]],
    meshes: list[dict[str, Any]],
    moved: tuple[int, list[dict[str, Any]], list[dict[str, Any]]],
    made: tuple[dict[tuple[Any, ...], int], list[dict[str, Any]]],
    number: int,
) -> list[dict[str, Any]]:
    """One skin over the frames of all strips; none without strips.

    Args:
        first: of those frames in `poses`.
        moved: accessor of the keys' times, samplers and channels, to which those of the frames are added.
        number: of the skin.
    """
    cloth, (time, samplers, channels) = drapes(assembly), moved
    if not cloth:
        return []
    start, joints = frames_now(assembly), []
    for k in range(len(start)):
        turn, shift = quaternions(poses.turn[:, first + k]), poses.shift[:, first + k]
        for target, values, kind in (("translation", shift, "VEC3"), ("rotation", turn, "VEC4")):
            channels.append({"sampler": len(samplers), "target": {"node": len(nodes), "path": target}})
            samplers.append({"input": time, "output": buffer.add(values, kind), "interpolation": "LINEAR"})
        joints.append(len(nodes))
        nodes[0]["children"].append(len(nodes))
        nodes.append({"translation": shift[0].tolist(), "rotation": turn[0].tolist()})
    bind = np.tile(np.eye(4), (len(start), 1, 1))
    bind[:, :3, :3] = start[:, :, :3].transpose(0, 2, 1)
    bind[:, :3, 3] = -np.einsum("kji,kj->ki", start[:, :, :3], start[:, :, 3])
    rows: dict[str, list[dict[str, Any]]] = {}
    for drape in cloth:
        which, weights = np.zeros((len(drape.owner), 4)), np.zeros((len(drape.owner), 4))
        which[:, 0], which[:, 1] = drape.owner, np.where(drape.skin.share > 0.0, drape.skin.other, 0)
        weights[:, 0], weights[:, 1] = 1.0 - drape.skin.share, drape.skin.share
        primitive = _primitive(buffer, placed(drape, start), *made)
        primitive["attributes"]["JOINTS_0"] = buffer.add(which, "VEC4", ARRAY, of=USHORT)
        primitive["attributes"]["WEIGHTS_0"] = buffer.add(weights, "VEC4", ARRAY)
        rows.setdefault(drape.name, []).append(primitive)
    for name, primitives in rows.items():
        nodes[0]["children"].append(len(nodes))
        nodes.append({"name": name, "mesh": len(meshes), "skin": number})
        meshes.append({"name": name, "primitives": primitives})
    columns = bind.transpose(0, 2, 1).reshape(len(start), 16)
    return [{"joints": joints, "inverseBindMatrices": buffer.add(columns, "MAT4")}]


def _primitive(
    buffer: _Buffer, surface: Surface, materials: dict[tuple[Any, ...], int], records: list[dict[str, Any]]
) -> dict[str, Any]:
    finish = surface.finish
    key = (finish.colour, finish.roughness, finish.metal, finish.glow, surface.closed)
    if key not in materials:
        materials[key] = len(records)
        record: dict[str, Any] = {
            "pbrMetallicRoughness": {
                "baseColorFactor": [*finish.colour, 1.0],
                "metallicFactor": finish.metal,
                "roughnessFactor": finish.roughness,
            },
            "doubleSided": not surface.closed,
        }
        if finish.glow:
            record["emissiveFactor"] = [min(1.0, c * finish.glow) for c in finish.colour]
        records.append(record)
    attributes = {
        "POSITION": buffer.add(surface.vertices, "VEC3", ARRAY, bounds=True),
        "NORMAL": buffer.add(surface.normals, "VEC3", ARRAY),
    }
    if surface.shades is not None:
        shades = np.broadcast_to(np.clip(surface.shades, 0.0, 1.0), surface.vertices.shape)
        attributes["COLOR_0"] = buffer.add(shades, "VEC3", ARRAY)
    indices = buffer.add(surface.faces.reshape(-1), "SCALAR", ELEMENTS, of=UINT)
    return {"attributes": attributes, "indices": indices, "material": materials[key], "mode": 4}
