"""Each part that is built has one number; what is alike shares one."""

from __future__ import annotations

from pathlib import Path

import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.making.numbers import part_called, part_numbers
from simprop.parts.kinds import Borne
from simprop.rig.load import load_rig

RIGS = sorted((Path(__file__).parent.parent.parent / "rigs").glob("*.yaml"))


@pytest.fixture(scope="module", params=RIGS, ids=lambda p: p.stem)
def assembly(request: pytest.FixtureRequest) -> Assembly:
    return assemble(load_rig(request.param))


def test_every_part_that_is_built_has_a_number(assembly: Assembly) -> None:
    numbers = part_numbers(assembly)
    built = {
        (name, i)
        for name, body in assembly.rig.bodies.items()
        if not body.scenery
        for i, part in enumerate(body.parts)
        if not isinstance(part, Borne)
    }
    assert set(numbers.of) == built
    assert sorted(p for part in numbers.parts for p in part.places) == sorted(built)
    assert [part.number for part in numbers.parts] == [*range(1, len(numbers.parts) + 1)]


def test_what_shares_a_number_weighs_the_same(assembly: Assembly) -> None:
    for part in part_numbers(assembly).parts:
        masses = [piece.shape.mass for piece in part.pieces]
        assert masses == pytest.approx([masses[0]] * len(masses), rel=5e-3), part.name


def test_names() -> None:
    numbers = part_numbers(assemble(load_rig(RIGS[[p.stem for p in RIGS].index("flap_owl")])))
    assert part_called(numbers, "slide", 0) == "11 (slide rod)"
    assert numbers.of["wing_left", 0] == numbers.of["wing_right", 0]
    assert part_called(numbers, "wing_right", 1) == "15 (sheet of wing left and wing right)"
