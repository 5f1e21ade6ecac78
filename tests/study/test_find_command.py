"""The command that searches: what it prints, what it writes, how it ends."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

import simprop
from simprop.cli import app
from simprop.commands import find as command
from simprop.study.ask.measure import asked_of
from simprop.study.find.written import written_variant
from simprop.study.types import Study, Variant

ROOT = Path(__file__).parents[2]
ARM = """# the arm over the orchard gate
rig: 1
name: Gate arm
params:
  long: 200 mm      # from the hook
  heavy: 1 kg
points: {end: [long, 0 mm, 0 mm]}
bodies: {post: {fixed: true}, arm: {parts: [{lump: heavy, at: end, looks: lantern}]}}
joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
run: {for: 0.3 s, step: 5 ms}
watch: [end]
"""


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "arm.yaml"
    path.write_text(ARM)
    return path


def told(words: str) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["find", "arm.yaml", "--processes", "1", *shlex.split(words)])
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.exit_code, done.output


def test_the_line_of_the_readme_finds_the_throw(tmp_path: Path) -> None:
    """The rig that it writes is run as any other, and its neck rises and sinks by what was wanted."""
    text = re.findall(r"<!-- find -->\n```sh\n(.*?)```", (ROOT / "README.md").read_text(), flags=re.S)[0]
    words = [word.replace("rigs/", f"{ROOT}/rigs/") for word in shlex.split(text)[1:]]
    extra = [
        "--set",
        "run.for=2 s",
        "--out",
        f"{tmp_path}",
        "--store",
        f"{tmp_path}/store",
        "--processes",
        "1",
    ]
    done = CliRunner().invoke(app, [*words, *extra])
    assert done.exit_code == 0, done.output
    assert "Found: throw" in done.output
    assert all(len(line) <= 80 for line in done.output.splitlines())
    found = simprop.load_rig(tmp_path / "wall_peeper.found.yaml")
    travel = asked_of(simprop.simulate(found, settle=False), "travel(neck, z)")
    assert travel.to("mm").magnitude == pytest.approx(120, rel=1e-3)  # type: ignore[union-attr]
    assert found.params["throw"].to("mm").magnitude == pytest.approx(
        60, rel=1e-3
    )  # of a crank on its axis: 2 throws
    assert "# crank arm, hole to hole" in (tmp_path / "wall_peeper.found.yaml").read_text()
    assert (tmp_path / "found.png").stat().st_size > 10_000


def test_the_rig_that_is_written_keeps_its_comments(rig: Path) -> None:
    code, out = told('--want "most(end, x) = 321 mm" --by long=100..400mm --settle none')
    assert code == 0, out
    text = Path("renders/arm/find/arm.found.yaml").read_text()
    assert text == ARM.replace("200 mm", "321 mm")
    data = json.loads(Path("renders/arm/find/found.json").read_text())
    assert data["search"]["found"] is True
    again = told('--want "most(end, x) = 321 mm" --by long=100..400mm --settle none --write mine/arm.yaml')
    assert again[0] == 0
    assert Path("mine/arm.yaml").read_text() == text


def test_a_want_that_can_t_be_met_is_told_with_the_nearest(rig: Path) -> None:
    code, out = told('--want "most(end, x) = 600 mm" --by long=100..400mm --settle none --tries 24')
    assert code == 1
    out = " ".join(out.split())
    assert "No variant does all of it. The nearest, long 400 mm, misses: most(end, x) = 600 mm" in out
    assert "long stands at the end of its range, 400 mm: widen it" in out
    assert "No rig was written" in out
    assert not Path("renders/arm/find/arm.found.yaml").exists()


def test_several_aims_give_those_that_no_other_beats(rig: Path) -> None:
    words = (
        '--least "peak(hook)" --most "most(end, x)" --by long=100..400mm --by heavy=0.5..2kg --settle none'
    )
    code, out = told(f"{words} --tries 32")
    assert code == 0, out
    assert "can't be beaten in one aim without losing in another" in " ".join(out.split())
    assert Path("renders/arm/find/front.png").stat().st_size > 10_000
    text = Path("renders/arm/find/arm.found.yaml").read_text()
    assert "heavy: 0.5 kg" in text  # the lighter, the less the hook bears, at any length


def test_stopped_it_tells_the_best_so_far(rig: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real, count = command.runs, iter(range(1000))

    def until_stopped(*given: object) -> object:
        from contextlib import contextmanager

        @contextmanager
        def opened() -> object:  # type: ignore[misc]
            with real(*given) as run:  # type: ignore[arg-type]

                def some(*words: object) -> object:
                    for outcome in run(*words):  # type: ignore[arg-type]
                        if next(count) == 12:
                            raise KeyboardInterrupt
                        yield outcome

                yield some

        return opened()

    monkeypatch.setattr(command, "runs", until_stopped)
    code, out = told('--want "most(end, x) = 321 mm" --by long=100..400mm')
    assert code == 130
    assert "Stopped before its end" in out
    assert not Path("renders/arm/find/arm.found.yaml").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ('--want "most(end, x) = 1 kg" --by long=100..400mm', "kilogram is not a unit of what it answers"),
        ('--want "most(end, x) = 1 m" --by long=100..400', "the range has no unit"),
        ('--want "most(end, x) = 1 m" --by long=400..100mm', "the range is empty"),
        ('--want "msot(end, x) = 1 m" --by long=100..400mm', "did you mean 'most'?"),
        ('--keep "mass < 3 kg"', "nothing may change"),
        ("--by long=100..400mm", "nothing is wanted"),
        ('--keep "mass < 3 kg" --by long=100..400mm --write arm.yaml', "is the rig itself"),
    ],
)
def test_bad_input_is_one_line(rig: Path, words: str, said: str) -> None:
    with pytest.raises(simprop.RigError) as caught:
        told(words)
    assert said in str(caught.value)
    assert not Path("renders").exists()
    assert rig.read_text() == ARM


def test_values_that_yaml_would_read_otherwise_are_put_in_quotes() -> None:
    study = Study("a: {supply: 12 V 5 A}  # box\nb: [1, 2]\n", "")
    text = written_variant(study, Variant((("a.supply", "9 V, 5 A"), ("b.1", "7"))))
    assert text == 'a: {supply: "9 V, 5 A"}  # box\nb: [1, 7]\n'
