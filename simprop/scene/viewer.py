"""The scene in a browser, by viser: shown once, posed at each frame, and kept as one HTML document that plays.

Whatever serves scenes live uses the same two functions, `show` and `pose`.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import dataclass, replace
from functools import partial
from importlib.metadata import files
from typing import Any

import numpy as np

from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.picture.export.gltf import still_glb
from simprop.scene.things import seen
from simprop.scene.types import Arrows, Eye, Ground, Line, Motion, SceneData, Skinned, Solid, Word

INSTALL = 'pip install "simprop[live]"'
"""What to type where viser is missing."""
FINE_PLACE, FINE_TURN = 2.0**17, 2.0**15
"""Parts of a metre, and of a unit quaternion, to which poses are rounded: 8 um, and 0.06 mm at a metre; even in
binary, so that the file packs well."""
FINE_VERTEX, FINE_NORMAL, FINE_SHARE = 2.0**16, 2.0**7, 2.0**14
SKY = {"day": ((104, 150, 188), (228, 222, 206)), "night": ((14, 24, 38), (58, 70, 92))}
"""Colour of the sky at its top and at the horizon, by light (by eye)."""
TINT = {"day": (0.6, 0.585, 0.56), "night": (0.33, 0.37, 0.46)}
"""What of their linear colours things show under the viewer's own lamps, by light (by eye): to dim those would make a
blink each time that the motion begins again. What glows keeps its light."""
ALIKE = 0.02
"""Share of the distance of what is looked at by which two views are alike."""
BRAND = (0, 114, 178)
"""Colour of the controls."""


@dataclass(frozen=True)
class Shown:
    """A scene that a server shows, with its handles by name.

    Attributes:
        data: what is shown.
        solids, skins, lines: handles, in the order of `data`.
        arrows: the handle of the arrows, or None.
    """

    data: SceneData
    solids: tuple[Any, ...]
    skins: tuple[Any, ...]
    lines: tuple[Any, ...]
    arrows: Any


def viewer() -> Any:
    """The module viser.

    Raises:
        RenderError: where it isn't installed, with the line to type.
    """
    try:
        import viser
    except ImportError:
        raise RenderError(f"the moving page needs viser, which isn't installed; type: {INSTALL}") from None
    return viser


def notice() -> str:
    """The licence of the viewer, which asks to be kept with every copy."""
    found = [f for f in files("viser") or () if f.name == "LICENSE"]
    return found[0].read_text() if found else "viser, MIT License"


@contextmanager
def serving(host: str = "127.0.0.1", port: int = 0) -> Iterator[Any]:
    """A server of scenes, on this machine alone unless told otherwise; it ends with the block.

    Args:
        host: address that it listens on.
        port: 0: any that is free.
    """
    made = viewer().ViserServer
    with redirect_stdout(io.StringIO()):  # it greets on the terminal
        server = made(host=host, port=port, verbose=False)
    try:
        yield server
    finally:
        with redirect_stdout(io.StringIO()):
            server.stop()


def show(server: Any, data: SceneData) -> Shown:
    """Put a scene on a server, posed at its first frame.

    Args:
        server: see `serving`.
        data: the scene.
    """
    scene = server.scene
    scene.set_up_direction("+z")  # once: it puts all who look back to the first view
    _surroundings(server, data)
    tint = np.array(TINT[data.light])
    solids = tuple(_solid(scene, s, tint) for s in data.solids)
    skins = tuple(_skin(scene, s, tint) for s in data.skins)
    lines = tuple(map(partial(_line, scene), data.lines))
    for word in data.words:
        _word(scene, word)
    shown = Shown(data, solids, skins, lines, _arrows(scene, data.arrows))
    pose(shown, 0.0)
    return shown


def swap(server: Any, shown: Shown, data: SceneData) -> Shown:
    """Put a scene in the place of another; what looks as it did keeps its handle, so that it isn't sent again.

    Nothing is posed: `pose` follows.

    Args:
        server: see `serving`.
        shown: what it shows now.
        data: the new scene.
    """
    old, scene = shown.data, server.scene
    dark = data.light != old.light
    if dark or _differs(old.ground, data.ground):
        _surroundings(server, data)
    tint = np.array(TINT[data.light])
    kept = {} if dark else {s.name: (s, h) for s, h in zip(old.solids, shown.solids, strict=True)}
    solids = tuple(
        kept[s.name][1] if s.name in kept and _alike(kept[s.name][0], s) else _solid(scene, s, tint)
        for s in data.solids
    )
    skins = tuple(_skin(scene, s, tint) for s in data.skins)
    lines = tuple(map(partial(_line, scene), data.lines))
    said = {w.name: w for w in old.words}
    for word in data.words:
        if word.name not in said or _says_other(said[word.name], word):
            _word(scene, word)
    arrows = shown.arrows
    if (data.arrows is None) != (old.arrows is None) or (data.arrows and old.arrows and _thick(old, data)):
        if arrows is not None:
            arrows.remove()
        arrows = _arrows(scene, data.arrows)
    for name in _named(old) - _named(data):
        scene.remove_by_name(f"/{name}")
    return Shown(data, solids, skins, lines, arrows)


def _says_other(one: Word, other: Word) -> bool:
    return one.text != other.text or not np.array_equal(one.place, other.place)


def _named(data: SceneData) -> set[str]:
    return {
        *(s.name for s in data.solids),
        *(s.name for s in data.skins),
        *(s.name for s in data.lines),
        *(s.name for s in data.words),
    }


def _differs(one: Ground, other: Ground) -> bool:
    same = (one.width, one.square, one.colour, one.line) == (
        other.width,
        other.square,
        other.colour,
        other.line,
    )
    return not same or bool(np.abs(one.middle - other.middle).max() > 1e-9)


def _alike(one: Solid, other: Solid) -> bool:
    """Whether two things have the same shape and look, so that one handle serves for both."""
    if len(one.surfaces) != len(other.surfaces) or (one.motion.size is None) != (other.motion.size is None):
        return False
    return all(
        a.finish == b.finish
        and np.array_equal(a.vertices, b.vertices)
        and np.array_equal(a.faces, b.faces)
        and (a.shades is None) == (b.shades is None)
        and (a.shades is None or b.shades is None or np.array_equal(a.shades, b.shades))
        for a, b in zip(one.surfaces, other.surfaces, strict=True)
    )


def _thick(old: SceneData, new: SceneData) -> bool:
    """Whether arrows are to be made anew: for other joints, or of another size."""
    one, other = old.arrows, new.arrows
    if one is None or other is None:
        return True
    return one.names != other.names or abs(one.thick - other.thick) > 1e-3 * one.thick


def pose(shown: Shown, time: float, since: float | None = None) -> None:
    """Put everything where it is at a time.

    Args:
        shown: see `show`.
        time: s; the frame at or before it counts.
        since: time at which it stands already: what hasn't moved since isn't sent again; None: all is sent.
    """
    at = frame_at(shown.data, time)
    before = None if since is None else frame_at(shown.data, since)
    for handle, solid in zip(shown.solids, shown.data.solids, strict=True):
        _put(handle, solid.motion, at, before)
    for handle, skin in zip(shown.skins, shown.data.skins, strict=True):
        for bone, motion in zip(handle.bones, skin.motion, strict=True):
            _put(bone, motion, at, before)
    for handle, line in zip(shown.lines, shown.data.lines, strict=True):
        if len(line.points) > 1 and at != before:
            handle.points = _near(line.points[at]).astype(np.float32)
    arrows = shown.data.arrows
    if arrows is not None and at != before:
        handle = shown.arrows
        handle.points = _near(arrows.points[at]).astype(np.float32)
        if before is None or (arrows.colours[at] != arrows.colours[before]).any():
            handle.colors = arrows.colours[at]


def frame_at(data: SceneData, time: float) -> int:
    """The frame that is shown at a time (s)."""
    return max(0, min(int(np.searchsorted(data.time, time + 1e-9, side="right")) - 1, len(data.time) - 1))


def document(data: SceneData) -> str:
    """A scene as one HTML document that plays it over and over and needs nothing beside it.

    Raises:
        RenderError: where viser isn't installed.
    """
    with serving() as server:
        shown = show(server, data)
        record = server.get_scene_serializer()
        for k in range(1, len(data.time)):
            record.insert_sleep(float(data.time[k] - data.time[k - 1]))
            pose(shown, float(data.time[k]), float(data.time[k - 1]))
        if len(data.time) > 1:
            record.insert_sleep(float(data.time[-1] - data.time[-2]))
        made = str(record.as_html(dark_mode=data.light == "night"))
    text = notice().replace("</", "< /")
    return made.replace("</head>", f'<script type="text/plain" id="licence">{text}</script></head>', 1)


def _near(values: Array) -> Array:
    return np.round(values * FINE_PLACE) / FINE_PLACE


def _put(handle: Any, motion: Motion, at: int, before: int | None) -> None:
    for name, values, fine in (
        ("position", motion.place, FINE_PLACE),
        ("wxyz", motion.turn, FINE_TURN),
        ("scale", motion.size, FINE_PLACE),
    ):
        if values is None or (len(values) == 1 and before is not None):
            continue
        now = np.round(values[min(at, len(values) - 1)] * fine) / fine
        if before is None or (now != np.round(values[before] * fine) / fine).any():
            setattr(handle, name, tuple(map(float, now)) if name == "scale" else now)


def _line(scene: Any, line: Line) -> Any:
    points = _near(line.points[0])
    return scene.add_line_segments(
        f"/{line.name}", points, line.colour, thickness=line.width, thickness_units="screen"
    )


def _word(scene: Any, word: Word) -> None:
    scene.add_label(f"/{word.name}", word.text, position=word.place, anchor="center-center")


def _solid(scene: Any, solid: Solid, tint: Array) -> Any:
    surfaces = [_coarse(s, tint) for s in solid.surfaces]
    size = 1.0 if solid.motion.size is None else tuple(map(float, solid.motion.size[0]))
    return scene.add_glb(f"/{solid.name}", still_glb(surfaces, solid.name), scale=size)


def _coarse(surface: Surface, tint: Array) -> Surface:
    """The same under the light, with numbers that pack well: places to 0.02 mm, normals to half a degree."""
    shades = None if surface.shades is None else np.round(surface.shades * 64) / 64
    finish = surface.finish
    red, green, blue = (float(v) for v in np.array(finish.colour) * (1.0 if finish.glow else tint))
    return replace(
        surface,
        finish=replace(finish, colour=(red, green, blue)),
        vertices=np.round(surface.vertices * FINE_VERTEX) / FINE_VERTEX,
        normals=np.round(surface.normals * FINE_NORMAL) / FINE_NORMAL,
        shades=shades,
    )


def _skin(scene: Any, skin: Skinned, tint: Array) -> Any:
    weights = np.zeros((len(skin.vertices), len(skin.motion)), dtype=np.float32)
    shares = np.round(skin.share * FINE_SHARE) / FINE_SHARE
    shares[:, 0] = 1.0 - shares[:, 1:].sum(axis=1)  # else a vertex would be drawn towards the origin
    for which, share in zip(skin.which.T, shares.T, strict=True):
        np.add.at(weights, (np.arange(len(weights)), which), share)
    return scene.add_mesh_skinned(
        f"/{skin.name}",
        (np.round(skin.vertices * FINE_VERTEX) / FINE_VERTEX).astype(np.float32),
        skin.faces.astype(np.uint32),
        bone_wxyzs=skin.rest.turn,
        bone_positions=skin.rest.place,
        skin_weights=weights,
        color=seen(tuple(np.array(skin.colour) * tint)),
        side="double",
    )


def _arrows(scene: Any, arrows: Arrows | None) -> Any:
    if arrows is None:
        return None
    thick = arrows.thick
    return scene.add_arrows(
        "/loads",
        arrows.points[0],
        arrows.colours[0],
        shaft_radius=thick,
        head_radius=2.4 * thick,
        head_length=6.0 * thick,
    )


def _surroundings(server: Any, data: SceneData) -> None:
    """Light, sky, ground, and where it is seen from."""
    scene, ground, eye = server.scene, data.ground, data.eye
    top, low = (np.array(c, dtype=float) for c in SKY[data.light])
    share = np.linspace(0.0, 1.0, 256)[:, None, None] ** 0.8
    scene.set_background_image(
        np.tile(np.round(top + share * (low - top)), (1, 4, 1)).astype(np.uint8), format="png"
    )
    server.gui.configure_theme(
        show_logo=False, show_share_button=False, dark_mode=data.light == "night", brand_color=BRAND
    )
    scene.add_grid(
        "/ground",
        ground.width,
        ground.width,
        cell_size=ground.square,
        section_size=5 * ground.square,
        cell_color=ground.line,
        section_color=ground.line,
        section_thickness=1.6,
        plane_color=ground.colour,
        plane_opacity=1.0,
        shadow_opacity=0.35,
        fade_distance=ground.width,
        position=ground.middle,
    )
    _seen_from(server.initial_camera, eye)


def _seen_from(camera: Any, eye: Eye) -> None:
    """Take a first view; who sees nearly that already, and has not turned it himself, is not moved by a hair."""
    far = float(np.linalg.norm(eye.target - eye.place))
    if np.abs(camera.position - eye.place).max() + np.abs(camera.look_at - eye.target).max() < ALIKE * far:
        return
    camera.up = (0.0, 0.0, 1.0)
    camera.position = eye.place
    camera.look_at = eye.target
    camera.fov = eye.angle
