"""What may stand for the arguments of measures in a rig."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from pydantic_core import PydanticCustomError

from simprop.checking.check import Check
from simprop.geometry.arrays import Array
from simprop.loads.joints import all_peaks
from simprop.quantities import QuantityError
from simprop.reading.fields import Scope, read_row
from simprop.run.run import Run


def axes(run: Run) -> Iterator[str]:
    """Directions: to the right, away, up."""
    yield from "xyz"


def points(run: Run) -> Iterator[str]:
    """Points and joints, and points on bodies."""
    rig = run.rig
    yield from rig.points
    yield from (j.name for j in run.assembly.joints)
    yield from (f"{body}.{point}" for body in rig.bodies for point in rig.points)


def places(run: Run) -> Iterator[str]:
    """Points of the rig, where they are drawn; beside them any place in quotes will do."""
    yield from run.rig.points


def spot(run: Run, text: str) -> Array:
    """The place of a point as drawn, or as written (``0 0 620 mm``), (3,) m.

    Raises:
        QuantityError: for text that is none.
    """
    if text in run.rig.points:
        return np.array(run.rig.points[text][:3])
    try:
        return np.array(read_row(text, "length", 3, Scope(run.rig.params)))
    except PydanticCustomError as error:
        raise QuantityError(f"{text!r} is not a place: {error.message()}", '"0 20 300 mm"') from None


def moving(run: Run) -> Iterator[str]:
    """Joints that turn or slide one way."""
    for joint in run.assembly.joints:
        if len([f for f in joint.freedoms if f.axis >= 0 and not f.play]) == 1:
            yield joint.name


def joints(run: Run) -> Iterator[str]:
    """All joints."""
    yield from (j.name for j in run.assembly.joints)


def carriers(run: Run) -> Iterator[str]:
    """All that carries load and has a peak."""
    yield from (p.name for p in all_peaks(run.loads))


def kinds(run: Run) -> Iterator[str]:
    """Force or moment."""
    yield from ("force", "moment")


def drives(run: Run) -> Iterator[str]:
    """Motors and pushers."""
    yield from (d.name for d in run.drives)


def slides(run: Run) -> Iterator[str]:
    """Joints that are guided."""
    yield from (b.joint for b in run.binding)


def bodies(run: Run) -> Iterator[str]:
    """Bodies as the rig names them."""
    yield from run.rig.bodies


def checked(run: Run) -> Iterator[str]:
    """Groups, names and places of the checks of strength."""
    for check in run.strength.checks:
        yield from names_of(check)


def names_of(check: Check) -> tuple[str, ...]:
    """By what a check of strength can be asked for: its group, its name, its place, and the first word of that."""
    return check.group, check.name, check.place, check.place.partition(" ")[0].partition(",")[0]
