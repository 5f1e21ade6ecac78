"""A fixed joint."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from simprop.joints.kinds import JOINTS, JointKind, Pair


@JOINTS.add
class Fixed(JointKind):
    """Fastened together: no motion; the load through it is reported."""

    mark = "cross"

    kind: Literal["fixed"] = "fixed"
    between: Pair = Field(alias="fixed")

    @property
    def order(self) -> int:
        """First: nothing moves in it."""
        return 0
