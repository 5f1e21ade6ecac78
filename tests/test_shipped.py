"""The rigs that come along, and a file of one's own that begins like one of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image
from typer.testing import CliRunner

from simprop.cli import app
from simprop.commands import gallery, shipped
from simprop.rig.load import load_rig

RIGS = Path(__file__).parent.parent / "rigs"


def said(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words), catch_exceptions=True)
    return result.exit_code, result.output + ("" if result.exception is None else str(result.exception))


def test_all_are_listed_with_what_they_do():
    code, text = said("rigs")
    assert code == 0
    for path in RIGS.glob("*.yaml"):
        assert path.stem in text
        assert load_rig(path).about.split()[0] in text


def test_they_are_found_where_an_installer_put_them(tmp_path, monkeypatch):
    """Without the folder beside the package, as after an installation from a wheel."""
    place = tmp_path / "share" / "rigs" / "some_prop.yaml"

    class Put:
        suffix, parent = ".yaml", place.parent

        def locate(self):
            return place

    monkeypatch.setattr(shipped.simprop, "__file__", str(tmp_path / "lib" / "simprop" / "__init__.py"))
    monkeypatch.setattr(shipped.metadata, "files", lambda name: [Put()])
    assert shipped.shipped() == {"some_prop": place}


def test_ones_own_begins_with_comments_and_sounds(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, text = said("new", "my_owl", "--like", "barn_owl")
    assert code == 0
    assert "simprop check my_owl.yaml" in " ".join(text.split())
    own, like = (tmp_path / "my_owl.yaml").read_text(), (RIGS / "barn_owl.yaml").read_text()
    assert own == like.replace("name: Barn owl", "name: My owl")
    assert (tmp_path / "sounds" / "hoot.wav").read_bytes() == (RIGS / "sounds" / "hoot.wav").read_bytes()
    rig = load_rig(tmp_path / "my_owl.yaml")
    rig.check_files()
    assert rig.name == "My owl"
    code, text = said("new", "my_owl")
    assert (code != 0, "is there already" in text) == (True, True)
    assert (tmp_path / "my_owl.yaml").read_text() == own


def test_like_a_file_of_ones_own_and_unknown_names(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert said("new", "first")[0] == 0
    assert said("new", "second.yaml", "--like", "first.yaml")[0] == 0
    assert load_rig("second.yaml").name == "Second"
    code, text = said("new", "third", "--like", "wall_peper")
    assert code != 0
    assert "did you mean 'wall_peeper'" in text
    assert not (tmp_path / "third.yaml").exists()


def test_the_sheet_has_a_picture_of_each(tmp_path, monkeypatch):
    monkeypatch.setattr(
        shipped, "shipped", lambda: {n: RIGS / f"{n}.yaml" for n in ("sway_head", "fence_owl")}
    )
    code, _ = said("rigs", "--draw", "--out", str(tmp_path))
    assert code == 0
    with Image.open(tmp_path / "rigs.png") as sheet:
        assert sheet.size == (3 * 320, 240)
        tiles = [sheet.crop((320 * k, 0, 320 * k + 320, 200)).convert("L").getextrema() for k in range(3)]
    assert tiles[0][1] - tiles[0][0] > 100
    assert tiles[1][1] - tiles[1][0] > 60
    assert tiles[2] == (0, 0)


def test_the_gallery_shows_each_in_motion_and_what_bears_most(tmp_path, monkeypatch):
    monkeypatch.setattr(
        shipped, "shipped", lambda: {n: RIGS / f"{n}.yaml" for n in ("talking_pumpkin", "two_head")}
    )
    monkeypatch.setattr(gallery, "shipped", shipped.shipped)
    page = tmp_path / "page" / "README.md"
    code, _ = said("rigs", "--gallery", str(page), "--out", str(tmp_path / "drawn"))
    assert code == 0
    text = page.read_text(encoding="utf-8")
    assert "[`talking_pumpkin`](" in text
    assert "../drawn/gallery/two_head.webp" in text
    assert "joint neck, 22.4 ±0.1 N" in text  # 2.3 kg of frame and head
    with Image.open(tmp_path / "drawn" / "gallery" / "two_head.webp") as film:
        assert film.n_frames > 30
        frames = [np.asarray(_frame(film, k).convert("L"), dtype=float) for k in (0, film.n_frames // 2)]
    assert np.abs(frames[0] - frames[1]).max() > 60
    assert max(p.stat().st_size for p in (tmp_path / "drawn" / "gallery").iterdir()) < 100_000


def _frame(film, k):
    film.seek(k)
    return film.copy()


def test_the_gallery_has_every_rig_that_comes_along():
    text = (RIGS / "README.md").read_text(encoding="utf-8")
    drawn = RIGS.parent / "renders" / "gallery"
    for name in shipped.shipped():
        assert f"[`{name}`]({name}.yaml)" in text
        assert (drawn / f"{name}.webp").is_file()
    assert sum(p.stat().st_size for p in drawn.iterdir()) < 2_500_000
