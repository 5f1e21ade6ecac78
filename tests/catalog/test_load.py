"""The catalogue's materials and pipes."""

import math

import pytest

from simprop.catalog.load import find, material, pipe, table
from simprop.catalog.stock import stock_length
from simprop.errors import UnknownNameError


@pytest.mark.parametrize("name", list(table("materials")))
def test_every_material_loads_with_a_source(name):
    row = material(name)
    assert 5 < row.density < 12000
    assert row.source
    assert all(field in table("materials")[name] for field in row.assumed)


def test_no_alias_means_two_materials():
    rows = table("materials")
    seen = {}
    for key, row in rows.items():
        for spelling in (key, *row.get("aliases", ())):
            assert seen.setdefault(str(spelling).casefold(), key) == key


@pytest.mark.parametrize(
    ("alias", "key"), [("STEEL", "A36"), ("aluminum", "6063-T5"), ("upvc", "PVC"), ("2x4", "spruce-pine-fir")]
)
def test_aliases(alias, key):
    assert material(alias).name == key


def test_unknown_material_names_the_nearest():
    with pytest.raises(UnknownNameError) as caught:
        material("plywod")
    assert caught.value.nearest == "plywood"
    assert "oak" in caught.value.allowed


@pytest.mark.parametrize(
    ("size", "outside_mm", "wall_mm", "kg_m"),
    # ASTM D1785 outside diameter and least wall; mass of the average wall at 1.40 g/cm3, recomputed
    [
        ("1/2 in PVC", 21.336, 2.769, 0.243),
        ("3/4 in PVC", 26.67, 2.870, 0.324),
        ("1 in PVC", 33.401, 3.378, 0.476),
        ("1-1/4 in PVC", 42.164, 3.556, 0.643),
        ("1-1/2 in PVC", 48.26, 3.683, 0.767),
        ("2 in PVC", 60.325, 3.912, 1.03),
    ],
)
def test_schedule_40(size, outside_mm, wall_mm, kg_m):
    p = pipe(size)
    assert p.outside * 1e3 == pytest.approx(outside_mm, abs=2e-3)
    assert p.wall * 1e3 == pytest.approx(wall_mm, abs=1e-3)
    mass = math.pi * (p.outside - p.average_wall) * p.average_wall * material(p.material).density
    assert mass == pytest.approx(kg_m, rel=5e-3)


def test_pipe_spellings_and_unknown_size():
    assert pipe('1/2" Schedule 40 PVC pipe') == pipe("1/2 in PVC")
    with pytest.raises(UnknownNameError) as caught:
        pipe("5/8 in PVC")
    assert caught.value.nearest is not None


def test_unknown_file():
    with pytest.raises(UnknownNameError):
        table("materialz")


def test_find_reads_underscores_as_spaces():
    assert find("x", "a_B", {"a b": {}}) == "a b"


@pytest.mark.parametrize("name", list(table("stock")))
def test_every_stock_is_sold_by_length_with_a_source(name):
    row = stock_length(name)
    assert 0.9 <= row.metric <= 6.0
    assert 0.9 <= row.inch <= 6.2
    assert 0.0 < row.kerf < 0.005
    assert "practice" in row.source or "memory" in row.source
