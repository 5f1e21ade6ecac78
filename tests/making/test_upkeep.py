"""What bears most, how it is looked after, and what can hurt somebody: for the rigs that come along."""

import pytest

from simprop.checking.setting import LIFE_FACTOR
from simprop.fasteners.base import FASTENERS, Care, Fastener
from simprop.making.hazards import FIRE, HEIGHT, hazards
from simprop.making.numbers import part_numbers
from simprop.making.upkeep import ALONG, bearing_most, lasts, looks, members
from simprop.report.bears import percent, upkeep
from simprop.report.structure import Report
from simprop.report.writers import markdown
from tests.making.shipped import ran

QUICK = [
    "barn_owl",
    "breathing_bale",
    "cask_hoist",
    "cider_press",
    "fence_owl",
    "gate_ghost",
    "gate_ghost_too_light",
]
QUICK += [
    "sway_head",
    "three_head",
    "twitch_crow",
    "wall_peeper",
    "well_ghost",
    "well_lid",
]  # others take long


@pytest.mark.parametrize("name", QUICK)
def test_the_ranking_is_that_of_strength(name):
    run = ran(name)
    rows = bearing_most(run)
    joints = [j.name for k, j in enumerate(run.assembly.joints) if k not in run.assembly.seams]
    assert sorted(r.joint for r in rows) == sorted(joints)
    ranked = []
    for check in run.strength.ranking:  # the worst margin first
        place = check.place.split(",")[0]
        of_joint = check.group == "fastener" or (check.group == "fatigue" and not check.place.endswith(ALONG))
        if place in joints and of_joint and place not in ranked:
            ranked.append(place)
    assert [r.joint for r in rows if r.share is not None] == ranked
    for row in rows:
        peak = next(force for force, _ in run.loads.joints if force.name == row.joint)
        assert row.peak.value == peak.value
        if row.check is not None and row.check.demand is not None and row.check.capacity is not None:
            assert row.share == pytest.approx(row.check.demand * row.check.factor / row.check.capacity)
        else:
            assert row.why
    shares = [r.share for r in rows if r.share is not None]
    assert shares == sorted(shares, reverse=True)


def test_lives_are_those_of_strength_and_a_short_one_is_told():
    run = ran("gate_ghost", 3)  # more than a swing: what doesn't swing never tires
    rows = {r.joint: r for r in bearing_most(run)}
    lives = [c for c in run.strength.checks if c.group == "fatigue" and c.place == "pivot, 5/16-18 bolt"]
    assert rows["pivot"].life == lives[0].capacity
    assert rows["pivot"].replace_after == pytest.approx(lives[0].capacity / LIFE_FACTOR)
    assert lasts(rows["pivot"], 20) is True
    assert lasts(rows["pivot"], rows["pivot"].replace_after * 1.01) is False
    assert lasts(rows["shaft"], 20) is None  # no life is computed for its pins
    assert looks(run) == (2, 8, 15)


def test_each_sort_of_fastener_says_how_it_is_looked_after():
    plain = Fastener.CARE
    for kind in FASTENERS:
        care = kind.CARE
        assert isinstance(care, Care)
        assert care is not plain
        assert all((care.watch, care.tighten, care.replace))


@pytest.mark.parametrize("name", ["wall_peeper", "gate_ghost", "cider_press"])
def test_members_are_told_by_their_number(name):
    run = ran(name)
    found = members(run.assembly)
    for check in run.strength.checks:
        if check.group == "member" and not check.place.startswith("cord"):
            assert check.place.split(", ")[0] in found
    numbers = part_numbers(run.assembly)
    assert set(found.values()) <= set(numbers.of)
    text = markdown(Report("", [upkeep(run)]))
    worst = next(c for c in run.strength.ranking if c.group == "member")
    number = numbers.of[found[worst.place.split(", ")[0]]]
    assert f"**{number} ({numbers.parts[number - 1].name})" in text
    assert percent(1 / worst.margin) in text


@pytest.mark.parametrize("name", QUICK)
def test_every_caution_is_told_once_under_its_sort(name):
    run = ran(name)
    found = hazards(run)
    told = [text for h in found for text in h.told]
    for text in run.cautions:
        assert told.count(text) == 1
    assert len({h.sort for h in found}) == len(found)
    sorts = {h.sort for h in found}
    drives = [d.figures for d in (*run.rig.motors.values(), *run.rig.pushers.values())]
    assert ("Mains outdoors" in sorts) == any(d.mains for d in drives)
    assert ("Compressed air" in sorts) == any(d.air is not None for d in drives)


def test_heights_and_fire_only_where_there_are():
    def told(name):
        return [text for h in hazards(ran(name)) for text in h.told]

    assert HEIGHT in told("cask_hoist")  # its beam lies at 2.1 m
    assert HEIGHT not in told("barn_owl")
    assert any(FIRE in text and "straw" in text for text in told("breathing_bale"))
    assert not any(FIRE in text for text in told("barn_owl"))
