"""A new part shape is one file and one registration: square trunking, known to this test alone, in every room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import ClassVar, Literal

import numpy as np
import pytest
from pydantic import Field

import simprop
from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import RigError
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.placement import Placement
from simprop.geometry.solids import box
from simprop.geometry.surface import Surface
from simprop.parts.kinds import PARTS
from simprop.parts.part import PartKind, Shape, Through, long_box, path_of
from simprop.picture.chart.drawings import schematic
from simprop.picture.export.gltf import write_glb
from simprop.picture.render.film import Shot, prepare, still
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Extents2, Place
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference
from simprop.rig.schema import keys_at
from simprop.rules.mass import MassProperties, cuboid
from simprop.rules.sections import Rectangle, Section, rectangle
from simprop.run.simulate import simulate

G = 9.80665
RED = Finish((0.8, 0.0, 0.0))
STEEL = 7850.0
"""Density of the catalogue's steel, kg/m^3."""


@dataclass(frozen=True, kw_only=True)
class BoxSection(Rectangle):
    """A square tube; bent at its corners as a rectangle is."""

    wall: float

    def net(self, hole: float, angle: float) -> tuple[Section, float] | None:
        side = 2 * self.half_u
        lost = 2 * hole * self.wall
        weaker = self.inertia_u - lost * ((side - self.wall) / 2) ** 2
        return replace(self, area=self.area - lost, inertia_u=weaker, inertia_v=weaker), 0.0


def box_section(side: float, wall: float) -> BoxSection:
    """Closed thin-walled section: J = (a - t)^3 t, T / tau = 2 (a - t)^2 t (Bredt)."""
    inner, mean = side - 2 * wall, side - wall
    bend = (side**4 - inner**4) / 12
    whole = vars(rectangle(side, side)) | {"area": side**2 - inner**2, "inertia_u": bend, "inertia_v": bend}
    return BoxSection(**whole | {"torsion": mean**3 * wall, "torsion_modulus": 2 * mean**2 * wall}, wall=wall)


@dataclass(frozen=True, kw_only=True)
class SquareTubing(Shape):
    """A square tube along a line."""

    word: str = "square tube"
    side: float
    wall: float

    @property
    def radius(self) -> float:
        return self.side / 2

    def part_of(self, mass: float, start: Array, end: Array) -> MassProperties:
        return of_length(mass, start, end, self.side, self.wall)

    def box(self) -> tuple[Array, Array, Array]:
        return long_box(self.path, None, self.side, self.side)

    def section(self) -> Section:
        return box_section(self.side, self.wall)

    def stronger(self) -> list[tuple[str, Section, float]]:
        return [("a square tube of twice the side", box_section(2 * self.side, self.wall), 1.0)]

    def through(self, axis: Array) -> Through:
        return Through(False, self.side, 2 * self.wall)

    def drawn(self, finish: Finish) -> list[Surface]:
        middle, axes, half = self.box()
        return [box(2 * half, RED).moved(axes, middle)]


def of_length(mass: float, start: Array, end: Array, side: float, wall: float) -> MassProperties:
    """A box less the box inside it."""
    length, inner = float(np.linalg.norm(end - start)), side - 2 * wall
    axes = np.eye(3)[np.argsort(-np.abs(end - start), kind="stable")]
    whole = mass * side**2 / (side**2 - inner**2)
    inertia = cuboid(whole, axes, (length, side, side)) - cuboid(whole - mass, axes, (length, inner, inner))
    return MassProperties(mass, (start + end) / 2, inertia)


class Trunking(PartKind):
    """A square tube: side x wall."""

    kind: Literal["trunking"] = "trunking"
    unchecked: ClassVar[str] = ""
    size: Extents2 = Field(alias="trunking")
    of: MaterialName
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")

    def place(self, at: Placement, folder: Path, name: str) -> SquareTubing:
        path = path_of(at, [self.start, self.end], name)
        side, wall = self.size
        mass = STEEL * (side**2 - (side - 2 * wall) ** 2) * float(np.linalg.norm(path[1] - path[0]))
        return SquareTubing(
            name=name,
            material=self.of,
            looks=self.looks or "plain",
            weight=of_length(mass, path[0], path[1], side, wall),
            path=path,
            turn=np.eye(3),
            side=side,
            wall=wall,
        )

    def notes(self) -> tuple[str, ...]:
        return ("corners of the square tube taken as sharp",)


LENGTH, SIDE, WALL = 0.6, 0.020, 0.002
MASS = STEEL * (SIDE**2 - (SIDE - 2 * WALL) ** 2) * LENGTH
ABOUT_MIDDLE = MASS / 12 * (LENGTH**2 + SIDE**2 + (SIDE - 2 * WALL) ** 2)
FALL = MASS * G * LENGTH / 2 / (ABOUT_MIDDLE + MASS * LENGTH**2 / 4)
"""Angular acceleration with which the arm begins to fall from level, rad/s^2."""
RIG = """
rig: 1
name: bell arm
bodies:
  post: {fixed: true, parts: [{block: 60 x 20 x 1000 mm, of: pine, at: 0 30 500 mm}]}
  arm:
    parts:
      - {trunking: 20 x 2 mm, of: steel, from: 0 0 900 mm, to: 600 0 900 mm, name: arm}
joints: {hub: {pin: [post, arm], at: 0 0 900 mm, axis: y, held_by: {bolt: 1/4-20, grade: 5, nut: nylon insert}}}
run: {for: 10 ms}
"""


@pytest.fixture(autouse=True)
def trunking():
    PARTS.add(Trunking)
    yield
    PARTS.remove("trunking")


def test_it_is_read_listed_and_weighed():
    """m = rho (a^2 - b^2) L; across its length m (L^2 + a^2 + b^2) / 12: a box less the box inside it."""
    assert {e.about for e in reference() if e.kind == "trunking"} == {"A square tube: side x wall."}
    data = {"bodies": {"arm": {"parts": [{"trunking": "20 x 2 mm"}]}}}
    assert "of" in keys_at(("bodies", "arm", "parts", 0), data)
    assembly = assemble(parse_rig(RIG))
    arm = assembly.bodies[1]
    assert arm.mass == pytest.approx(MASS, rel=1e-12)
    assert arm.com == pytest.approx([0.3, 0.0, 0.9])
    assert arm.inertia[1, 1] == pytest.approx(ABOUT_MIDDLE, rel=1e-12)
    assert arm.inertia[0, 0] == pytest.approx(MASS / 6 * (SIDE**2 + (SIDE - 2 * WALL) ** 2), rel=1e-12)
    assert "bodies.arm.parts.0: corners of the square tube taken as sharp" in assembly.notes
    with pytest.raises(RigError, match="not a material of the catalogue"):
        parse_rig(RIG.replace("of: steel", "of: steell"))


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_both_engines_let_it_fall_and_its_pin_bears_it(engine: str):
    """From level: alpha = m g (L / 2) / I, and the pin holds m (g - alpha L / 2)."""
    pytest.importorskip("pybullet" if engine == "bullet" else engine)
    run = simulate(parse_rig(RIG), engine, settle=False)
    assert abs(run.track.spin_acceleration[0, 1, 1]) == pytest.approx(FALL, rel=1e-4)
    force = run.loads.wrenches.force[0, 0]
    assert abs(force[2]) == pytest.approx(MASS * (G - FALL * LENGTH / 2), rel=1e-3)


def test_it_bends_breaks_and_reaches():
    """A uniform arm that falls from level bends most at a third of its length, by m g L / 27 (any text on dynamics)."""
    run = simulate(parse_rig(RIG), "mujoco", settle=False)
    report = run.strength
    bending = next(c for c in report.checks if c.name == "bending, pull and twist")
    modulus = (SIDE**4 - (SIDE - 2 * WALL) ** 4) / 12 / (SIDE / 2)
    assert bending.place == "arm, 200 mm from its start"
    assert bending.demand == pytest.approx(MASS * G * LENGTH / 27 / modulus, rel=2e-3)
    hub = " ".join(f"{c.name} {c.place} {c.reason}" for c in report.checks if c.place.startswith("hub"))
    assert "steel square tube" in hub
    (envelope,) = report.envelopes
    assert envelope.high[0] == pytest.approx(LENGTH, abs=1e-3)
    assert envelope.speed == pytest.approx(FALL * run.track.time[-1] * LENGTH, rel=1e-3)


def test_a_stronger_one_is_offered():
    """60 kg at the end of an arm that is held fast: (60 + m / 2) g L over the section modulus."""
    text = RIG.replace("pin: [post, arm], at: 0 0 900 mm, axis: y", "fixed: [post, arm], at: 0 0 900 mm")
    text = text.replace("name: arm}", "name: arm}\n      - {lump: 60 kg, at: 600 0 900 mm}")
    report = simulate(parse_rig(text), "mujoco", settle=False).strength
    failing = next(c for c in report.checks if c.name.startswith("bending") and c.verdict == "fail")
    (change,) = failing.remedies
    first, second = (box_section(side, WALL).inertia_u / (side / 2) for side in (SIDE, 2 * SIDE))
    assert failing.demand == pytest.approx((60 + MASS / 2) * G * LENGTH / first, rel=1e-3)
    assert change.change == "a square tube of twice the side"
    # the tube of twice the side is 2.2 times as heavy: as the new rig would tell, or a little less
    heavier = MASS * box_section(2 * SIDE, WALL).area / box_section(SIDE, WALL).area
    true = failing.margin * second / first * (60 + MASS / 2) / (60 + heavier / 2)
    assert 0.98 * true < change.margin < true


def test_what_touches_is_made_of_it():
    contact = "contacts: {tip: {point: arm, at: 600 0 900 mm, size: 10 mm, on: floor, friction: 0.5}}\nrun:"
    text = RIG.replace("run:", contact)
    own, stated = (
        actuate(assemble(parse_rig(t))).touches[0].stiffness
        for t in (text, text.replace("size: 10 mm", "size: 10 mm, of: steel"))
    )
    assert own == stated


def test_it_is_drawn_in_drawing_clip_and_export(tmp_path: Path):
    pygltflib = pytest.importorskip("pygltflib")
    run = simulate(parse_rig(RIG), "mujoco", settle=False)
    assembly, track = run.assembly, run.track
    image = still(prepare(assembly, track, Shot(size=(320, 240), plain=True)), 0)
    assert int(_red(image).sum()) > 100
    from imageio.v3 import imread

    page = imread(schematic(assembly, track, tmp_path / "sheet.png"))
    assert int(_red(page).sum()) > 100
    document = pygltflib.GLTF2().load(
        str(write_glb(assembly, track, tmp_path / "motion.glb", with_hardware=False))
    )
    (node,) = [n for n in document.nodes if n.name == "arm"]
    (primitive,) = document.meshes[node.mesh].primitives
    corners = document.accessors[primitive.attributes.POSITION]
    assert np.subtract(corners.max, corners.min) == pytest.approx([LENGTH, SIDE, SIDE], abs=1e-6)


def _red(image: np.ndarray) -> np.ndarray:
    return (image[..., 0] > 1.3 * image[..., 1].astype(float)) & (image[..., 0] > 60)


def test_without_its_registration_it_is_a_fault():
    PARTS.remove("trunking")
    with pytest.raises(RigError, match="a part names its kind as a key"):
        parse_rig(RIG)
    PARTS.add(Trunking)


def test_no_room_but_their_own_names_a_part():
    """What stands outside asks `parts/part.py` (and `parts/kinds.py` for all of them), never a single kind."""
    folder = Path(simprop.__file__).parent
    own = {f"simprop.parts.{p.stem}" for p in (folder / "parts").glob("*.py")} - {
        "simprop.parts.part",
        "simprop.parts.kinds",
    }
    for path in folder.rglob("*.py"):
        if path.parent != folder / "parts":
            named = {name for name in own if f"{name} import" in path.read_text()}
            assert not named, f"{path} imports {named}"
