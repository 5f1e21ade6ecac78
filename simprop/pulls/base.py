"""What every pull says, and the sort that the kinds enter."""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING, ClassVar

from pydantic import Field, model_validator

from simprop.catalog.bought import Bought
from simprop.errors import Fault, RigError
from simprop.fasteners.ends import Ended, Held
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.laws.forms import LinePull, Mounting, Note
from simprop.pulls.looks import Frames, cord
from simprop.reading.fields import Place, apart
from simprop.reading.kinds import Kinds


class PullBase(Ended):
    """What every pull says: where it holds the first body, and where the second; its kind's key names the bodies.

    Attributes:
        cautions: that it brings with it.
        held_by: what holds its ends to the bodies; None: not named.
    """

    cautions: ClassVar[tuple[str, ...]] = ()
    if TYPE_CHECKING:
        kind: str
        between: Pair
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    held_by: Held = None

    @model_validator(mode="after")
    def _straight(self) -> PullBase:
        apart(self.start, self.end)
        return self

    @abstractmethod
    def law(self, mounting: Mounting, note: Note) -> LinePull:
        """How it pulls.

        Raises:
            RigError: when it can't be drawn as it is.
        """

    def bought(self) -> tuple[Bought, ...]:
        """What one asks for; in the words of its kind where that doesn't say more."""
        return (Bought("springs and pulls", self.kind.replace("_", " "), 1),)

    def drawn(self, lengths: Array) -> Frames:
        """How it looks, in the three frames of a line: a cord, where its kind doesn't say more.

        Args:
            lengths: of the line over the run, (n,) m.
        """
        return [cord()], [], []


PULLS: Kinds[PullBase] = Kinds("pull")
"""The kinds of pull."""


def reach(length: float, shortest: float, longest: float) -> None:
    """Refuse what can't be drawn as it is.

    Args:
        length: distance of its ends in the start pose, m.
        shortest: that it can have, m.
        longest: m.
    """
    if not shortest - 1e-6 <= length <= longest + 1e-6:
        raise RigError(
            [
                Fault(
                    f"in the start pose its ends are {1e3 * length:.4g} mm apart, and it reaches from "
                    f"{1e3 * shortest:.4g} to {1e3 * longest:.4g} mm"
                )
            ]
        )
