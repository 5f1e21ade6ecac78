"""From a show file to its props, each a rig that hangs on the show's supplies and runs from its own start on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from simprop.drives.supplies import SupplySpec, Wire
from simprop.errors import Fault, RigError, nearest
from simprop.reading.faults import fault_at, faults_of, ordered
from simprop.reading.fields import Scope
from simprop.reading.text import Document, read_text, text_of
from simprop.rig.load import load_rig
from simprop.rig.model import Rig
from simprop.show.records import Show, Standing


@dataclass(frozen=True)
class Prop:
    """One prop of a show.

    Attributes:
        name: in the show.
        standing: where and when.
        rig: on the show's supply, for as long as the show lasts after its start.
    """

    name: str
    standing: Standing
    rig: Rig


def load_show(path: Path, *, files_elsewhere: bool = False) -> tuple[Show, tuple[Prop, ...]]:
    """Read a show file and the rigs that it names.

    Args:
        path: the show file; rigs are looked for from its folder.
        files_elsewhere: sounds and meshes of rigs may lie outside their folders.

    Raises:
        RigError: with every fault found, of the show, or else of its rigs.
    """
    document = read_text(text_of(path), str(path))
    show = _show(document)
    props, faults = [], []
    for name, standing in show.props.items():
        try:
            props.append(Prop(name, standing, _rig(show, path.parent, standing, files_elsewhere)))
        except RigError as error:
            faults += [f if f.file else fault_at(("props", name), f.message, document) for f in error.faults]
    if faults:
        raise RigError(ordered(faults))
    return show, tuple(props)


def _show(document: Document) -> Show:
    data, faults = document.data, list(document.faults)
    if not isinstance(data, dict):
        message = Fault("a show file is a mapping", document.file, 1, allowed="show: 1, name: ...")
        raise RigError([*faults, message])
    show: Show | None = None
    try:
        show = Show.model_validate(data, context=Scope({}, {}))
    except ValidationError as error:
        faults += faults_of(error, Show, data, document)
    if show is not None:
        faults += [document.located(f) for f in _cross(show)]
    if show is None or faults:
        raise RigError(ordered(faults))
    return show


def _cross(show: Show) -> Iterator[Fault]:
    """What is wrong between the fields of a show."""
    for name, supply in show.supplies.items():
        if supply.frequency is not None:
            message = "the mains need no sharing: props on it say so in their rigs"
            yield Fault(message, field=f"supplies.{name}", allowed="direct current, such as 12 V 8 A")
    for name, prop in show.props.items():
        if prop.supply is not None and prop.supply not in show.supplies:
            near, known = nearest(prop.supply, show.supplies), ", ".join(show.supplies) or "none is named"
            yield Fault(
                "no such supply", field=f"props.{name}.supply", value=prop.supply, allowed=known, nearest=near
            )
        if prop.starts >= show.run.duration:
            yield Fault(
                "it would start after the end of the show", field=f"props.{name}.starts",
                value=f"{prop.starts:g} s", allowed=f"below {show.run.duration:g} s",
            )  # fmt: skip
    if show.camera.view == "follow":
        yield Fault(
            "a show is seen from one place", field="camera.view", value="follow",
            allowed="front, side, three_quarter, top",
        )  # fmt: skip


def _rig(show: Show, folder: Path, standing: Standing, elsewhere: bool) -> Rig:
    """The rig of a prop with what the show sets in it."""
    path = folder / standing.rig
    sets = {**standing.sets, "run.for": f"{show.run.duration - standing.starts:.9g} s"}
    if standing.supply is None:
        return load_rig(path, sets, files_elsewhere=elsewhere)
    own = load_rig(path, standing.sets, files_elsewhere=elsewhere)
    fields = [
        f"{section}.{name}.supply"
        for section, drives in (("motors", own.motors), ("pushers", own.pushers))
        for name, drive in drives.items()
        if drive.supply is not None and drive.supply.frequency is None
    ]
    if not fields:
        raise RigError([Fault(f"nothing in {standing.rig} hangs on a supply of direct current")])
    shared = _text(standing.supply, show.supplies[standing.supply])
    return load_rig(path, {**sets, **dict.fromkeys(fields, shared)}, files_elsewhere=elsewhere)


def _text(name: str, supply: SupplySpec) -> str:
    """A supply as it would be written in a rig.

    Example:
        >>> _text("box", SupplySpec(voltage="12 V", limit="8 A"))
        '{voltage: 12 V, resistance: 0 ohm, limit: 8 A, shared: box}'
    """
    found = {"voltage": f"{supply.voltage:.9g} V", "resistance": f"{supply.resistance:.9g} ohm"}
    if supply.limit is not None:
        found["limit"] = f"{supply.limit:.9g} A"
    if supply.wire is not None:
        found["wire"] = _wire(supply.wire)
    return _flow({**found, "shared": name})


def _wire(wire: Wire) -> str:
    return _flow(
        {
            "gauge": str(wire.gauge),
            "length": f"{wire.length:.9g} m",
            "strands": wire.strands,
            "temperature": f"{wire.temperature:.9g} degC",
            "metal": wire.metal,
        }
    )


def _flow(rows: Mapping[str, str]) -> str:
    return "{" + ", ".join(f"{key}: {value}" for key, value in rows.items()) + "}"
