"""Fittings with the pipes that are drawn to them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from simprop.errors import AssemblyError, Fault, RigError
from simprop.geometry.placement import AS_DRAWN
from simprop.parts.kinds import Body
from simprop.parts.part import Shape


def fitted(bodies: Mapping[str, Body]) -> dict[str, Body]:
    """The bodies with parts that know the pipes drawn to them.

    Args:
        bodies: of a rig.

    Raises:
        RigError: for a fitting whose form isn't that of the pipes drawn to it.
    """
    if not any(part.joins for body in bodies.values() for part in body.parts):
        return dict(bodies)
    pipes = {name: list(_pipes(body)) for name, body in bodies.items()}
    found, faults = {}, []
    for name, body in bodies.items():
        others = [pipe for other, rows in pipes.items() if other != name for pipe in rows]
        parts = []
        for i, part in enumerate(body.parts):
            try:
                parts.append(part.joined(pipes[name], others))
            except AssemblyError as error:
                faults.append(Fault(str(error), field=f"bodies.{name}.parts.{i}"))
        found[name] = body.model_copy(update={"parts": tuple(parts)})
    if faults:
        raise RigError(faults)
    return found


def _pipes(body: Body) -> Iterator[Shape]:
    for part in body.parts:
        if not part.joins:
            try:
                shape = part.place(AS_DRAWN, _unread, "")
            except (AssemblyError, OSError):
                continue  # told where the body is put together
            if shape.fitted is not None:
                yield shape


def _unread(name: str) -> bytes:
    raise OSError(name)
