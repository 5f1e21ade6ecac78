"""What a build costs beside another: more of the same costs more, and nothing that is bought is without a row."""

from __future__ import annotations

from itertools import pairwise
from math import isfinite

import pytest

import simprop
from simprop.assembly.assemble import assemble
from simprop.catalog.costs import cost_of, stock_cost
from simprop.catalog.load import material, table
from simprop.catalog.motors import motors
from simprop.drives.base import MOTORS, PUSHERS
from simprop.fasteners.base import FASTENERS
from simprop.pulls.kinds import PULLS
from simprop.study.ask.cost import GROUPS
from simprop.study.ask.measure import asked_of
from simprop.study.trial.swept import still
from simprop.study.trial.tried import tried
from simprop.study.types import Study, Variant


def cost(text: str, **sets: str) -> float:
    rig = simprop.load_rig("rigs/wall_peeper.yaml", {key.replace("__", "."): v for key, v in sets.items()})
    found = asked_of(still(assemble(rig)), text)
    assert isinstance(found, float)
    return found


def test_by_hand() -> None:
    """One wiper motor (15 N*m x 45 rpm / 4 = 17.7 W), 60 W of supply, a set screw and two 1/4 in bolts, and stock by
    weight."""
    assert cost("cost(drives)") == 32.0
    assert cost("cost(supplies)") == 32.0
    assert cost("cost(fasteners)") == 3.0
    stand = assemble(simprop.load_rig("rigs/wall_peeper.yaml"))
    shapes = [
        s for b in stand.drawn if not b.scenery for s in b.shapes if s.looks in ("plain", "post", "board")
    ]
    by = {name: sum(s.mass for s in shapes if s.material == name) for name in ("PVC", "pine", "A36", "steel")}
    expected = 8 * by["PVC"] + 2 * by["pine"] + 4 * (by["A36"] + by["steel"])
    assert cost("cost(stock)") == pytest.approx(expected, rel=1e-9)
    assert cost("cost()") == pytest.approx(67.0 + expected)


def test_smaller_costs_less_and_larger_more() -> None:
    assert cost("cost", motors__drive__motor="vent actuator") < cost("cost")
    assert (
        cost("cost", motors__drive__supply="12 V 2 A")
        < cost("cost")
        < cost("cost", motors__drive__supply="12 V 20 A")
    )
    assert cost("cost", joints__wrist__held_by="{bolt: M8}") == cost("cost") + 1.0
    assert (
        cost("cost", bodies__mast__parts__0__pipe="2 in PVC") > cost("cost") + 2.0
    )  # 0.4 m of 1.07 for 0.25 kg/m


def test_everything_bought_has_a_row() -> None:
    for kind in FASTENERS.names:
        assert isfinite(cost_of(f"fastener {kind}", diameter=0.006)), kind
    for sort, kinds in (("motor", MOTORS), ("pusher", PUSHERS)):
        for kind in kinds.names:
            assert isfinite(cost_of(f"{sort} {kind}", power=5.0, torque=1.0, force=100.0)), kind
    for kind in PULLS.names:
        assert isfinite(cost_of(f"pull {kind}")), kind
    for name in table("materials"):
        assert stock_cost(material(name).name) > 0
    assert len(motors()) > 20
    rows = set(table("costs"))
    known = {
        f"{s} {k}"
        for s, ks in (("motor", MOTORS), ("pusher", PUSHERS), ("pull", PULLS), ("fastener", FASTENERS))
        for k in ks.names
    }
    assert {row for row in rows if row.split()[0] in ("motor", "pusher", "pull", "fastener")} == known


def test_steps_rise_with_size() -> None:
    for name, row in table("costs").items():
        if "up_to" in row:
            steps = [*row["up_to"].values(), row["beyond"]]
            assert all(2 * a == b for a, b in pairwise(steps)), name


def test_it_needs_no_run() -> None:
    study = Study(
        simprop.load_rig("rigs/wall_peeper.yaml").source.text, "rigs/wall_peeper.yaml", asks=("cost", "mass")
    )
    found = tried(study, Variant(), "still")
    assert [a is not None for a in found.answers] == [True, True], found.unknown
    assert set(GROUPS) == {"drives", "supplies", "springs", "gears", "fasteners", "stock"}
