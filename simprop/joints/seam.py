"""What holds two pieces of a member that bends together; no rig writes it."""

from __future__ import annotations

from typing import ClassVar, Literal

from simprop.joints.kinds import JointKind


class Seam(JointKind):
    """The spring between two rigid pieces of one beam: it carries all six components."""

    needs_fastener: ClassVar[bool] = False
    mark = "cross"

    kind: Literal["seam"] = "seam"
