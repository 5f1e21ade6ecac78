"""Picture files: turned as the camera says, scaled for the page, refused where they are none."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from simprop.errors import RigError
from simprop.tracing.pictures import picture_of, read_picture
from simprop.tracing.types import Placing

# Which corner of the picture the first stored pixel is seen in, by the tag Orientation (TIFF 6.0, page 36).
SEEN = {
    1: ("top", "left"), 2: ("top", "right"), 3: ("bottom", "right"), 4: ("bottom", "left"),
    5: ("top", "left"), 6: ("top", "right"), 7: ("bottom", "right"), 8: ("bottom", "left"),
}  # fmt: skip


@pytest.mark.parametrize("turn", SEEN)
def test_turned_as_the_camera_says(turn: int, tmp_path: Path) -> None:
    stored = np.zeros((300, 400, 3), dtype=np.uint8)
    stored[:60, :60] = 255
    exif = Image.Exif()
    exif[0x0112] = turn
    for name in ("a.jpg", "a.png"):
        Image.fromarray(stored).save(tmp_path / name, exif=exif)
        picture = read_picture(tmp_path / name)
        assert picture.size == ((300, 400) if turn > 4 else (400, 300))
        assert picture.pixels.shape == (picture.size[1], picture.size[0], 3)
        row, column = np.argwhere(picture.pixels[..., 0] > 128).mean(axis=0)
        seen = ("top" if row < 100 else "bottom", "left" if column < 100 else "right")
        assert seen == SEEN[turn]


def test_scaled_for_the_page_and_counted_in_its_own_pixels(tmp_path: Path) -> None:
    stored = np.full((3000, 4000, 3), 255, dtype=np.uint8)  # 12 megapixels, as a phone takes
    stored[1490:1510, 2990:3010] = 0
    Image.fromarray(stored).save(tmp_path / "phone.jpg")
    picture = read_picture(tmp_path / "phone.jpg")
    assert picture.size == (4000, 3000)
    assert picture.pixels.shape == (1536, 2048, 3)
    dark = np.argwhere(picture.pixels[..., 0] < 128).mean(axis=0) + 0.5
    assert dark * 4000 / 2048 == pytest.approx((1500, 3000), abs=1.0)
    placing = Placing("phone.jpg", (4000, 3000), "front", ((0, 0), (4000, 0)), 1.0, (0, 0))
    assert picture_of(placing, tmp_path, 512).pixels.shape == (384, 512, 3)
    Image.new("RGB", (40, 30)).save(tmp_path / "phone.jpg")
    with pytest.raises(RigError, match=r"another picture.*40 x 30.*4000 x 3000"):
        picture_of(placing, tmp_path)


def test_all_modes(tmp_path: Path) -> None:
    """See-through is white; grey of 16 bits isn't cut off; palettes and printers' inks become sRGB."""
    clear = Image.new("RGBA", (4, 4), (255, 0, 0, 0))
    grey = Image.fromarray(np.full((4, 4), 32896, dtype=np.uint16))
    palette = Image.new("RGB", (4, 4), (0, 128, 0)).quantize()
    for image, wanted in ((clear, (255, 255, 255)), (grey, (128, 128, 128)), (palette, (0, 128, 0))):
        image.save(tmp_path / "a.png")
        assert read_picture(tmp_path / "a.png").pixels[2, 2] == pytest.approx(wanted, abs=2)
    Image.new("CMYK", (4, 4)).save(tmp_path / "a.jpg")
    assert read_picture(tmp_path / "a.jpg").pixels[2, 2] == pytest.approx((255, 255, 255), abs=2)


def test_no_picture(tmp_path: Path) -> None:
    file = tmp_path / "a.jpg"
    Image.effect_noise((500, 500), 50).save(file)
    whole = file.read_bytes()
    for data, said in (
        (b"", "no picture"),
        (b"rig: 1", "no picture"),
        (whole[: len(whole) // 2], "can't be read"),
    ):
        file.write_bytes(data)
        with pytest.raises(RigError, match=said) as caught:
            read_picture(file)
        assert caught.value.faults[0].file == str(file)
    with pytest.raises(RigError, match="no such picture"):
        read_picture(tmp_path / "b.jpg")
    with pytest.raises(RigError, match="can't be read"):
        read_picture(tmp_path)
    Image.new("1", (20_000, 5_001)).save(tmp_path / "large.png")
    with pytest.raises(RigError, match=r"too large.*megapixels"):
        read_picture(tmp_path / "large.png")
