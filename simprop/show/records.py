"""A show file as records: which props stand where, when each begins, and what they hang on."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from simprop.drives.supplies import SupplyField
from simprop.reading.base import Record
from simprop.reading.fields import Angle, Duration, Place, Point, Time
from simprop.rig.model import Camera


def _texts(value: object) -> object:
    return {str(k): str(v) for k, v in value.items()} if isinstance(value, dict) else value


class Standing(Record):
    """One prop of a show.

    Attributes:
        rig: its file, beside the show's or in a folder from there.
        at: where the origin of its rig stands in the show.
        turn: about the upright, seen from above against the clock.
        starts: when it is switched on, s: until then it stands in its start pose and takes no current.
        supply: name in `supplies` of what its motors and pushers hang on; None: each on its own, as its rig says.
        sets: values put over those of its rig, as with ``--set``.
    """

    rig: str
    at: Place = Point(0.0, 0.0, 0.0)
    turn: Angle = 0.0
    starts: Time = 0.0
    supply: str | None = None
    sets: Annotated[dict[str, str], BeforeValidator(_texts), Field(alias="set")] = {}


class ShowRun(Record):
    """How long the show runs."""

    duration: Duration = Field(alias="for")


class Show(Record):
    """A whole show file.

    Attributes:
        show: version of the format.
        name: of the show.
        about: what is seen, a sentence or two.
        supplies: what several props hang on.
        props: by name.
        run: how long.
        camera: from where it is seen, and in what light.
    """

    show: Literal[1]
    name: str
    about: str = ""
    supplies: dict[str, SupplyField] = {}
    props: dict[str, Standing] = Field(min_length=1)
    run: ShowRun
    camera: Camera = Camera(view="front")
