"""What is written over a frame: traces, scale bar, caption, labels. Text is Pillow's bundled font."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from PIL import Image as Pictures
from PIL import ImageDraw, ImageFont

from simprop.geometry.arrays import Array
from simprop.picture.render.camera import Camera
from simprop.picture.render.strokes import Image, stroke

# Colours that stay apart for colour-blind eyes (Okabe and Ito, Color Universal Design, 2008).
COLOURS: tuple[tuple[int, int, int], ...] = (
    (230, 111, 0),
    (0, 114, 178),
    (0, 158, 115),
    (204, 121, 167),
    (86, 180, 233),
    (240, 228, 66),
)
INK = (28, 30, 34)
PAPER = (248, 247, 243)


@lru_cache(maxsize=16)
def font(size: int) -> Any:
    """The font that Pillow bundles, at a height in pixels."""
    return ImageFont.load_default(size)


@lru_cache(maxsize=16)
def _rows(size: int) -> tuple[int, int]:
    """First and last row of letters with the longest strokes up and down."""
    _, top, _, bottom = font(size).getbbox("Apgd")
    return int(np.floor(top)), int(np.ceil(bottom))


@lru_cache(maxsize=512)
def _word(text: str, size: int, halo: int) -> tuple[Any, Any]:
    """Coverage of a text and of its halo, (h, w) float32 each, padded by the halo."""
    face = font(size)
    left, _, right, _ = face.getbbox(text)
    top, bottom = _rows(size)  # the same for every text, so that words side by side share a base line
    pad = halo + 1
    shape = (int(np.ceil(right - left)) + 2 * pad, bottom - top + 2 * pad)
    masks = []
    for wide in (0, halo):
        page = Pictures.new("L", shape, 0)
        ImageDraw.Draw(page).text((pad - left, pad - top), text, 255, face, stroke_width=wide)
        masks.append(np.asarray(page, np.float32) / 255)
    return masks[0], masks[1]


def text_size(text: str, size: int) -> tuple[int, int]:
    """Width and height of a text in pixels.

    Example:
        >>> text_size("wrist", 14)[0] > text_size("w", 14)[0]
        True
    """
    left, _, right, _ = font(size).getbbox(text)
    top, bottom = _rows(size)
    return int(np.ceil(right - left)), bottom - top


def _lay(image: Image, mask: Any, x: int, y: int, colour: tuple[int, int, int], strength: float) -> None:
    height, width = image.shape[:2]
    left, top = max(x, 0), max(y, 0)
    right, bottom = min(x + mask.shape[1], width), min(y + mask.shape[0], height)
    if left >= right or top >= bottom:
        return
    part = mask[top - y : bottom - y, left - x : right - x, None] * strength
    region = image[top:bottom, left:right]
    region[:] = (region * (1 - part) + np.array(colour, np.float32) * part + 0.5).astype(np.uint8)


def write(
    image: Image,
    text: str,
    at: tuple[float, float],
    size: int,
    colour: tuple[int, int, int] = INK,
    halo: tuple[int, int, int] | None = PAPER,
    anchor: str = "la",
    strength: float = 1.0,
) -> None:
    """Write a line of text into an image, in place.

    Args:
        image: (height, width, 3) uint8.
        at: x, y of the anchor, pixels.
        size: height of the font, pixels.
        halo: colour round the letters, or None.
        anchor: l, m or r across, then a (top), m or b (bottom).
        strength: opacity.

    Example:
        >>> page = np.zeros((20, 60, 3), np.uint8)
        >>> write(page, "wrist", (2, 2), 14, colour=(255, 255, 255), halo=None)
        >>> int(page.max()) > 200
        True
    """
    wide = max(1, round(size / 7)) if halo is not None else 0
    letters, round_ = _word(text, size, wide)
    height, width = letters.shape
    x = at[0] - {"l": wide + 1, "m": width / 2, "r": width - wide - 1}[anchor[0]]
    y = at[1] - {"a": wide + 1, "m": height / 2, "b": height - wide - 1}[anchor[1]]
    if halo is not None:
        _lay(image, round_, round(x), round(y), halo, 0.85 * strength)
    _lay(image, letters, round(x), round(y), colour, strength)


@dataclass(frozen=True)
class Style:
    """Sizes and colours that follow from the picture's height and light.

    Attributes:
        unit: 1.0 at 480 pixels of height; lines and gaps are multiples of it.
        text: font height of all that is written, pixels.
        ink, halo: of labels.
        band: height of the caption band, pixels.
    """

    unit: float
    text: int
    ink: tuple[int, int, int]
    halo: tuple[int, int, int]
    band: int


PHONE = 390
"""Width at which a clip is mostly seen, pixels: that of a telephone held upright."""
SMALLEST = 11
"""Height of the smallest font that stays readable there, pixels (common practice of screen design, from memory)."""


def style_for(size: tuple[int, int], light: str = "day") -> Style:
    """The style of a picture: all that is written is still `SMALLEST` high where the picture is `PHONE` wide.

    Example:
        >>> style_for((640, 480)).text
        19
    """
    unit = max(min(size[1] / 480, size[0] / 520), 0.5)
    ink, halo = (INK, PAPER) if light == "day" else (PAPER, (12, 18, 28))
    text = max(SMALLEST, int(np.ceil(SMALLEST * size[0] / PHONE)))
    return Style(unit, text, ink, halo, round(1.7 * text))


def band(image: Image, left: str, right: str, style: Style) -> None:
    """The caption: a dark band at the foot of the picture, a text at its left and one at its right end."""
    height, width = image.shape[:2]
    region = image[height - style.band :]
    region[:] = (region * 0.22 + np.array(INK, np.float32) * 0.78).astype(np.uint8)
    y = height - style.band / 2
    pad = round(10 * style.unit)
    write(image, right, (width - pad, y), style.text, PAPER, None, "rm")
    room = width - 3 * pad - text_size(right, style.text)[0]
    write(image, shortened(left, style.text, room), (pad, y), style.text, PAPER, None, "lm")


def shortened(text: str, size: int, room: float) -> str:
    """`text`, cut with an ellipsis to fit `room` pixels.

    Example:
        >>> shortened("Wall peeper", 14, 1000)
        'Wall peeper'
    """
    if text_size(text, size)[0] <= room:
        return text
    while text and text_size(text + "...", size)[0] > room:
        text = text[:-1]
    return text.rstrip() + "..."


def trace(
    image: Image,
    path: Array,
    now: int,
    time: Array,
    colour: tuple[int, int, int],
    style: Style,
    fade: float = 1.5,
    ticks: float = 0.0,
) -> None:
    """The path of a point up to frame `now`, fading with age, with a dot where it is.

    Args:
        path: (n, 2) pixels at each frame.
        time: (n,) s.
        fade: age at which it is faint, s.
        ticks: a dot each so many seconds, or 0 for none.
    """
    age = time[now] - time[: now + 1]
    strength = 0.22 + 0.73 * np.clip(1.0 - age / fade, 0.0, 1.0)
    points = path[: now + 1]
    stroke(image, points, style.halo, 3.6 * style.unit, 0.5 * strength)
    stroke(image, points, colour, 1.8 * style.unit, strength)
    if ticks > 0:
        for mark in np.arange(0.0, time[now] + 1e-9, ticks):
            row = int(np.searchsorted(time, mark - 1e-9))
            if row <= now:
                stroke(image, path[row : row + 1], colour, 4.4 * style.unit, strength[row])
    stroke(image, path[now : now + 1], style.halo, 7.0 * style.unit, 0.9)
    stroke(image, path[now : now + 1], colour, 5.0 * style.unit)


def round_length(room: float) -> float:
    """The greatest of 1, 2, 5 times a power of ten that isn't above `room`.

    Example:
        >>> round_length(0.37), round_length(0.08)
        (0.2, 0.05)
    """
    power = 10.0 ** np.floor(np.log10(room))
    return float(max(k * power for k in (1.0, 2.0, 5.0) if k * power <= room * (1 + 1e-9)))


def length_text(metres: float) -> str:
    """A length as a person says it.

    Example:
        >>> length_text(0.2), length_text(2.0)
        ('200 mm', '2 m')
    """
    return f"{metres:g} m" if metres >= 1 else f"{1000 * metres:g} mm"


def scale_bar(image: Image, camera: Camera, middle: Array, style: Style, lift: int = 0) -> None:
    """A bar of a round length, true at the distance of `middle` (3,) m, at the lower left.

    It stands above the caption, `lift` pixels higher.
    """
    depth = float((middle - camera.eye) @ camera.axes[2])
    a_pixel = depth / camera.focal
    length = round_length(0.2 * image.shape[1] * a_pixel)
    pixels = length / a_pixel
    x, y = 14 * style.unit, image.shape[0] - style.band - lift - 14 * style.unit
    for colour, wide, end in ((style.halo, 5.0, 5.0), (style.ink, 2.0, 4.0)):
        e = end * style.unit
        stroke(image, [(x, y), (x + pixels, y)], colour, wide * style.unit, 0.9)
        stroke(image, [(x, y - e), (x, y + e)], colour, wide * style.unit, 0.9)
        stroke(image, [(x + pixels, y - e), (x + pixels, y + e)], colour, wide * style.unit, 0.9)
    at = (x + pixels / 2, y - 5 * style.unit)
    write(image, length_text(length), at, style.text, style.ink, style.halo, "mb")
