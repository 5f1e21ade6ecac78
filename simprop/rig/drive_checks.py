"""Checks across the drives of a rig file: names of bodies, drives and supplies, and who switches what."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from simprop.cues.records import CUES
from simprop.drives.base import MOTORS
from simprop.drives.kinds import figures_of
from simprop.errors import Fault, UnknownNameError
from simprop.pulls.base import PULLS
from simprop.reading.looking import mapping, still, strangers, unknown


def drive_faults(data: dict[str, Any]) -> list[Fault]:
    """Faults that no single field shows, in what drives the prop.

    Returns:
        Faults with `field` set and neither file nor line.

    Example:
        >>> cues = {"scenes": {"rise": {"do": [{"at": "0 s", "on": "lfit"}]}}}
        >>> [f.nearest for f in drive_faults({"motors": {"lift": {}}, "cues": cues})]
        ['lift']
    """
    bodies, motors, pushers = (mapping(data.get(k)) for k in ("bodies", "motors", "pushers"))
    faults = [
        Fault("a motor has this name already", field=f"pushers.{name}", value=name)
        for name in pushers
        if name in motors
    ]
    for name, pusher in pushers.items():
        faults += _pair(f"pushers.{name}.between", mapping(pusher).get("between"), bodies)
    for name, pull in mapping(data.get("pulls")).items():
        for kind in PULLS.names:
            if kind in mapping(pull):
                faults += _pair(f"pulls.{name}.{kind}", pull[kind], bodies)
    faults += _cues(data, [*motors, *pushers])
    for section, users in (("motors", motors), ("pushers", pushers)):
        cued = set(_cued(data))
        for name, user in users.items():
            if name in cued and "on" in mapping(user):
                message = "cues switch this drive, so it has no times of its own"
                faults.append(
                    Fault(message, field=f"{section}.{name}.on", allowed="remove `on`, or the cues")
                )
    return faults


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def _pair(field: str, pair: Any, bodies: dict[str, Any]) -> list[Fault]:
    if not isinstance(pair, list) or len(pair) != 2:
        return []
    faults = strangers(field, pair, bodies)
    if not faults and pair[0] == pair[1]:
        faults.append(Fault("both ends are on one body", field=field, value=str(pair[0])))
    if not faults and all(still(bodies[b]) for b in pair):
        faults.append(Fault("both ends are on bodies that stand still", field=field))
    return faults


def _each_cue(data: dict[str, Any]) -> Iterator[tuple[str, str, str, dict[str, Any]]]:
    for scene, spec in mapping(mapping(data.get("cues")).get("scenes")).items():
        for i, cue in enumerate(_list(mapping(spec).get("do"))):
            for kind in (name for name in CUES.names if CUES[name].WHO != "jaw"):
                if kind in mapping(cue):
                    yield f"cues.scenes.{scene}.do.{i}", kind, str(cue[kind]), cue
            if "jaw" in mapping(cue):
                yield f"cues.scenes.{scene}.do.{i}", "jaw", str(cue["jaw"]), cue


def _cued(data: dict[str, Any]) -> list[str]:
    return [output for _, _, output, _ in _each_cue(data)]


def _follows(motor: Any) -> bool:
    """True if a motor as written goes where a pose sends it (True also where its name is unknown)."""
    spec = mapping(motor).get("motor")
    if isinstance(spec, dict):
        kind = MOTORS.key_of(spec)
        return kind is not None and MOTORS[kind].follows
    try:
        return bool(figures_of(str(spec)).follows)
    except UnknownNameError:
        return True


def _cues(data: dict[str, Any], outputs: list[str]) -> list[Fault]:
    faults = []
    motors = mapping(data.get("motors"))
    for field, kind, output, _ in _each_cue(data):
        who = "jaw" if kind == "jaw" else CUES[kind].WHO
        if output not in outputs:
            faults.append(unknown(f"{field}.{kind}", output, outputs, "a motor or pusher"))
        elif who in ("servo", "jaw") and not _follows(motors.get(output, {"motor": {}})):
            message = f"{output!r} is no servo: it has no {'poses' if who == 'servo' else 'jaw'}"
            faults.append(Fault(message, field=f"{field}.{kind}", value=output, allowed="on, off, speed"))
        elif who == "drive" and output in motors and _follows(motors[output]):
            message = f"{output!r} is a servo: it goes where a pose sends it"
            faults.append(Fault(message, field=f"{field}.{kind}", value=output, allowed="pose, on, off"))
    for i, lock in enumerate(_list(mapping(data.get("cues")).get("interlocks"))):
        names = [("hold", mapping(lock).get("hold"))]
        for key in ("while_on", "while_off"):
            names += [(f"{key}.{k}", n) for k, n in enumerate(_list(mapping(lock).get(key)))]
        for key, name in names:
            if name is not None and name not in outputs:
                faults.append(unknown(f"cues.interlocks.{i}.{key}", name, outputs, "a motor or pusher"))
    return faults
