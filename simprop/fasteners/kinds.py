"""What holds a joint together, as the builder says it: ``{bolt: 1/4-20, grade: 2, nut: nylon insert}``."""

from __future__ import annotations

from typing import Annotated

from simprop.fasteners.base import FASTENERS, Fastener
from simprop.fasteners.bolt import Bolt
from simprop.fasteners.clamp import Clamp
from simprop.fasteners.glue import Glue
from simprop.fasteners.rivet import Rivet
from simprop.fasteners.rod_end import RodEnd
from simprop.fasteners.roll_pin import RollPin
from simprop.fasteners.screw import Screw
from simprop.fasteners.set_screw import SetScrew
from simprop.fasteners.sheet_screw import SheetScrew
from simprop.fasteners.socket import Socket
from simprop.fasteners.toggle import Toggle
from simprop.fasteners.weld import Weld

for _kind in (
    Bolt,
    Screw,
    SheetScrew,
    Socket,
    Toggle,
    Clamp,
    SetScrew,
    RollPin,
    Rivet,
    RodEnd,
    Weld,
    Glue,
):
    FASTENERS.add(_kind)

Holding = Annotated[Fastener, FASTENERS]
