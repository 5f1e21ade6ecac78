"""The cue sheet in the notes: every cue stands in it, the controller's outputs are those of the wiring."""

import pytest

from simprop.making.wiring import wiring
from simprop.report.cues import cue_sheet
from simprop.report.structure import Items, Report, Table
from simprop.report.writers import markdown
from simprop.sizing.cue_sheet import cue_rows
from tests.making.shipped import ran

LONG = {"barn_owl": 8, "cider_press": 7, "well_ghost": 13, "twitch_crow": 3.2, "three_head": 5.8}


@pytest.mark.parametrize("name", LONG)
def test_every_cue_stands_in_the_sheet(name):
    run = ran(name, LONG[name])
    section = cue_sheet(run)
    (table,) = [b for b in section.blocks if isinstance(b, Table)]
    rows = cue_rows(run.laws.script)
    assert [row[0] for row in table.rows] == [f"{r.time:.2f} s" for r in rows]
    assert [row[2] for row in table.rows] == [r.output or "-" for r in rows]
    text = markdown(Report("", [section]))
    for k, output in enumerate(wiring(run).controller.outputs, 1):
        assert text.count(f"output {k}, {output}: ") == 1


def test_an_interlock_a_trigger_and_rests_are_told():
    press = markdown(Report("", [cue_sheet(ran("cider_press", 7))]))
    assert "ram only while turn is off" in press
    assert "at least 53 s between" in press  # 60 runs of 7 s an hour
    assert "2.8 s at the longest, 40 % of the time" in press  # on from 0.2 to 3 s of 7
    owl = markdown(Report("", [cue_sheet(ran("barn_owl", 8))]))
    assert "started by motion sensor" in owl
    assert "a crowd starts it again" in owl


def test_heat_is_that_of_the_sizes():
    run = ran("well_ghost", 13)
    (size,) = run.sizes(3.0, 20.0)  # its season's hours
    section = cue_sheet(run)
    told = [item for b in section.blocks if isinstance(b, Items) for item in b.items]
    assert any(f"{size.heat.ambient + size.heat.evening.winding:.0f} degC of" in str(item) for item in told)


def test_what_has_no_cues_says_so():
    blocks = cue_sheet(ran("wall_peeper")).blocks
    assert "No cues: it runs as long as it has power." in blocks
