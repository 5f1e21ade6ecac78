"""A new check of strength is one function and one registration; one that is written and not registered is found."""

import importlib
import inspect
import json
import pkgutil
import re
import typing
from pathlib import Path

import numpy as np
import pytest

import simprop.strength.checks as room
from simprop.checking.check import Check, judge, suggest
from simprop.loads.joints import JointLoads
from simprop.report.strength import STRENGTH
from simprop.report.writers import as_json, markdown, plain
from simprop.rig.load import load_rig, parse_rig
from simprop.run.simulate import simulate
from simprop.strength.checks.member import MEMBER_CHECKS, MemberCase
from simprop.strength.checks.reach import REACH_CHECKS, ReachCase
from simprop.strength.checks.run import RUN_CHECKS
from simprop.strength.checks.stand import STAND_CHECKS, StandCase

RIG = """
rig: 1
name: weather vane
bodies:
  post: {fixed: true, parts: [{block: 400 x 400 x 20 mm, of: pine, at: 0 0 10 mm}]}
  vane: {parts: [{rod: 6 mm, of: steel, from: 0 0 900 mm, to: 0 0 320 mm, name: spindle}]}
joints: {hook: {pin: [post, vane], at: 0 0 900 mm, axis: y}}
run: {for: 0.1 s}
"""
SORTS = {
    MemberCase: MEMBER_CHECKS,
    StandCase: STAND_CHECKS,
    ReachCase: REACH_CHECKS,
    JointLoads: RUN_CHECKS,
}


def slenderness(case: MemberCase) -> list[Check]:
    """Length over radius of gyration, at most 200: preferred for columns, AISC 360 chapter E, from memory."""
    section = case.section
    ratio = case.governing.column / np.sqrt(min(section.inertia_u, section.inertia_v) / section.area)
    return [judge("member", "slenderness", case.place, ratio, 200.0, unit="", factor=1.0, source="AISC 360")]


def lightness(loads: JointLoads) -> list[Check]:
    mass = sum(b.mass for b in loads.recording.assembly.bodies if not b.fixed)
    return [judge("stability", "hand luggage", "prop", mass, 0.05, unit="kg", factor=1.0, source="assumed")]


@pytest.fixture
def added():
    MEMBER_CHECKS.add(slenderness)
    RUN_CHECKS.add(lightness)
    yield
    MEMBER_CHECKS.remove(slenderness)
    RUN_CHECKS.remove(lightness)


@pytest.mark.usefixtures("added")
def test_a_new_check_is_in_every_report_with_what_to_change():
    """A round rod's radius of gyration is d / 4: 580 mm of 6 mm have 386.7, of 12 mm 193.3."""
    run = simulate(parse_rig(RIG), settle=False)
    report = run.strength
    check = next(c for c in report.checks if c.name == "slenderness")
    assert check.demand == pytest.approx(4 * 580 / 6)
    assert check.verdict == "fail"
    assert suggest(check).change == "12 mm rod"
    assert suggest(check).margin == pytest.approx(200 / (4 * 580 / 12))
    heavy = next(c for c in report.checks if c.name == "hand luggage")
    assert heavy.demand == pytest.approx(np.pi / 4 * 0.006**2 * 0.58 * 7850, rel=0.01)
    written = STRENGTH.of(run)
    text, page = plain(written), markdown(written)
    for name in ("slenderness", "hand luggage"):
        assert re.search(rf"^ *\d\.\d\d  fail .* {name}", text, flags=re.M)
        assert f"| {name} |" in page
        assert [c["verdict"] for c in json.loads(as_json(written))["checks"] if c["name"] == name] == ["fail"]
    assert "change: 12 mm rod" in text


def test_without_it_no_word_of_it():
    report = simulate(load_rig(Path("rigs/wall_peeper.yaml"), {"run.for": "0.1 s"}), settle=False).strength
    assert not {"slenderness", "hand luggage"} & {c.name for c in report.checks}


def test_no_check_is_written_and_forgotten():
    """Every function of the room that makes checks of a case of some sort is asked by the report."""
    found = []
    for info in pkgutil.iter_modules(room.__path__, room.__name__ + "."):
        module = importlib.import_module(info.name)
        for name, function in inspect.getmembers(module, inspect.isfunction):
            hints = typing.get_type_hints(function)
            if function.__module__ == info.name and hints.get("return") == list[Check]:
                case = next(iter(hints.values()))
                if case in SORTS:
                    found.append(name)
                    assert function in SORTS[case], f"{info.name}.{name} is in no report"
    assert {"buckling", "tipping", "pressing_force", "fasteners"} <= set(found)
