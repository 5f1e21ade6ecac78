"""Every change that a report proposes as enough is made in the rig's text and run again: the check must then pass."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from typing import Any

import pytest
import yaml

import simprop
from simprop.checking.check import Check
from simprop.rig.load import parse_rig

HELD = """
rig: 1
name: A load that one joint holds
bodies:
  wall: {fixed: true, parts: [{bar: 60 x 60 mm, of: pine, from: -300 0 1000 mm, to: 300 0 1000 mm}]}
  shelf: {parts: [{bar: 60 x 18 mm, of: pine, from: -300 0 1000 mm, to: 300 0 1000 mm, thin: y, mass: 0.1 kg},
    {lump: 1 kg, at: 0 0 1000 mm}]}
joints: {hold: {fixed: [wall, shelf], at: 0 0 1000 mm}}
stand: {anchored: true}
run: {for: 5 ms}
"""
WORDS: list[tuple[str, Callable[..., dict[str, Any]]]] = [
    (r"(\d+) of them (\S+) mm apart", lambda n, s: {"count": int(n), "spacing": f"{s} mm"}),
    (r"(\d+) screws (\S+) mm apart", lambda n, s: {"count": int(n), "spacing": f"{s} mm"}),
    (r"screws (\d+) mm long", lambda s: {"length": f"{s} mm"}),
    (r"([\d.]+) cm\^2 of glue.*", lambda a: {"area": f"{a} cm^2"}),
    (r"a (\d+) mm long weld", lambda s: {"length": f"{s} mm"}),
    (r"a grade (\S+) bolt", lambda g: {"grade": float(g) if "." in g else int(g)}),
    (r"a (\S+) bolt", lambda s: {"bolt": s}),
    (r"leave (\d+) mm behind the hole", lambda s: {"edge": f"{s} mm"}),
    (r"double shear.*", lambda: {"shear": "double"}),
    (r"(.+) rivets", lambda s: {"rivet": s}),
    (r"grind a flat under the set screw", lambda: {"flat": True}),
    (r"a second set screw", lambda: {"count": 2}),
    (r"a (.+) set screw", lambda s: {"set_screw": s}),
    (r"(.+) screws instead", lambda s: {"screw": s}),
    (r"(.+) screws", lambda s: {"screw": s}),
]


def _applied(words: str) -> dict[str, Any] | None:
    """The fields of `held_by` that a change asks for; None where the rig's text has none for it."""
    found: dict[str, Any] = {}
    for one in words.split(", and "):
        for pattern, fields in WORDS:
            match = re.fullmatch(pattern, one)
            if match:
                found |= fields(*match.groups())
                break
        else:
            return None
    return found


def _checks(data: dict[str, Any]) -> list[Check]:
    rig = parse_rig(yaml.safe_dump(data, sort_keys=False))
    return list(simprop.simulate(rig, settle=False).strength.checks)


def _named(checks: list[Check], place: str, what: str) -> list[Check]:
    own = [c for c in checks if c.place.split(",")[0] == place and c.margin is not None]
    # what no longer stands at all is told under another name
    stands = {"tipping": ("tipping", "standing at all (its weight is outside its feet)")}.get(what, (what,))
    return [c for c in own if not what or c.group == what or c.name in stands]


def _enough(data: dict[str, Any], place: str, what: str) -> dict[str, float]:
    """Changes told to be enough at a place that fails, with the margin told."""
    told: dict[str, float] = {}
    for r in (r for c in _named(_checks(data), place, what) if c.verdict == "fail" for r in c.remedies):
        told[r.change] = min(r.margin, told.get(r.change, r.margin))
    return {words: margin for words, margin in told.items() if margin >= 1}


def _tried(
    data: dict[str, Any],
    place: str,
    change: Callable[[dict[str, Any], str], bool],
    rel: float | None,
    what: str = "",
) -> int:
    """Make each change that is told to be enough and check it; how many could be made in the rig's text.

    Args:
        change: makes a change in a rig, or says that it can't.
        rel: how near the margin told is to the one that comes out; None: it may be larger.
        what: group or name of the checks that are looked at; "": all at that place.
    """
    made = 0
    for words, margin in _enough(data, place, what).items():
        other = copy.deepcopy(data)
        if not change(other, words):
            continue
        after = _named(_checks(other), place, what)
        worst = min((c.margin or 0.0 for c in after), default=float("inf"))
        assert worst >= 1, f"{words}: {worst} where {margin} was told"
        assert rel is None or worst == pytest.approx(margin, rel=rel), words
        made += 1
    return made


def _held(data: dict[str, Any], words: str) -> bool:
    fields = _applied(words)
    for joint in data["joints"].values():
        joint["held_by"] |= fields or {}
    return fields is not None


@pytest.mark.parametrize(
    "held",
    [
        "{glue: end to end, area: 3 cm^2}",
        "{glue: side to side, area: 0.5 cm^2}",
        "{screw: '#8 wood', into: pine, length: 33 mm, through: 5 mm, along: y}",
        "{screw: '#6 drywall', into: pine, length: 45 mm, along: y, count: 2, spacing: 33.3 mm}",
        "{bolt: M4, along: y, edge: 5 mm}",
        "{rivet: 1/8 in aluminium, along: y, count: 2, spacing: 33.3 mm}",
        "{weld: 0.5 mm, length: 2.3 mm}",
        "{set_screw: '#8', shaft: 5 mm, along: z}",
    ],
)
def test_a_change_of_what_holds_a_joint_is_enough(held: str) -> None:
    made = 0
    for mass in (7.3, 31.0, 88.0):
        for aside in (0, 40):
            data = yaml.safe_load(HELD)
            data["joints"]["hold"]["held_by"] = yaml.safe_load(held)
            data["bodies"]["shelf"]["parts"][1] = {"lump": f"{mass} kg", "at": f"0 {aside} 1000 mm"}
            made += _tried(data, "hold", _held, 0.02)
    assert made


def test_a_change_is_enough_in_the_worst_case_of_a_share_and_in_the_wind() -> None:
    """Two hinges overhead, in a wind: what is told for one, done to both, holds in the calm, in the wind, and alone."""
    data = yaml.safe_load(HELD)
    screw = "{screw: '#6 wood', into: pine, length: 32 mm, through: 5 mm, along: z, count: 2, spacing: 40 mm}"
    hinge = {"pin": ["wall", "shelf"], "axis": "x", "held_by": yaml.safe_load(screw)}
    data["joints"] = {n: {**hinge, "at": f"{x} 0 1200 mm"} for n, x in (("hold", -200), ("right", 200))}
    data["bodies"]["wall"]["parts"].append({"block": "500 x 40 x 40 mm", "of": "pine", "at": "0 0 1200 mm"})
    data["bodies"]["shelf"]["parts"][1] = {"lump": "24 kg", "at": "0 0 1000 mm"}
    data["wind"] = {"speed": "14 m/s", "toward": "y"}
    assert _tried(data, "hold", _held, None)


PROP = """
rig: 1
name: A mast that carries a weight to one side
bodies:
  frame: {fixed: true, parts: [{bar: 60 x 40 mm, of: oak, from: -50 0 20 mm, to: 50 0 20 mm}]}
  arm: {parts: [{lump: 3 kg, at: 350 0 600 mm}]}
joints: {foot: {fixed: [frame, arm], at: 0 0 30 mm, held_by: {weld: 6 mm, length: 80 mm}}}
stand: {base: 500 x 300 mm}
run: {for: 5 ms}
"""


def _part(data: dict[str, Any], words: str) -> bool:
    """A part of another size in place of the arm's first."""
    part = data["bodies"]["arm"]["parts"][0]
    for key in ("pipe", "bar", "rod"):
        found = re.fullmatch(rf"(.+) {key}", words)
        if found and key in part:
            part[key] = found[1]
            return True
    return False


@pytest.mark.parametrize(
    ("part", "masses"),
    [
        ("{pipe: 1/2 in PVC, from: 0 0 40 mm, to: LONG 0 600 mm}", (0.1, 0.4, 1.1)),
        ("{bar: 18 x 9.525 mm, of: pine, thin: z, from: 0 0 600 mm, to: LONG 0 600 mm}", (0.02, 0.2, 0.6)),
        ("{rod: 6 mm, of: steel, from: 0 0 600 mm, to: LONG 0 600 mm}", (0.0, 0.3, 1.0)),
    ],
)
def test_a_stronger_part_is_enough_with_its_own_weight(part: str, masses: tuple[float, ...]) -> None:
    """What is stronger is heavier: with its own weight in the loads it must still hold."""
    made = 0
    for mass in masses:
        for long in (700, 1400, 2400):
            data = yaml.safe_load(PROP)
            data["joints"]["foot"]["at"] = "0 0 600 mm"
            data["stand"] = {"anchored": True}
            data["bodies"]["arm"]["parts"] = [yaml.safe_load(part.replace("LONG", str(long)))]
            if mass:
                data["bodies"]["arm"]["parts"].append({"lump": f"{mass} kg", "at": f"{long} 0 600 mm"})
            for place in {
                c.place.split(",")[0] for c in _checks(data) if c.group == "member" and c.verdict == "fail"
            }:
                made += _tried(data, place, _part, None, "member")
    assert made


def _stand(data: dict[str, Any], words: str) -> bool:
    stand = data["stand"]
    if found := re.fullmatch(r"(\d+) kg (?:more )?(?:of )?ballast on the stand", words):
        stand["ballast"] = (
            f"{float(str(stand.get('ballast', '0 kg')).removesuffix(' kg')) + int(found[1])} kg"
        )
        return True
    if found := re.fullmatch(r"two stakes that hold (\d+) N upwards each", words):
        stand |= {"stakes": 2, "stake_pull": f"{found[1]} N"}
        return True
    if words.startswith("stake it down"):
        stand |= {"stakes": 2, "stake_pull": "500 N"}
        return True
    if found := re.fullmatch(r"feet (\d+) mm further out (?:towards )?(\S+) .*", words):
        x, y = 0.25, 0.15
        out, axis = int(found[1]) / 1000, found[2]
        corners = {
            "on": (-x - out, x + out, -y - out, y + out),
            "+x": (-x, x + out, -y, y),
            "-x": (-x - out, x, -y, y),
            "+y": (-x, x, -y, y + out),
        }
        left, right, front, back = corners.get(axis, (-x, x, -y - out, y))
        del stand["base"]
        stand["feet"] = [f"{a} {b} 0 m" for a in (left, right) for b in (front, back)]
        return True
    return False


@pytest.mark.parametrize("ballast", [None, "4 kg"])
@pytest.mark.parametrize("at", [None, "-120 60 0 mm"])
@pytest.mark.parametrize("place", ["350 0 600 mm", "240 -140 700 mm"])
def test_what_steadies_a_stand_is_enough(place: str, at: str | None, ballast: str | None) -> None:
    """Ballast, stakes and wider feet, with ballast aside, in a wind that may turn: no other edge gives way either."""
    data = yaml.safe_load(PROP)
    data["bodies"]["arm"]["parts"] = [{"lump": "3 kg", "at": place}]
    data["stand"] |= {k: v for k, v in (("ballast_at", at), ("ballast", ballast)) if v is not None}
    data["wind"] = {"speed": "13 m/s", "area": "0.2 m^2", "at": "0 0 900 mm"}
    assert _tried(data, "stand", _stand, None, "tipping") >= 3
    assert _tried(data, "stand", _stand, None, "sliding")
