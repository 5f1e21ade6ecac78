"""Picture files as the page shows them: turned as the camera says, no larger than a page needs.

Marks count in the pixels of the file's own picture, not in those of the page: so they stay true when that is scaled
otherwise, and finer than the page shows.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from simprop.errors import Fault, RigError
from simprop.tracing.types import Picture, Placing

LARGEST = 2048
"""Longer side of what the page gets, pixels."""
MOST = 100_000_000
"""Most pixels of a picture (a phone's has 12 to 50 million)."""
_SORTS = ("PNG", "JPEG")


def read_picture(path: str | Path, largest: int = LARGEST) -> Picture:
    """A picture from a PNG or JPEG file.

    Args:
        path: of the file.
        largest: longer side of `Picture.pixels` at most.

    Raises:
        RigError: where there is no such file, or none that is such a picture.

    Example:
        >>> import tempfile
        >>> from PIL import Image
        >>> file = Path(tempfile.mkdtemp()) / "bench.png"
        >>> Image.new("RGB", (3000, 1500), "white").save(file)
        >>> picture = read_picture(file)
        >>> picture.size, picture.pixels.shape
        ((3000, 1500), (1024, 2048, 3))
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    file = str(path)
    try:
        with Image.open(path, formats=_SORTS) as image:
            width, height = image.size
            if width * height > MOST:
                raise _not(
                    file,
                    "the picture is too large",
                    f"{width} x {height}",
                    f"up to {MOST / 1e6:g} megapixels",
                )
            on_side = image.getexif().get(0x0112, 1) in (5, 6, 7, 8)  # tag Orientation of TIFF 6.0
            image.draft("RGB", (largest, largest))  # reads a JPEG coarser at once, never coarser than this
            if image.mode.startswith("I"):  # 16 bits of grey, which Pillow would cut off
                whole = Image.fromarray((np.asarray(image) / 257).astype(np.uint8))
            elif image.has_transparency_data:
                whole = Image.new("RGBA", image.size, "white")
                whole.alpha_composite(image.convert("RGBA"))
            else:
                whole = image.convert("RGB")
            whole.thumbnail((largest, largest), Image.Resampling.LANCZOS)
            whole.getexif()[0x0112] = image.getexif().get(0x0112, 1)
            pixels = np.asarray(ImageOps.exif_transpose(whole).convert("RGB"))
    except FileNotFoundError:
        raise _not(file, "there is no such picture") from None
    except UnidentifiedImageError:
        raise _not(file, "this is no picture", allowed="PNG, JPEG") from None
    except Image.DecompressionBombError:
        raise _not(file, "the picture is too large", allowed=f"up to {MOST / 1e6:g} megapixels") from None
    except (
        OSError,
        SyntaxError,
        ValueError,
    ) as error:  # what Pillow raises for files that are cut off or broken
        raise _not(file, f"the picture can't be read: {error}", allowed="PNG, JPEG") from None
    return Picture((height, width) if on_side else (width, height), pixels)


def picture_of(placing: Placing, folder: Path, largest: int = LARGEST) -> Picture:
    """The picture of a placing.

    Args:
        placing: as kept.
        folder: that of the rig.
        largest: see `read_picture`.

    Raises:
        RigError: as `read_picture`, and where it has another size than when it was laid.
    """
    picture = read_picture(folder / placing.file, largest)
    if picture.size != placing.size:
        now, then = (f"{w} x {h}" for w, h in (picture.size, placing.size))
        raise _not(str(folder / placing.file), "another picture than was laid: set its marks anew", now, then)
    return picture


def _not(file: str, message: str, value: str | None = None, allowed: str | None = None) -> RigError:
    return RigError([Fault(message, file=file, value=value, allowed=allowed)])
