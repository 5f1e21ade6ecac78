"""Comparisons: labels of what differs, figures side by side, one camera and time base."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import imageio.v3 as iio
import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.commands.compare import Variant, _one, _settled, _told, variants
from simprop.engine.world import Trajectory
from simprop.errors import RenderError, RigError
from simprop.loads.cycles import cycle_rate
from simprop.loads.joints import all_peaks
from simprop.picture.clip.compare import Pane, films, layout, render_comparison
from simprop.picture.render.film import Shot
from simprop.picture.render.watch import travels
from simprop.report.comparison import labels
from simprop.report.figures import change, number
from simprop.rig.load import load_rig
from tests.bending.rigs import mast
from tests.picture.props import CRANK, motion


def test_labels_name_what_differs() -> None:
    supply, throw = "motors.drive.supply", "params.throw"
    names = ["Peeper"] * 3
    assert labels([{supply: "5 V"}, {supply: "9 V"}, {supply: "12 V"}], names) == [
        "supply 5 V",
        "supply 9 V",
        "supply 12 V",
    ]
    both = [{supply: "5 V", throw: "50 mm"}, {supply: "5 V", throw: "60 mm"}]
    assert labels(both, names[:2]) == ["throw 50 mm", "throw 60 mm"]
    assert labels([{}, {}], ["Peeper", "Owl"]) == ["Peeper", "Owl"]
    assert labels([{}, {}], ["Peeper", "Peeper"]) == ["as drawn (1)", "as drawn (2)"]


def test_labels_tell_equal_last_words_apart() -> None:
    one, two = "motors.left.supply", "motors.right.supply"
    made = labels([{one: "5 V", two: "5 V"}, {one: "9 V", two: "12 V"}], ["x", "x"])
    assert made == ["left supply 5 V, right supply 5 V", "left supply 9 V, right supply 12 V"]


@pytest.mark.parametrize("rate", [7.5, 30.0, 61.0, -45.0])
def test_cycle_rate_of_a_steady_turn(rate: float) -> None:
    time = np.linspace(0, 16, 8001)
    assert cycle_rate(2 * np.pi * rate / 60 * time, time, True) == pytest.approx(abs(rate), rel=1e-6)


def test_cycle_rate_leaves_out_the_first_turn() -> None:
    """Runs up over 1 s to one turn a second: the first, slower turn doesn't count."""
    time = np.linspace(0, 6, 6001)
    turns = np.where(time < 1, time**2 / 2, time - 0.5)
    assert cycle_rate(2 * np.pi * turns, time, True) == pytest.approx(60.0, rel=1e-3)


@pytest.mark.parametrize("ripple", [0.0, 0.1])
def test_cycle_rate_to_and_fro(ripple: float) -> None:
    time = np.linspace(0, 10, 10001)
    swing = np.sin(2 * np.pi * 0.7 * time) + ripple * np.sin(2 * np.pi * 13 * time)
    assert cycle_rate(swing, time, True) == pytest.approx(42.0, rel=0.01)


def test_cycle_rate_not_computed() -> None:
    time = np.linspace(0, 1, 101)
    assert cycle_rate(0.5 * time, time, True) is None
    assert cycle_rate(0 * time, time, True) is None


def test_travel_of_the_crank_pin_is_twice_its_throw(peeper: Assembly, run: Trajectory) -> None:
    x, y, z = travels(peeper, run, ["crankpin"])["crankpin"]
    assert (x, y, z) == pytest.approx((2 * CRANK, 0.0, 2 * CRANK), abs=1e-5)


def test_table_never_says_zero_for_not_computed() -> None:
    assert [number(v) for v in (None, 0.0, 12.0)] == ["not computed", "0", "12.0"]
    assert change(None, 12.0) == change(0.0, 12.0) == ""


def test_one_camera_one_light_one_time_base(peeper: Assembly) -> None:
    slow, fast = motion(peeper, 1.0, turns=1.0), motion(peeper, 0.6, turns=2.0)
    made = films([Pane("slow", peeper, slow), Pane("fast", peeper, fast)], Shot(size=(320, 240)))
    assert made[0].camera(0) is made[1].camera(0)
    assert made[0].lighting is made[1].lighting
    assert made[0].poses.time.tolist() == made[1].poses.time.tolist()
    assert made[0].count == 26
    assert made[1].poses.shift[-1] == pytest.approx(fast.position[-1])


def test_panes_differ_in_rate(peeper: Assembly, tmp_path: Path) -> None:
    """The head of the pane that turns twice as fast passes its lowest place twice as often."""
    panes = [
        Pane("slow", peeper, motion(peeper, 2.0, turns=1.0)),
        Pane("fast", peeper, motion(peeper, 2.0, turns=2.0)),
    ]
    made = render_comparison(panes, tmp_path, size=(240, 240), with_gif=False)
    frames = iio.imread(made.mp4, plugin="FFMPEG").astype(float)
    assert frames.shape[1:] == (240, 484, 3)
    rates = []
    for left in (0, 244):
        pane = frames[:, :200, left : left + 240]
        away = np.abs(pane - pane[12 if left else 25]).mean(axis=(1, 2, 3))
        low = away < 0.35 * away.max()
        rates.append(int((np.diff(low.astype(int)) == 1).sum()) + int(low[0]))
    assert rates[1] == 2 * rates[0]


@pytest.mark.parametrize("count", [0, 10])
def test_one_to_nine_panes(peeper: Assembly, run: Trajectory, tmp_path: Path, count: int) -> None:
    with pytest.raises(RenderError, match="allowed: 1 to 9"):
        render_comparison([Pane("x", peeper, run)] * count, tmp_path)
    assert layout(3) == (1, 3, (420, 480))


def test_no_following_camera(peeper: Assembly, run: Trajectory) -> None:
    with pytest.raises(RenderError, match="one camera for all panes"):
        films([Pane("x", peeper, run)] * 2, Shot(view="follow"))


def test_titles_are_the_rigs_names_with_what_differs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of the files themselves only where two of them hold rigs of one name."""
    import simprop.picture.clip.compare as drawn
    from simprop.commands.compare import compare_rigs

    rigs = Path(__file__).parent.parent.parent / "rigs"
    other = tmp_path / "copy_of_it.yaml"
    other.write_text((rigs / "sway_head.yaml").read_text())
    said: list[list[str]] = []
    monkeypatch.setattr(
        drawn, "render_comparison", lambda panes, *_, **__: said.append([p.label for p in panes])
    )
    monkeypatch.setattr(drawn, "overlaid", lambda *_: tmp_path)
    short = [("run.for", "0.2 s")]
    compare_rigs([rigs / "sway_head.yaml"], [*short, ("run.for", "0.3 s")], None, tmp_path / "one")
    compare_rigs([rigs / "sway_head.yaml", other], short, None, tmp_path / "two")
    compare_rigs([rigs / "sway_head.yaml", rigs / "well_lid.yaml"], short, None, tmp_path / "three")
    assert said == [
        ["Sway head, for 0.2 s", "Sway head, for 0.3 s"],
        ["Sway head (sway_head)", "Sway head (copy_of_it)"],
        ["Sway head", "Well lid"],
    ]
    capsys.readouterr()


def test_one_step_is_one_run_without_bands() -> None:
    path = Path(__file__).parent.parent.parent / "rigs" / "sway_head.yaml"
    bands = [
        {
            p.band is None
            for p in all_peaks(_one(Variant(path, {"run.for": "0.1 s"}, settle=s), None, False).loads)
        }
        for s in (True, False)
    ]
    assert bands == [{False}, {True}]


def test_each_run_twice_rigid_and_bending() -> None:
    """`--bend` makes two of each; what bends by the rig's word or by ``run.bend`` is told the same way."""
    two = variants([Path("a.yaml")], [("run.for", "1 s")], bend=True)
    assert [(v.sets, v.bend) for v in two] == [({"run.for": "1 s"}, False), ({"run.for": "1 s"}, True)]
    with pytest.raises(RigError, match="can't be compared"):
        variants([Path("a.yaml")], [("throw", "5 mm"), ("throw", "6 mm"), ("throw", "7 mm")], bend=True)
    stiff, soft = (SimpleNamespace(assembly=SimpleNamespace(members=m)) for m in ((), (1,)))
    asked = [
        Variant(Path("a.yaml"), s)
        for s in ({"bodies.mast.bends": "false", "throw": "5 mm"}, {"throw": "5 mm"})
    ]
    assert labels(_told(asked, [stiff, soft]), ["A", "A"]) == ["rigid", "bending"]
    assert _told(asked, [soft, soft]) == [v.sets for v in asked]


def test_rigid_is_rigid_whatever_the_rig_says(tmp_path: Path) -> None:
    """A body or a part that bends by itself is made rigid too; the other stays as the rig has it."""
    for bends in ("    bends: {pieces: 4}\n    parts:", "    parts:"):
        text = mast(0.3).replace("    bends: true\n    parts:", bends)
        if "pieces" not in bends:
            text = text.replace("mm, of: PVC}, from", "mm, of: PVC}, bends: true, from")
        (tmp_path / "mast.yaml").write_text(text)
        rigid, bending = (_settled(v) for v in variants([tmp_path / "mast.yaml"], [], bend=True))
        assert not assemble(load_rig(rigid.path, rigid.sets)).members
        assert bending.sets == {}
        assert assemble(load_rig(bending.path, bending.sets)).members
