"""The picture and the rig file as they are drawn on: where the picture lies, its marks, the points of the file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
from pydantic_core import PydanticCustomError

from simprop.errors import RigError, SimpropError, WriteError
from simprop.geometry.arrays import Array
from simprop.live.drawing.sheet import Laid, Spot
from simprop.live.session import Session
from simprop.quantities import show
from simprop.reading.fields import Scope, read_scalar
from simprop.reading.text import read_text
from simprop.tracing.adding import with_bar, with_pin, with_point
from simprop.tracing.kept import kept_beside, load_placing, save_placing
from simprop.tracing.pictures import picture_of, read_picture
from simprop.tracing.placing import (
    corners,
    extent,
    fineness,
    in_view,
    in_world,
    middle,
    pixel_of,
    place_of,
    placed,
    turned,
)
from simprop.tracing.points import free, moved, points_of
from simprop.tracing.rounding import rounded
from simprop.tracing.types import Draggable, Level, Pair, Picture, Placing, View
from simprop.written import written_beside

MARKS = ("mark 1", "mark 2")
LEVELS: tuple[Level, ...] = get_args(Level)
WAYS: dict[View, tuple[str, str]] = {"front": ("x", "z"), "side": ("y", "z")}
"""What a view shows across and up."""
GUESS = 1.5
"""Width of a picture without marks, in sizes of the prop."""


class Board:
    """What is drawn on.

    Args:
        session: whose rig file it is.

    Attributes:
        placing: how the picture lies; None: there is none.
        laid_by_marks: else it lies at a guessed size.
        marks: those set so far, pixels.
        bodies: names of the bodies of the file.
    """

    def __init__(self, session: Session):
        self._session = session
        self.placing: Placing | None = None
        self.laid_by_marks = False
        self.marks: list[Pair] = []
        self.bodies: tuple[str, ...] = ()
        self._picture: Picture | None = None
        self._points: dict[str, Draggable] = {}

    # ---- the picture

    @property
    def view(self) -> View:
        """From where the picture was taken."""
        return "front" if self.placing is None else self.placing.view

    @property
    def laid(self) -> Laid | None:
        """The picture as it lies in its plane."""
        placing, picture = self.placing, self._picture
        if placing is None or picture is None:
            return None
        return Laid(picture.pixels, np.array(middle(placing)), extent(placing), turned(placing))

    def find(self, picture: Path | None, size: float) -> bool:
        """Take up the picture that is given, or the one that is kept beside the rig.

        Args:
            picture: its file; None: the kept one.
            size: of the prop, m.

        Returns:
            Whether there is one.

        Raises:
            SimpropError: where it, or what is kept, can't be read.
        """
        beside, folder = kept_beside(self._session.file), self._session.file.parent
        if beside.exists():
            known = load_placing(beside)
            if picture is None or picture.resolve() == (folder / known.file).resolve():
                self._picture = picture_of(known, folder)
                self.placing, self.marks, self.laid_by_marks = known, list(known.marks), True
                return True
        if picture is not None:
            self._guess(picture, size)
        return picture is not None

    def upload(self, name: str, content: bytes, size: float) -> str:
        """Save a picture beside the rig under its own name, and take it up.

        Args:
            name: of its file.
            content: of it.
            size: of the prop, m.

        Returns:
            What was done, in words.

        Raises:
            SimpropError: where it is no picture, or another file has its name.
        """
        own = Path(name.replace("\\", "/")).name.lstrip(".") or "picture.png"
        file = self._session.file.with_name(own)
        if file.exists() and file.read_bytes() != content:
            raise WriteError(
                f"{own} is there already beside the rig and is another file: give yours another name"
            )
        if not file.exists():
            with written_beside(file.parent) as work:
                (work / own).write_bytes(content)
                read_picture(work / own)
        self._guess(file, size)
        return f"Saved beside the rig as {own}. Set two marks on it whose distance you know."

    def _guess(self, file: Path, size: float) -> None:
        """Lay a picture at a guessed size, on the ground, until its marks are set."""
        picture = read_picture(file)
        wide, tall = picture.size
        marks = ((0.0, float(tall)), (float(wide), float(tall)))
        half = GUESS * size / 2
        here = self._session.file.parent.resolve()
        inside = file.resolve().is_relative_to(here)
        name = str(file.resolve().relative_to(here)) if inside else str(file.resolve())
        self._picture, self.marks, self.laid_by_marks = picture, [], False
        self.placing = Placing(name, picture.size, self.view, marks, 2 * half, (-half, 0.0))

    def turn(self, view: View) -> None:
        """Say from where the picture was taken; where it was laid before, it is to be laid anew."""
        if self.placing is not None:
            self.placing = replace(self.placing, view=view)
            self.laid_by_marks = False

    def lay(self, apart: str, level: Level, first: str) -> str:
        """Lay the picture by its marks, and keep that beside the rig.

        Args:
            apart: distance of the marks, with its unit.
            level: what their line is said to be.
            first: where mark 1 is: two coordinates with a unit, or a point of the rig.

        Returns:
            What was done, in words.

        Raises:
            SimpropError: where that can't be.
        """
        placing = self.known()
        if len(self.marks) < 2:
            raise SimpropError("set two marks first: click the two ends of something that you measured")
        one, other = self.marks
        points = {p.name: p.at for p in self._points.values()}
        self.placing = placed(
            placing.file, placing.size, placing.view, (one, other), apart, first, level, points
        )
        self.laid_by_marks = True
        return f"Laid; kept in {save_placing(kept_beside(self._session.file), self.placing).name}."

    def known(self) -> Placing:
        """How the picture lies.

        Raises:
            SimpropError: where there is none.
        """
        if self.placing is None:
            raise SimpropError("take a picture first")
        return self.placing

    def form(self) -> tuple[View, str, Level, str]:
        """The fields of a picture that was laid before: view, distance, level, where mark 1 is."""
        placing = self.known()
        if not self.laid_by_marks:
            return placing.view, "500 mm", "as it lies", "0 0 mm"
        x, z = (f"{1e3 * v:.6g}" for v in placing.at)
        return placing.view, f"{1e3 * placing.distance:.6g} mm", placing.level, f"{x} {z} mm"

    def told(self) -> str:
        """What is known of the picture, in a sentence."""
        placing = self.placing
        if placing is None:
            return "No picture yet: a photo of the bench, taken straight on from far off, or a sketch."
        name = Path(placing.file).name
        if not self.laid_by_marks:
            return f"{name} lies at a guessed size. Set two marks whose distance you measured, then lay it."
        step = show(fineness(placing), "length")
        return f"{name} lies at its true scale. It tells places to {step}, and numbers are rounded to that."

    def reach(self) -> tuple[Array, Array]:
        """Corners of what is to be seen while it is drawn on, (2,) m: the picture."""
        found = np.array(corners(self.known()))
        return found.min(axis=0), found.max(axis=0)

    # ---- what lies on it

    def read(self) -> None:
        """Read the points and bodies of the file; those before stay where it can't be read."""
        text, file = self._session.state.text, self._session.state.file
        try:
            self._points = {p.name: p for p in points_of(text, file)}
            data = read_text(text, file).data
        except RigError:
            return
        bodies = data.get("bodies") if isinstance(data, dict) else None
        self.bodies = tuple(map(str, bodies)) if isinstance(bodies, dict) else ()

    def spots(self, *, marks: bool) -> tuple[Spot, ...]:
        """What is to be dragged.

        Args:
            marks: the two marks too, also where the picture lies by them.
        """
        placing, view = self.placing, self.view
        if placing is None:
            return ()
        known = self._points.values() if self.laid_by_marks else ()
        points = [
            Spot(p.name, np.array(in_view(view, p.at)), "free" if free(p, view) else "held", p.name)
            for p in known
        ]
        crosses = [
            Spot(name, np.array(place_of(placing, pixel)), "mark", name)
            for name, pixel in zip(MARKS, self.marks, strict=False)
        ]
        return (*points, *(crosses if marks or not self._by_these else ()))

    def mark(self, which: int, at: Array) -> None:
        """Set a mark.

        Args:
            which: 0 or 1.
            at: where, (2,) m.
        """
        self.marks[which : which + 1] = [self._pixel(at)]

    @property
    def _by_these(self) -> bool:
        """Whether the picture lies by the marks as they are."""
        return self.laid_by_marks and tuple(self.marks) == self.known().marks

    def _pixel(self, at: Array) -> Pair:
        placing = self.known()
        x, y = pixel_of(placing, _pair(at))
        w, h = placing.size
        return round(min(max(x, 0.0), w), 1), round(min(max(y, 0.0), h), 1)

    def read_out(self, name: str, at: Array) -> str:
        """Where something is while it is dragged, in words."""
        if name in MARKS:
            x, y = self._pixel(at)
            return f"{name}: pixel {x:.1f}, {y:.1f}"
        step = 1e3 * fineness(self.known())
        a, b = (rounded(1e3 * float(v), step) for v in at)
        across, up = WAYS[self.view]
        return f"{name}: {across} {a} mm, {up} {b} mm"

    # ---- the rig file with something drawn

    def moved(self, name: str, at: Array) -> tuple[str, str]:
        """The text with a point elsewhere, and why a coordinate of it stays, in words.

        Raises:
            SimpropError: where that can't be.
        """
        found = moved(self._session.state.text, name, self.view, _pair(at), self._step())
        return found.text, "; ".join(found.told)

    def with_point(self, name: str, at: Array, deep: str) -> str:
        """The text with a new point.

        Args:
            name: of it.
            at: where it was clicked, (2,) m.
            deep: its coordinate that the view doesn't show, with its unit.

        Raises:
            SimpropError: where that can't be.
        """
        step = self._step()
        try:
            depth = read_scalar(deep, "length", Scope())
        except PydanticCustomError as error:
            raise SimpropError(f"how deep: {error.message()} (got {deep!r}; allowed: 0 mm)") from None
        return with_point(self._session.state.text, name, in_world(self.view, _pair(at), depth), step)

    def with_pin(self, name: str, bodies: tuple[str, str], point: str | None, at: Array, deep: str) -> str:
        """The text with a new pin, and where it has no point yet with one of its name.

        Args:
            name: of the joint.
            bodies: that it holds together.
            point: that it goes through; None: a new one.
            at, deep: see `with_point`.

        Raises:
            SimpropError: where that can't be.
        """
        text = self._session.state.text if point is not None else self.with_point(name, at, deep)
        return with_pin(text, name, bodies, point or name, self.view)

    def with_bar(self, name: str, points: tuple[str, str], stock: str, *, fixed: bool) -> str:
        """The text with a new body of one part from point to point; see `simprop.tracing.adding.with_bar`.

        Raises:
            SimpropError: where that can't be.
        """
        return with_bar(self._session.state.text, name, *points, stock, fixed=fixed)

    def _step(self) -> float:
        """To which numbers are rounded, m."""
        placing = self.known()
        if not self.laid_by_marks:
            raise SimpropError("lay the picture by its marks first: at a guessed size it tells no numbers")
        return fineness(placing)


def _pair(at: Array) -> Pair:
    return float(at[0]), float(at[1])
