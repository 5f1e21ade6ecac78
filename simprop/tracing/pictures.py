"""Picture files as the page shows them: turned as the camera says, no larger than a page needs.

Marks count in the pixels of the file's own picture, not in those of the page: so they stay true when that is scaled
otherwise, and finer than the page shows.
"""

from __future__ import annotations

import struct
from pathlib import Path
from warnings import catch_warnings, simplefilter

import numpy as np

from simprop.errors import Fault, RigError
from simprop.tracing.types import Picture, Placing

LARGEST = 2048
"""Longer side of what the page gets, pixels."""
_ORIENTATION = 0x0112
"""Tag of TIFF 6.0: from 5 on the picture is stored on its side."""
_BROKEN = (OSError, SyntaxError, ValueError, struct.error)
"""What Pillow raises for files that are cut off or broken."""


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
    from PIL import Image, UnidentifiedImageError

    file = str(path)
    try:
        with catch_warnings():
            simplefilter("error", Image.DecompressionBombWarning)
            return _picture(path, largest)
    except FileNotFoundError:
        raise _not(file, "there is no such picture") from None
    except UnidentifiedImageError:
        raise _not(file, "this is no picture", allowed="PNG, JPEG") from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        most = f"up to {(Image.MAX_IMAGE_PIXELS or 0) / 1e6:.0f} megapixels"
        raise _not(file, "the picture is too large", allowed=most) from None
    except _BROKEN as error:
        raise _not(file, f"the picture can't be read: {error}", allowed="PNG, JPEG") from None


def _picture(path: str | Path, largest: int) -> Picture:
    from PIL import Image, ImageOps

    with Image.open(path, formats=("PNG", "JPEG")) as image:
        width, height = image.size
        on_side = image.getexif().get(_ORIENTATION, 1) >= 5
        image.draft("RGB", (largest, largest))  # a JPEG is read coarser at once, but no coarser than this
        whole = ImageOps.exif_transpose(image)
        if whole.mode.startswith("I"):  # 16 bits of grey, which Pillow would cut off
            whole = Image.fromarray((np.asarray(whole) / 257).astype(np.uint8))
        if whole.has_transparency_data:
            ground = Image.new("RGBA", whole.size, "white")
            ground.alpha_composite(whole.convert("RGBA"))
            whole = ground
        whole = whole.convert("RGB")
        whole.thumbnail((largest, largest), Image.Resampling.LANCZOS)
        return Picture((height, width) if on_side else (width, height), np.asarray(whole))


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
