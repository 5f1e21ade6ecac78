"""What is wanted of answers is read as written, and refused where it can't be meant."""

from __future__ import annotations

from math import radians

import pytest

from simprop.errors import RigError
from simprop.study.types import Limit
from simprop.study.vary.limits import asks_of, bounds_of, limits_of


@pytest.mark.parametrize(
    ("text", "ask", "least", "most"),
    [
        ("strength > 1", "strength", 1.0, None),
        (
            "mass <= 12 oz",
            "mass",
            None,
            12 * 0.45359237 / 16,
        ),  # a pound is 0.45359237 kg (NIST SP 811, appendix B)
        ("travel(neck, z) = 120 mm", "travel(neck, z)", 0.1188, 0.1212),
        ("travel(neck, z) = 12 cm within 2 mm", "travel(neck, z)", 0.118, 0.122),
        ("travel(neck, z) = 1 in within 2 %", "travel(neck, z)", 0.0254 * 0.98, 0.0254 * 1.02),
        ("swing(arm) from 70 deg to 80 deg", "swing(arm)", radians(70), radians(80)),
        ("heat(drive) < 90 degC", "heat(drive)", None, 363.15),
        ("heat(drive) = 60 degC within 5 degC", "heat(drive)", 328.15, 338.15),
        ("least(neck, z) >= -30 mm", "least(neck, z)", -0.03, None),
        ("peak(wrist) / 2 < 3 N", "peak(wrist) / 2", None, 3.0),
    ],
)
def test_what_is_wanted_is_read_in_the_si(
    text: str, ask: str, least: float | None, most: float | None
) -> None:
    (found,) = bounds_of([text])
    assert found.ask == ask
    assert found.least == (None if least is None else pytest.approx(least, rel=1e-9))
    assert found.most == (None if most is None else pytest.approx(most, rel=1e-9))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("travel(neck, z) = 3 kg", "kilogram is not a unit of what it answers (got '3 kg'; allowed: 12 mm"),
        ("travle(neck, z) > 3 mm", "did you mean 'travel'?"),
        ("travel(neck) > 3 mm", "travel(point, axis) takes 2, not 1"),
        ("mass < 3", "a unit is wanted (got '3'; allowed: 0.25 kg"),
        ("transmission(rod, wrist) < 70", "a unit is wanted (got '70'; allowed: 45 deg"),
        ("strength > 45 deg", "a plain number is wanted"),
        ("strength > 1 to 2", "'to' is not a unit"),
        ("travel(neck, z) + mass > 2 m", "units don't go together"),
        ("swing(arm) from 80 deg to 70 deg", "the lower value stands first"),
        ("travel(neck, z) = 0 mm", "say how near to that"),
        ("strength", "not a limit"),
        ("3 > 2", "no measure is asked for"),
    ],
)
def test_what_can_t_be_meant_is_refused_in_one_line(text: str, told: str) -> None:
    with pytest.raises(RigError) as caught:
        bounds_of([text], option="--want")
    (fault,) = caught.value.faults
    assert str(fault).startswith("--want: ")
    assert told in str(fault)


def test_a_question_that_several_ask_is_asked_once() -> None:
    bounds = bounds_of(["mass < 3 kg", "strength > 1", "mass > 1 kg"])
    asks, limits = limits_of(bounds, asks_of(["travel(neck, z)"]))
    assert asks == ("travel(neck, z)", "mass", "strength")
    assert limits == (Limit(1, None, 3.0), Limit(2, 1.0), Limit(1, 1.0))
